"""What one person reads now is in their language; what is kept, signed or brought in again is not."""

from __future__ import annotations

import pytest
from tests.support.installation import Installation

from spanwalk.terminal_words import say as said_in_terminal
from spanwalk.terminal_words import terminal_language
from spanwalk.words import say


@pytest.fixture(scope="module")
def spanish_manager(here: Installation) -> str:
    assert here.call("manager", "PUT", "/api/me", json={"language": "es"}).status_code == 200
    return "manager"


def test_who_did_what_is_taken_away_in_ones_language(here: Installation, spanish_manager: str) -> None:
    here.call("owner", "PUT", "/api/me", json={"language": "en"})
    spanish, english = (
        here.call(name, "GET", "/api/sites/{site}/audit.csv").text for name in (spanish_manager, "owner")
    )
    assert say("audit.head.handed-in-by", language="es") in spanish.splitlines()[0]
    assert say("audit.head.handed-in-by") in english.splitlines()[0]
    assert len(english.splitlines()) == len(spanish.splitlines()) + 1, "that the first was taken away is an entry too"


def test_tables_that_are_brought_in_again_have_the_same_heads_for_everybody(
    here: Installation, spanish_manager: str
) -> None:
    spanish = here.call(spanish_manager, "GET", "/api/sites/{site}/tables/rooms.csv")
    english = here.call("surveyor", "GET", "/api/sites/{site}/tables/rooms.csv")
    assert spanish.data.splitlines()[:1] == english.data.splitlines()[:1]


@pytest.mark.parametrize(
    ("environment", "language"),
    [
        ({}, "en"),
        ({"LANG": "C.UTF-8"}, "en"),
        ({"LANG": "es_ES.UTF-8"}, "es"),
        ({"LANG": "es"}, "es"),
        ({"LANG": "en_US.UTF-8", "LC_MESSAGES": "es_MX"}, "es"),
        ({"LANG": "es_ES", "LC_MESSAGES": "es_ES", "LC_ALL": "C"}, "en"),
        ({"LANG": "xx_XX"}, "en"),
    ],
)
def test_commands_speak_the_terminals_language(environment: dict[str, str], language: str) -> None:
    assert terminal_language(environment) == language


def test_a_command_says_a_sentence_in_it(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("LC_ALL", "LC_MESSAGES"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("LANG", "es_ES.UTF-8")
    assert said_in_terminal("keeping.audit.the-firm") == "La empresa"
    monkeypatch.setenv("LANG", "C.UTF-8")
    assert said_in_terminal("keeping.audit.the-firm") == "The firm"
