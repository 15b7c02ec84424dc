"""Who may do what to whom: nobody lowers one of a higher role, the last owner stays, who is disabled is out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from sqlalchemy import func, select
from tests.support.installation import OWN_PAGE, PASSWORD, Installation, installed, new_id

from spanwalk.services.people.slowing import FOR_A_NAME_FROM_A_PLACE
from spanwalk.storage.database import reading
from spanwalk.storage.tables import Session

FREE = FOR_A_NAME_FROM_A_PLACE.free


@pytest.fixture
def here(back_end: str, tmp_path: Any) -> Iterator[Installation]:
    with installed(tmp_path / "data", back_end) as made:
        yield made


def put(here: Installation, name: str, role: str | None, by: str) -> Any:
    return here.call(by, "PUT", "/api/sites/{site}/people", json={"name": name, "role": role})


def change(here: Installation, name: str, by: str = "owner", **what: Any) -> Any:
    return here.call(by, "PUT", f"/api/people/{here.people[name]}", json=what)


def hire(here: Installation, name: str, role: str | None = None, owner: bool = False) -> None:
    answer = here.call("owner", "POST", "/api/people", json={"name": name, "password": PASSWORD, "owner": owner})
    assert answer.status_code == 201, answer.text
    here.people[name] = answer.json["id"]
    if role:
        assert put(here, name, role, by="owner").status_code == 200


def sign_in(here: Installation, name: str) -> Any:
    return here.app.test_client().post("/api/session", json={"name": name, "password": PASSWORD}, headers=OWN_PAGE)


def of_firm(here: Installation, name: str) -> Any:
    people = here.call("owner", "GET", "/api/people").json["people"]
    return next(each for each in people if each["name"] == name)


# -- roles on a site


@pytest.mark.parametrize("role", ["manager", "crew", None])
def test_a_manager_neither_lowers_nor_removes_an_owner(here: Installation, role: str | None) -> None:
    hire(here, "second owner", "owner")
    answer = put(here, "second owner", role, by="manager")
    assert (answer.status_code, answer.json["code"]) == (403, "person-above")
    assert here.call("second owner", "GET", "/api/session").json["sites"][0]["role"] == "owner"


def test_an_owner_of_the_firm_stands_above_a_manager_whatever_their_role_on_the_site(here: Installation) -> None:
    hire(here, "chief", "surveyor", owner=True)
    assert put(here, "chief", None, by="manager").json["code"] == "person-above"


def test_a_manager_changes_the_role_of_another_manager_and_of_all_below(here: Installation) -> None:
    hire(here, "second manager", "manager")
    assert put(here, "second manager", "crew", by="manager").status_code == 200
    assert put(here, "surveyor", "manager", by="manager").status_code == 200


def test_the_last_owner_of_a_site_stays_on_it(here: Installation) -> None:
    answer = put(here, "owner", "manager", by="owner")
    assert (answer.status_code, answer.json["code"]) == (409, "last-owner-of-site")
    assert "Give another person the role owner there first" in answer.json["detail"]
    hire(here, "second owner", "owner")
    assert put(here, "owner", "manager", by="owner").status_code == 200


def test_an_owner_who_is_disabled_keeps_no_site(here: Installation) -> None:
    hire(here, "second owner", "owner")
    change(here, "second owner", state="disabled")
    assert put(here, "owner", None, by="owner").json["code"] == "last-owner-of-site"


# -- disabled, left, let in again


def test_who_is_disabled_is_signed_out_everywhere_and_cannot_sign_in(here: Installation) -> None:
    client = here.client("surveyor")
    assert client.get("/api/session").status_code == 200
    assert change(here, "surveyor", state="disabled").status_code == 200
    assert client.get("/api/session").status_code == 401
    answer = sign_in(here, "surveyor")
    assert (answer.status_code, answer.json["code"]) == (403, "person-disabled")
    assert "surveyor is disabled" in answer.json["detail"]
    assert of_firm(here, "surveyor")["state"] == "disabled"


def test_a_wrong_password_does_not_tell_that_somebody_is_disabled(here: Installation) -> None:
    change(here, "surveyor", state="disabled")
    body = {"name": "surveyor", "password": "something else"}
    answer = here.app.test_client().post("/api/session", json=body, headers=OWN_PAGE)
    assert (answer.status_code, answer.json["code"]) == (401, "sign-in-refused")


def test_who_is_let_in_again_has_the_sites_they_had(here: Installation) -> None:
    change(here, "surveyor", state="disabled")
    change(here, "surveyor", state="active")
    assert [site["role"] for site in sign_in(here, "surveyor").json["sites"]] == ["surveyor"]


def test_who_has_left_the_firm_is_off_every_site_and_their_name_stays(here: Installation) -> None:
    change(here, "surveyor", state="left")
    assert sign_in(here, "surveyor").json["code"] == "person-left"
    people = here.call("manager", "GET", "/api/sites/{site}/people").json["people"]
    (told,) = [each for each in people if each["name"] == "surveyor"]
    assert (told["role"], told["state"]) == (None, "left")
    change(here, "surveyor", state="active")
    assert sign_in(here, "surveyor").json["sites"] == []


def test_work_of_who_is_disabled_that_comes_by_another_phone_waits_for_a_manager(here: Installation) -> None:
    room = new_id()
    identity = {"number": "1", "parent": here.floor()}
    late = here.operation("surveyor", room, "room", "identity", identity)
    change(here, "surveyor", state="disabled")
    (answer,) = here.push("manager", late)
    assert answer["result"] == "held"
    (held,) = here.call("manager", "GET", "/api/sites/{site}/held").json["held"]
    assert held["name"] == "surveyor"
    change(here, "surveyor", state="left")
    assert len(here.call("manager", "GET", "/api/sites/{site}/held").json["held"]) == 1
    (answer,) = here.call("manager", "POST", "/api/sites/{site}/held", json={"release": [late["id"]]}).json["answers"]
    assert answer["result"] == "applied"


@pytest.mark.parametrize("what", [{"state": "disabled"}, {"state": "left"}, {"owner": False}])
def test_the_last_owner_of_the_firm_cannot_lock_themselves_out(here: Installation, what: dict[str, Any]) -> None:
    answer = change(here, "owner", **what)
    assert (answer.status_code, answer.json["code"]) == (409, "last-owner")
    assert "Make another person an owner first" in answer.json["detail"]
    hire(here, "second owner", owner=True)
    assert change(here, "second owner", state="disabled").status_code == 200
    assert change(here, "owner", **what).json["code"] == "last-owner", "a disabled owner is none"
    change(here, "second owner", state="active")
    assert change(here, "owner", **what, by="second owner").status_code == 200


def test_a_site_whose_only_owner_leaves_goes_to_who_lets_them_go(here: Installation) -> None:
    hire(here, "chief", owner=True)
    answer = here.call("chief", "PUT", f"/api/people/{here.people['owner']}", json={"state": "left"})
    assert answer.status_code == 200
    assert [site["role"] for site in here.call("chief", "GET", "/api/session").json["sites"]] == ["owner"]


def test_a_state_that_there_is_not_is_refused(here: Installation) -> None:
    answer = change(here, "crew", state="asleep")
    assert (answer.status_code, answer.json["field"]) == (422, "state")
    answer = here.call("owner", "PUT", f"/api/people/{new_id()}", json={"state": "left"})
    assert (answer.status_code, answer.json["code"]) == (404, "person-unknown")


# -- one's own password and sign-ins


def new_password(here: Installation, client: Any, old: str, password: str) -> Any:
    return client.put("/api/session/password", json={"old": old, "password": password}, headers=OWN_PAGE)


def test_a_new_password_asks_for_the_old_one_and_ends_the_other_sign_ins(here: Installation) -> None:
    here.call("crew", "GET", "/api/session")
    other = here.client("crew")
    mine = here.app.test_client()
    mine.post("/api/session", json={"name": "crew", "password": PASSWORD}, headers=OWN_PAGE)
    wrong = new_password(here, mine, "not the old one", "four ladders stand")
    assert (wrong.status_code, wrong.json["code"], wrong.json["field"]) == (422, "password-old-wrong", "old")
    assert other.get("/api/session").status_code == 200
    assert new_password(here, mine, PASSWORD, "four ladders stand").status_code == 204
    assert mine.get("/api/session").status_code == 200
    assert other.get("/api/session").status_code == 401
    assert sign_in(here, "crew").status_code == 401


def test_a_new_password_that_is_easy_or_short_is_refused_without_being_repeated(here: Installation) -> None:
    for password, code in (("short", "password-wrong"), ("1234567890", "password-easy")):
        answer = here.call("crew", "PUT", "/api/session/password", json={"old": PASSWORD, "password": password})
        assert (answer.status_code, answer.json["code"]) == (422, code)
        assert password not in answer.text
    answer = here.call("crew", "PUT", "/api/session/password", json={"old": 7_654_321, "password": "x" * 20})
    assert "7654321" not in answer.text


def test_guesses_at_the_old_password_count_as_those_of_a_sign_in(here: Installation) -> None:
    body = {"old": "not the old one", "password": "four ladders stand"}
    codes = [here.call("crew", "PUT", "/api/session/password", json=body).status_code for _ in range(FREE + 1)]
    assert codes == [422] * FREE + [429]


def test_ones_own_sign_ins_are_listed_and_ended_one_by_one_or_all_but_this(here: Installation) -> None:
    phone = here.app.test_client()
    body = {"name": "crew", "password": PASSWORD}
    phone.post("/api/session", json=body, headers=OWN_PAGE | {"User-Agent": "a Mobile browser"})
    third = here.app.test_client()
    third.post("/api/session", json=body, headers=OWN_PAGE)
    sessions = here.call("crew", "GET", "/api/me/sessions").json["sessions"]
    assert sorted(each["device"] for each in sessions) == ["computer", "computer", "phone"]
    assert [each["this"] for each in sessions].count(True) == 1
    (wanted,) = [each["id"] for each in sessions if each["device"] == "phone"]
    assert here.call("manager", "DELETE", f"/api/me/sessions/{wanted}").json["code"] == "session-unknown"
    assert here.call("crew", "DELETE", f"/api/me/sessions/{wanted}").status_code == 204
    assert phone.get("/api/session").status_code == 401
    assert here.call("crew", "DELETE", "/api/me/sessions").status_code == 204
    assert third.get("/api/session").status_code == 401
    assert here.call("crew", "GET", "/api/session").status_code == 200


# -- one's own name, language, units


def test_name_units_and_words_are_ones_own(here: Installation) -> None:
    answer = here.call("crew", "PUT", "/api/me", json={"name": " Kit ", "units": "millimetres", "language": "en-GB"})
    assert answer.status_code == 200
    person = here.call("crew", "GET", "/api/session").json["person"]
    assert (person["name"], person["units"], person["language"]) == ("Kit", "millimetres", "en-GB")
    here.call("crew", "PUT", "/api/me", json={"units": None})
    person = here.call("crew", "GET", "/api/session").json["person"]
    assert (person["name"], person["units"], person["language"]) == ("Kit", None, "en-GB")
    people = here.call("manager", "GET", "/api/sites/{site}/people").json["people"]
    assert "Kit" in {each["name"] for each in people}


@pytest.mark.parametrize(
    ("wanted", "code"),
    [
        ({"name": "manager"}, "person-name-taken"),
        ({"name": "\u043c\u0430nager"}, "person-name-mixed"),
        ({"units": "cubits"}, "body-field-wrong"),
        ({"language": "xx"}, "language-unknown"),
    ],
)
def test_what_cannot_be_chosen_is_refused_and_nothing_is_changed(
    here: Installation, wanted: dict[str, str], code: str
) -> None:
    answer = here.call("crew", "PUT", "/api/me", json={"units": "inches"} | wanted)
    assert (answer.status_code, answer.json["code"]) == (422, code)
    person = here.call("crew", "GET", "/api/session").json["person"]
    assert (person["name"], person["units"], person["language"]) == ("crew", None, None)


def test_sign_ins_of_who_left_are_gone_from_the_database(here: Installation) -> None:
    here.call("crew", "GET", "/api/session")
    change(here, "crew", state="left")
    with here.app.app_context(), reading() as session:
        query = select(func.count()).select_from(Session).where(Session.person == here.people["crew"])
        assert session.execute(query).scalar_one() == 0
