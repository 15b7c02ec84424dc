"""Whose password, factor or recovery codes changed is told so, at the next sign-in and on their own page: there is no mail."""

from __future__ import annotations

import time
from typing import Any

import pyotp
import pytest
from flask.testing import FlaskClient
from sqlalchemy import delete
from tests.support.installation import OWN_PAGE, PASSWORD, Installation

from spanwalk import cli_people
from spanwalk.services.people.noticed import CHANGES
from spanwalk.storage.database import writing
from spanwalk.storage.tables import RecoveryCode, SecondFactor, Session, SignInTry
from spanwalk.words import words

NEW = "another span to walk"


@pytest.fixture(autouse=True)
def all_read(here: Installation) -> None:
    """Everybody has read what changed before, and is signed in nowhere."""
    with here.app.app_context(), writing() as session:
        for table in (SecondFactor, RecoveryCode, SignInTry, Session):
            session.execute(delete(table))
    here.clients.clear()
    for name in ("crew", "manager"):
        assert here.call(name, "POST", "/api/me/changes").status_code == 204
    here.clients.clear()
    here.phones.clear()


def sign_in(
    here: Installation, name: str, password: str = PASSWORD, client: FlaskClient | None = None, **more: Any
) -> Any:
    client = client or here.app.test_client()
    answer = client.post("/api/session", json={"name": name, "password": password, **more}, headers=OWN_PAGE)
    assert answer.status_code == 200, answer.text
    return answer.json


def change_password(client: FlaskClient, old: str, new: str) -> None:
    answer = client.put("/api/session/password", json={"old": old, "password": new}, headers=OWN_PAGE)
    assert answer.status_code == 204, answer.text


def whats(told: Any) -> list[str]:
    return [each["what"] for each in told["changes"]]


def test_a_changed_password_is_told_at_the_next_sign_in_with_day_and_device_until_it_is_read(
    here: Installation,
) -> None:
    """Nobody heard of it: who had taken a phone over had the account for good."""
    thief = here.app.test_client()
    sign_in(here, "crew", client=thief)
    change_password(thief, PASSWORD, NEW)
    assert thief.get("/api/session").json["changes"] == [], "who did it in this very sign-in knows"
    mine = here.app.test_client()
    (told,) = sign_in(here, "crew", NEW, mine)["changes"]
    assert (told["what"], told["kind"], told["this"], told["new"]) == ("own.password", "computer", False, True)
    own = {each["id"]: each["copies"] for each in mine.get("/api/me/phones").json["phones"]}
    assert own[told["phone"]] == told["copies"], "as one's own list names it"
    assert told["at"].startswith(time.strftime("%Y-", time.gmtime()))
    assert whats(mine.get("/api/session").json) == ["own.password"], "it stays until it is read"
    assert mine.post("/api/me/changes", headers=OWN_PAGE).status_code == 204
    assert mine.get("/api/session").json["changes"] == []
    (kept,) = [each for each in mine.get("/api/me/changes").json["changes"] if each["at"] == told["at"]]
    assert kept["new"] is False, "on one's own page it stays"
    change_password(mine, NEW, PASSWORD)


def test_who_changed_it_hears_of_it_at_the_next_sign_in_too_as_done_on_this_one(here: Installation) -> None:
    mine = here.app.test_client()
    sign_in(here, "crew", client=mine)
    change_password(mine, PASSWORD, PASSWORD)
    (told,) = sign_in(here, "crew", client=mine)["changes"]
    assert (told["what"], told["this"]) == ("own.password", True)


def test_factors_set_up_and_taken_off_new_codes_and_a_used_one_are_told(here: Installation) -> None:
    client = here.app.test_client()
    sign_in(here, "manager", client=client)
    made = client.post("/api/me/factors/authenticator", json={}, headers=OWN_PAGE).json
    code = {"code": pyotp.TOTP(made["secret"]).now()}
    client.put("/api/me/factors/authenticator", json=code, headers=OWN_PAGE)
    codes = client.post("/api/me/factors/codes", json={}, headers=OWN_PAGE).json["codes"]
    told = sign_in(here, "manager", code=codes[0])
    assert whats(told) == [
        "recovery-code-used", "second_factor.new_codes", "second_factor.prove_authenticator"
    ]  # fmt: skip
    assert told["changes"][0]["phone"] is None, "it had not signed in here before"
    (known, *_) = sign_in(here, "manager", client=client, code=codes[1])["changes"]
    assert (known["what"], known["kind"], known["this"], known["new"]) == ("recovery-code-used", "computer", True, True)
    factor = client.get("/api/me/factors").json["factors"][0]["id"]
    assert client.delete(f"/api/me/factors/{factor}", headers=OWN_PAGE).status_code == 204
    assert whats(sign_in(here, "manager"))[0] == "second_factor.remove"


def test_what_an_owner_takes_off_is_told_to_whose_it_was_and_not_to_the_owner(here: Installation) -> None:
    before = here.call("owner", "GET", "/api/me/changes").json["changes"]
    assert here.call("owner", "DELETE", f"/api/people/{here.people['crew']}/factors").status_code == 204
    assert whats(sign_in(here, "crew")) == ["second_factor.take_off"]
    assert here.call("owner", "GET", "/api/me/changes").json["changes"] == before
    assert sign_in(here, "manager")["changes"] == []


def test_a_password_set_by_a_link_is_told_and_coming_by_an_invitation_is_none(here: Installation) -> None:
    link = here.call("owner", "POST", "/api/resets", json={"person": here.people["crew"]}).json["address"]
    body = {"secret": link.partition("#")[2], "password": PASSWORD}
    answer = here.app.test_client().post("/api/links/accept", json=body, headers=OWN_PAGE)
    assert whats(answer.json) == ["password-by-link"]
    role = {"role": "crew"}
    link = here.call("owner", "POST", "/api/sites/{site}/invites", json=role).json["address"]
    body = {"secret": link.partition("#")[2], "password": PASSWORD, "name": f"Newcomer {time.time_ns() % 10**6}"}
    assert here.app.test_client().post("/api/links/accept", json=body, headers=OWN_PAGE).json["changes"] == []


@pytest.mark.parametrize(
    ("act", "what"),
    [(cli_people.reset_one, "password-by-command"), (cli_people.take_factors_off, "factors-off-by-command")],
)
def test_what_a_command_on_the_server_changed_is_told(here: Installation, act: Any, what: str) -> None:
    told = type("Told", (), {"name": "crew", "password": PASSWORD})
    with here.app.app_context(), writing() as session:
        act(session, told)
    assert whats(sign_in(here, "crew")) == [what]


def test_each_change_has_its_sentence_here_and_in_the_audit() -> None:
    have = words("en")
    assert len(CHANGES) >= 10
    assert [each for each in CHANGES if f"changed.{each}" not in have or f"audit.what.{each}" not in have] == []
