"""Sign-in: what gets in, what does not, and how often one may try."""

from __future__ import annotations

import subprocess
import sys
from typing import Any

import pytest
from sqlalchemy import delete, select, update
from tests.support.installation import OWN_PAGE, PASSWORD, Installation, installed

from spanwalk.services.clock import later, now, seconds_between
from spanwalk.services.people import signing_in as people
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import Person, Session, SignInTry

DAY_S = 86400


def sign_in(here: Installation, **body: Any) -> Any:
    return here.app.test_client().post("/api/session", json=body, headers=OWN_PAGE)


@pytest.fixture(autouse=True)
def no_failures_before(here: Installation) -> None:
    with here.app.app_context(), writing() as session:
        session.execute(delete(SignInTry))


def test_name_in_any_case_and_password_get_in(here: Installation) -> None:
    answer = sign_in(here, name="  SURVEYOR ", password=PASSWORD)
    assert answer.status_code == 200
    person = {"id": here.people["surveyor"], "name": "surveyor", "owner": False, "language": None, "units": None}
    assert answer.json["person"] == person
    (site,) = answer.json["sites"]
    assert (site["id"], site["name"], site["role"]) == (here.site, "Test building", "surveyor")
    assert {person["name"] for person in site["people"]} == {"surveyor", "crew", "manager", "owner"}


def test_the_cookie_is_out_of_reach_of_scripts_and_of_other_sites(here: Installation) -> None:
    cookie = sign_in(here, name="surveyor", password=PASSWORD).headers["Set-Cookie"]
    assert cookie.startswith("spanwalk_session=")
    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie
    assert "Path=/" in cookie


def test_over_https_the_cookie_is_for_https_only(tmp_path: Any) -> None:
    with installed(tmp_path / "data", SPANWALK_SECURE_COOKIES="yes") as here:
        assert "Secure" in sign_in(here, name="surveyor", password=PASSWORD).headers["Set-Cookie"]


@pytest.mark.parametrize(
    "body", [{"name": "surveyor", "password": "something else"}, {"name": "nobody", "password": PASSWORD}]
)
def test_a_wrong_password_and_an_unknown_name_are_refused_alike(here: Installation, body: dict[str, str]) -> None:
    answer = sign_in(here, **body)
    assert (answer.status_code, answer.json["code"]) == (401, "sign-in-refused")
    assert answer.json["detail"] == "Name and password do not go together."
    assert "Set-Cookie" not in answer.headers


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({}, "name"),
        ({"name": "surveyor"}, "password"),
        ({"name": 5, "password": PASSWORD}, "name"),
        ({"name": "x" * 300, "password": "y"}, "name"),
    ],
)
def test_a_field_that_is_missing_or_wrong_is_named(here: Installation, body: dict[str, Any], field: str) -> None:
    answer = sign_in(here, **body)
    assert (answer.status_code, answer.json["code"], answer.json["field"]) == (422, "body-field-wrong", field)


def test_a_body_that_is_not_json_is_said_to_be_so(here: Installation) -> None:
    answer = here.call(None, "POST", "/api/session", data=b"name=surveyor")
    assert (answer.status_code, answer.json["code"]) == (422, "body-not-json")


def test_a_password_is_hashed_at_the_cost_that_guessing_shall_have() -> None:
    """Source: OWASP Password Storage Cheat Sheet (from memory): Argon2id with 19 MiB, t = 2, p = 1 as the least."""
    kept = subprocess.run(
        [sys.executable, "-c", "from spanwalk.services.people import passwords; print(passwords.hash_password('a'))"],
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    assert kept.startswith("$argon2id$v=19$m=19456,t=2,p=1$")


def test_neither_password_nor_token_is_kept_in_the_database(here: Installation) -> None:
    cookie = sign_in(here, name="surveyor", password=PASSWORD).headers["Set-Cookie"]
    token = cookie.split(";")[0].partition("=")[2]
    with here.app.app_context(), reading() as session:
        hashes = list(session.execute(select(Person.password_hash)).scalars())
        tokens = list(session.execute(select(Session.token_hash)).scalars())
    assert hashes
    assert all(each.startswith("$argon2id$v=19$") for each in hashes)
    assert token not in tokens
    assert people.token_hash(token) in tokens


def test_nobody_waits_for_a_password_to_be_hashed_in_order_to_write(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While one password is verified, another request writes: hashing is outside every writing transaction."""
    wrote = []

    def verify(stored: str | None, password: str) -> bool:
        with writing() as session:
            session.execute(update(Person).where(Person.name == "stranger").values(units=None))
        wrote.append(password)
        return True

    monkeypatch.setattr(people, "password_fits", verify)
    assert sign_in(here, name="stranger", password=PASSWORD).status_code == 200
    assert wrote == [PASSWORD]


def test_a_password_that_changes_while_it_is_verified_gets_nobody_in(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    def verify(stored: str | None, password: str) -> bool:
        with writing() as session:
            session.execute(update(Person).where(Person.name == "stranger").values(password_hash="another"))
        return True

    with here.app.app_context(), reading() as session:
        before = session.execute(select(Person.password_hash).where(Person.name == "stranger")).scalar_one()
    monkeypatch.setattr(people, "password_fits", verify)
    assert sign_in(here, name="stranger", password=PASSWORD).status_code == 401
    with here.app.app_context(), writing() as session:
        session.execute(update(Person).where(Person.name == "stranger").values(password_hash=before))


def test_who_signs_out_is_out(here: Installation) -> None:
    client = here.app.test_client()
    client.post("/api/session", json={"name": "surveyor", "password": PASSWORD}, headers=OWN_PAGE)
    assert client.get("/api/session").status_code == 200
    assert client.delete("/api/session", headers=OWN_PAGE).status_code == 204
    assert client.get("/api/session").status_code == 401


def test_a_sign_in_expires(here: Installation) -> None:
    client = here.app.test_client()
    client.post("/api/session", json={"name": "surveyor", "password": PASSWORD}, headers=OWN_PAGE)
    with here.app.app_context(), writing() as session:
        session.execute(update(Session).values(expires_at=later(-1)))
    answer = client.get("/api/session")
    assert (answer.status_code, answer.json["code"]) == (401, "not-signed-in")
    here.clients.clear()


def used(here: Installation, client: Any, began_days_ago: float, left_days: float) -> Any:
    """A sign-in that began so long ago, has so long left and was not used for an hour, is used."""
    with here.app.app_context(), writing() as session:
        values = {"created_at": later(-DAY_S * began_days_ago), "seen_at": later(-3600)}
        session.execute(update(Session).values(expires_at=later(DAY_S * left_days), **values))
    return client.get("/api/session")


def left_days(here: Installation) -> float:
    with here.app.app_context(), reading() as session:
        ends = session.execute(select(Session.expires_at)).scalars().one()
    return seconds_between(now(), ends) / DAY_S


@pytest.fixture
def alone(here: Installation) -> Any:
    """A client whose sign-in is the only one there is."""
    with here.app.app_context(), writing() as session:
        session.execute(delete(Session))
    here.clients.clear()
    client = here.app.test_client()
    client.post("/api/session", json={"name": "surveyor", "password": PASSWORD}, headers=OWN_PAGE)
    return client


def test_a_sign_in_lasts_a_week_without_use_and_use_moves_its_end_on(here: Installation, alone: Any) -> None:
    """It lasted 30 days, used or not."""
    assert left_days(here) == pytest.approx(7, abs=0.01)
    answer = used(here, alone, began_days_ago=5, left_days=2)
    assert left_days(here) == pytest.approx(7, abs=0.01)
    (cookie,) = [each for each in answer.headers.getlist("Set-Cookie") if each.startswith("spanwalk_session=")]
    assert f"Max-Age={7 * DAY_S}" in cookie
    assert alone.get("/api/session").headers.getlist("Set-Cookie") == [], "not with every request"


def test_a_sign_in_ends_after_a_month_however_much_it_is_used(here: Installation, alone: Any) -> None:
    used(here, alone, began_days_ago=28, left_days=2)
    assert left_days(here) == pytest.approx(2, abs=0.01)


def test_how_long_a_sign_in_lasts_is_a_setting(tmp_path: Any) -> None:
    with installed(tmp_path / "data", SPANWALK_SESSION_DAYS="2", SPANWALK_SESSION_DAYS_MOST="3") as here:
        client = here.client("surveyor")
        assert left_days(here) == pytest.approx(2, abs=0.01)
        used(here, client, began_days_ago=2.5, left_days=1)
        assert left_days(here) == pytest.approx(0.5, abs=0.01)


def test_there_is_no_sign_in_help_outside_the_demo(here: Installation) -> None:
    answer = here.call(None, "GET", "/api/demo")
    assert (answer.status_code, answer.json["code"]) == (404, "not-the-demo")
