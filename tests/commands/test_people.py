"""`spanwalk people`: list, add, reset, disable, enable, owner, on the day when nobody can sign in."""

from __future__ import annotations

import getpass
import urllib.parse
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.support.installation import OWN_PAGE, PASSWORD, Installation, installed

from spanwalk import cli

NEW_PASSWORD = "four ladders stand"


@pytest.fixture
def here(tmp_path: Path) -> Iterator[Installation]:
    with installed(tmp_path / "data") as made:
        yield made


@pytest.fixture
def people(here: Installation, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Any:
    """Runs `spanwalk people …` on the installation: exit status, what it printed, what it complained of."""

    def run(*arguments: str) -> tuple[int, list[str], str]:
        capsys.readouterr()
        status = cli.main(["people", *arguments, "--data", str(tmp_path / "data")])
        told = capsys.readouterr()
        return status, told.out.splitlines(), told.err

    return run


def sign_in(here: Installation, name: str, password: str = PASSWORD) -> int:
    body = {"name": name, "password": password}
    return int(here.app.test_client().post("/api/session", json=body, headers=OWN_PAGE).status_code)


def accept(here: Installation, address: str) -> int:
    body = {"secret": urllib.parse.urlsplit(address).fragment, "password": NEW_PASSWORD}
    return int(here.app.test_client().post("/api/links/accept", json=body, headers=OWN_PAGE).status_code)


def test_everybody_is_listed_with_state_and_sites(people: Any) -> None:
    status, lines, _ = people("list")
    assert status == 0
    assert "owner: can sign in, owner of the firm; Test building: owner" in lines
    assert "crew: can sign in; Test building: crew" in lines
    assert "stranger: can sign in; on no site" in lines


def test_a_new_password_by_a_link_that_is_printed(here: Installation, people: Any) -> None:
    status, lines, _ = people("reset", "OWNER", "--address", "https://survey.example")
    assert status == 0
    assert lines[-1].startswith("https://survey.example/reset#")
    assert sign_in(here, "owner") == 200, "nothing changes until it is opened"
    assert accept(here, lines[-1]) == 200
    assert (sign_in(here, "owner"), sign_in(here, "owner", NEW_PASSWORD)) == (401, 200)


def test_a_new_password_that_is_asked_for(here: Installation, people: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(getpass, "getpass", lambda prompt: NEW_PASSWORD)
    assert people("reset", "owner", "--ask")[:2] == (0, ["owner has a new password, and is signed out everywhere."])
    assert sign_in(here, "owner", NEW_PASSWORD) == 200
    monkeypatch.setattr(getpass, "getpass", lambda prompt: "1234567890")
    status, lines, complaint = people("reset", "owner", "--ask")
    assert (status, lines) == (1, [])
    assert "among the first that are tried" in complaint


def test_somebody_is_made_with_a_link_and_put_on_a_site(here: Installation, people: Any) -> None:
    status, lines, _ = people("add", "Robin", "--site", "Test building", "--role", "manager")
    assert status == 0
    assert sign_in(here, "robin", NEW_PASSWORD) == 401, "without a password nobody gets in"
    assert accept(here, lines[-1]) == 200
    assert sign_in(here, "robin", NEW_PASSWORD) == 200
    assert "Robin: can sign in; Test building: manager" in people("list")[1]


def test_what_cannot_be_is_said_and_nothing_is_made(people: Any) -> None:
    before = people("list")[1]
    for arguments, complaint in (
        (("add", "Robin", "--site", "No building"), "There is no site 'No building'."),
        (("add", "Manager"), "There is a person 'Manager' already; choose another name."),
        (("reset", "nobody"), "There is no person 'nobody'."),
        (("disable", "owner"), "owner is the last owner of the firm"),
    ):
        status, lines, said = people(*arguments)
        assert (status, lines) == (1, [])
        assert complaint in said
    assert people("list")[1] == before


def test_somebody_is_disabled_and_let_in_again(here: Installation, people: Any) -> None:
    assert people("disable", "crew")[:2] == (0, ["crew is signed out everywhere and cannot sign in."])
    assert sign_in(here, "crew") == 403
    assert people("enable", "crew")[:2] == (0, ["crew can sign in again."])
    assert sign_in(here, "crew") == 200


def test_another_owner_is_made_when_the_first_is_gone(here: Installation, people: Any) -> None:
    assert people("owner", "manager")[:2] == (0, ["manager is an owner of the firm."])
    assert here.call("manager", "GET", "/api/people").status_code == 200
    assert people("disable", "owner")[0] == 0
