"""The server refuses in the language that somebody chose; before they signed in, in the one that their request accepts."""

from __future__ import annotations

import pytest
from tests.support.installation import Installation

from spanwalk.words import say

WRONG = {"name": "crew", "password": "not the password"}


def refusal(here: Installation, name: str | None, accepts: str | None) -> str:
    headers = {} if accepts is None else {"Accept-Language": accepts}
    told: str = here.call(
        name, "GET", "/api/sites/00000000-0000-4000-8000-000000000000/pull?since=0", headers=headers
    ).json["detail"]
    return told


@pytest.mark.parametrize(
    ("accepts", "language"),
    [
        (None, "en"),
        ("es", "es"),
        ("es-MX,es;q=0.9,en;q=0.5", "es"),
        ("en-GB", "en-GB"),
        ("xx", "en"),
        ("xx,es;q=0.1", "es"),
        ("not a language at all;;;", "en"),
    ],
)
def test_who_has_not_signed_in_is_refused_in_what_the_request_accepts(
    here: Installation, accepts: str | None, language: str
) -> None:
    assert refusal(here, None, accepts) == say("not-signed-in", language=language)


def test_who_has_chosen_a_language_is_refused_in_it_whatever_the_browser_says(here: Installation) -> None:
    assert refusal(here, "crew", "es") == say("site-unknown", language="es"), "nothing is chosen yet"
    assert here.call("crew", "PUT", "/api/me", json={"language": "es"}).status_code == 200
    assert refusal(here, "crew", "en-US") == say("site-unknown", language="es")
    assert refusal(here, "manager", None) == say("site-unknown")


def test_facts_and_codes_for_programs_are_the_same_in_every_language(here: Installation) -> None:
    told = [
        here.call(None, "POST", "/api/session", json=WRONG, headers={"Accept-Language": each}).json
        for each in ("en", "es")
    ]
    assert told[0]["detail"] != told[1]["detail"]
    assert {**told[0], "detail": ""} == {**told[1], "detail": ""}


def test_a_language_that_is_not_here_is_refused_by_name(here: Installation) -> None:
    answer = here.call("manager", "PUT", "/api/me", json={"language": "xx"})
    assert (answer.status_code, answer.json["code"]) == (422, "language-unknown")
    assert "es" in answer.json["right"]
