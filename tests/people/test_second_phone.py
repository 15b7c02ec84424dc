"""A code on a phone where one is signed in signs one in on a second one: once, within minutes, and nobody else."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlalchemy import delete, select, update
from tests.support.installation import OWN_PAGE, PASSWORD, Installation
from werkzeug.test import TestResponse

from spanwalk.services.clock import later
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import Enrolment, Person, SignInAttempt


@pytest.fixture(autouse=True)
def no_failures_before(here: Installation) -> Iterator[None]:
    with here.app.app_context(), writing() as session:
        session.execute(delete(SignInAttempt))
    yield
    here.clients.clear()


def made(here: Installation, name: str = "surveyor", password: str = PASSWORD) -> TestResponse:
    return here.call(name, "POST", "/api/me/enrolments", json={"password": password})


def secret_of(answer: TestResponse) -> str:
    assert answer.status_code == 201, answer.text
    return str(answer.json["address"].partition("#")[2])


def come_in(here: Installation, secret: str) -> tuple[FlaskClient, TestResponse]:
    """A phone that nobody knows comes in by a code."""
    client = here.app.test_client()
    return client, client.post("/api/enrolments/accept", json={"secret": secret}, headers=OWN_PAGE)


def code_of(answer: TestResponse) -> tuple[int, str | None]:
    return answer.status_code, (answer.json or {}).get("code")


def test_a_code_signs_its_person_in_on_another_phone(here: Installation) -> None:
    before = here.call("surveyor", "GET", "/api/me/phones").json["phones"]
    client, answer = come_in(here, secret_of(made(here)))
    assert (answer.status_code, answer.json["person"]["name"]) == (200, "surveyor")
    phones = client.get("/api/me/phones").json["phones"]
    assert sorted(each["this"] for each in phones) == [*(False for _ in before), True]
    assert here.call("surveyor", "GET", "/api/session").status_code == 200


def test_the_code_is_an_address_whose_secret_stands_behind_the_hash_and_a_picture_of_it(here: Installation) -> None:
    answer = made(here)
    address, qr = answer.json["address"], answer.json["qr"]
    assert address.startswith("http://localhost/enrol#")
    assert len(qr) == len(qr[0]) >= 21
    with here.app.app_context(), reading() as session:
        assert secret_of(answer) not in list(session.execute(select(Enrolment.secret_hash)).scalars())


def test_a_code_is_good_once(here: Installation) -> None:
    secret = secret_of(made(here))
    come_in(here, secret)
    assert code_of(come_in(here, secret)[1]) == (409, "enrolment-used")


def test_opening_a_code_tells_whose_it_is_and_does_not_use_it_up(here: Installation) -> None:
    secret = secret_of(made(here))
    for _ in range(2):
        answer = here.app.test_client().post("/api/enrolments/open", json={"secret": secret}, headers=OWN_PAGE)
        assert answer.json["name"] == "surveyor"
    assert come_in(here, secret)[1].status_code == 200


def test_a_code_runs_out_after_five_minutes(here: Installation) -> None:
    answer = made(here)
    assert later(4 * 60) < answer.json["expires_at"] <= later(5 * 60)
    with here.app.app_context(), writing() as session:
        session.execute(update(Enrolment).values(expires_at=later(-1)))
    assert code_of(come_in(here, secret_of(answer))[1]) == (409, "enrolment-expired")


def test_a_code_wants_the_password_of_who_asks_for_it(here: Installation) -> None:
    assert code_of(made(here, password="not this one")) == (422, "password-old-wrong")


def test_a_code_ends_with_the_sign_in_that_made_it(here: Installation) -> None:
    secret = secret_of(made(here))
    here.call("surveyor", "DELETE", "/api/session")
    assert code_of(come_in(here, secret)[1]) == (404, "enrolment-unknown")


def test_a_new_code_takes_the_place_of_the_old_one(here: Installation) -> None:
    first, second = secret_of(made(here)), secret_of(made(here))
    assert code_of(come_in(here, first)[1]) == (404, "enrolment-unknown")
    assert come_in(here, second)[1].status_code == 200


def test_a_code_can_be_withdrawn_by_who_made_it_and_nobody_else(here: Installation) -> None:
    answer = made(here)
    path = f"/api/me/enrolments/{answer.json['id']}"
    assert code_of(here.call("crew", "GET", path)) == (404, "enrolment-unknown")
    here.call("crew", "DELETE", path)
    assert here.call("surveyor", "GET", path).json == {"state": "open"}
    assert here.call("surveyor", "DELETE", path).status_code == 204
    assert code_of(come_in(here, secret_of(answer))[1]) == (404, "enrolment-unknown")


def test_the_phone_that_shows_a_code_hears_that_it_was_used(here: Installation) -> None:
    answer = made(here)
    come_in(here, secret_of(answer))
    assert here.call("surveyor", "GET", f"/api/me/enrolments/{answer.json['id']}").json == {"state": "used"}


def test_who_may_not_sign_in_does_not_come_in_by_a_code(here: Installation) -> None:
    secret = secret_of(made(here, "crew"))
    with here.app.app_context(), writing() as session:
        session.execute(update(Person).where(Person.name == "crew").values(state="disabled"))
    assert code_of(come_in(here, secret)[1]) == (403, "person-disabled")
    with here.app.app_context(), writing() as session:
        session.execute(update(Person).where(Person.name == "crew").values(state="active"))


@pytest.mark.parametrize("secret", ["x" * 43, "", "x" * 1000])
def test_what_is_no_code_brings_nobody_in(here: Installation, secret: str) -> None:
    answer: Any = come_in(here, secret)[1]
    assert answer.status_code in (404, 422)
    assert "Set-Cookie" not in answer.headers
