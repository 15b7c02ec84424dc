"""Who is on a site in which role, which phones there are, and what becomes of work that comes too late."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from tests.support.installation import DEVICES, PASSWORD, Installation, installed, new_id


@pytest.fixture
def here(back_end: str, tmp_path: Any) -> Iterator[Installation]:
    with installed(tmp_path / "data", back_end) as made:
        hire(made)
        yield made


def hire(made: Installation) -> None:
    """Someone more, who will leave."""
    answer = made.call("owner", "POST", "/api/people", json={"name": "leaver", "password": PASSWORD})
    made.people["leaver"] = answer.json["id"]
    put(made, "leaver", "surveyor")


def put(here: Installation, name: str, role: str | None, by: str = "manager") -> Any:
    return here.call(by, "PUT", "/api/sites/{site}/people", json={"name": name, "role": role})


def walk(here: Installation, name: str, room: str, order: int, **more: Any) -> dict[str, Any]:
    return here.operation(name, room, "room", "walk", {"order": order}, **more)


def room_of(here: Installation, name: str = "surveyor") -> str:
    room = new_id()
    (answer,) = here.push(
        name, here.operation(name, room, "room", "identity", {"number": "1", "parent": here.floor(name)})
    )
    assert answer["result"] == "applied"
    return room


def test_a_manager_puts_a_person_on_the_site(here: Installation) -> None:
    answer = put(here, "stranger", "crew")
    assert answer.status_code == 200
    assert {"id": here.people["stranger"], "name": "stranger", "role": "crew", "state": "active"} in answer.json[
        "people"
    ]
    assert here.call("stranger", "GET", "/api/session").json["sites"][0]["role"] == "crew"


def test_a_manager_does_not_make_owners(here: Installation) -> None:
    assert put(here, "stranger", "owner").json["code"] == "role-not-enough"
    assert put(here, "stranger", "owner", by="owner").status_code == 200


def test_an_unknown_role_is_named_with_those_there_are(here: Installation) -> None:
    answer = put(here, "stranger", "boss")
    assert (answer.status_code, answer.json["field"], answer.json["value"]) == (422, "role", "boss")
    assert "surveyor, crew, manager, owner" in answer.json["detail"]


def test_an_unknown_person_is_named(here: Installation) -> None:
    answer = put(here, "someone", "crew")
    assert (answer.status_code, answer.json["detail"]) == (404, "There is no person 'someone'.")


def test_two_people_cannot_have_one_name(here: Installation) -> None:
    answer = here.call("owner", "POST", "/api/people", json={"name": "Crew", "password": PASSWORD})
    assert (answer.status_code, answer.json["code"]) == (422, "person-name-taken")


def test_an_owner_makes_a_site_and_is_on_it(here: Installation) -> None:
    answer = here.call("owner", "POST", "/api/sites", json={"name": "Second building"})
    assert answer.status_code == 201
    assert [site["name"] for site in here.call("owner", "GET", "/api/sites").json["sites"]] == [
        "Test building",
        "Second building",
    ]


def test_settings_that_a_site_cannot_have_are_refused_with_the_field(here: Installation) -> None:
    answer = here.call("owner", "POST", "/api/sites", json={"name": "X", "settings": {"units": "cubits"}})
    assert (answer.status_code, answer.json["code"], answer.json["field"]) == (422, "choice-wrong", "units")
    assert len(here.call("owner", "GET", "/api/sites").json["sites"]) == 1


# -- roles and reading


def test_a_change_of_role_changes_the_reading_scope(here: Installation) -> None:
    before = here.pull("leaver")["scope"]
    put(here, "leaver", "crew")
    answer = here.call("leaver", "GET", f"/api/sites/{{site}}/pull?scope={before}")
    assert (answer.status_code, answer.json["code"]) == (409, "scope-changed")
    assert answer.json["scope"] == here.pull("leaver")["scope"] != before


def test_off_and_on_again_is_another_scope_too(here: Installation) -> None:
    before = here.pull("leaver")["scope"]
    put(here, "leaver", None)
    put(here, "leaver", "surveyor")
    assert here.pull("leaver")["scope"] != before


def test_the_crew_reads_no_prices_and_its_digest_agrees(here: Installation) -> None:
    item, price = new_id(), new_id()
    here.push(
        "manager",
        here.operation(
            "manager", item, "catalogue_item", "identity", {"item": "bar", "code": "B1", "parent": here.site}
        ),
        here.operation("manager", price, "price", "identity", {"each": 9.5, "parent": item}),
    )
    crew, manager = here.pull("crew"), here.pull("manager")
    assert price not in {record["id"] for record in crew["records"]}
    assert price in {record["id"] for record in manager["records"]}
    assert crew["sum"] != manager["sum"]
    assert crew["next"] == manager["next"] == manager["head"]


# -- held


def test_work_of_who_was_taken_off_the_site_is_held_and_not_lost(here: Installation) -> None:
    room = room_of(here)
    put(here, "leaver", None)
    (answer,) = here.push("leaver", walk(here, "leaver", room, 7))
    assert answer["result"] == "held"
    pull = here.call("leaver", "GET", "/api/sites/{site}/pull")
    assert (pull.status_code, pull.json["code"]) == (404, "site-left")
    (held,) = here.call("manager", "GET", "/api/sites/{site}/held").json["held"]
    assert (held["operation"]["to"], held["name"]) == ({"order": 7}, "leaver")


def test_a_manager_lets_held_work_in(here: Installation) -> None:
    room = room_of(here)
    put(here, "leaver", None)
    operation = walk(here, "leaver", room, 7)
    here.push("leaver", operation)
    (answer,) = here.call("manager", "POST", "/api/sites/{site}/held", json={"release": [operation["id"]]}).json[
        "answers"
    ]
    assert answer["result"] == "applied"
    (again,) = here.push("leaver", operation)
    assert again == answer
    assert here.call("manager", "GET", "/api/sites/{site}/held").json["held"] == []


def test_a_manager_refuses_held_work_and_the_phone_is_told_by_whom(here: Installation) -> None:
    room = room_of(here)
    put(here, "leaver", None)
    operation = walk(here, "leaver", room, 7)
    here.push("leaver", operation)
    here.call("manager", "POST", "/api/sites/{site}/held", json={"refuse": [operation["id"]]})
    (again,) = here.push("leaver", operation)
    assert (again["result"], again["code"], again["facts"]) == (
        "refused",
        "held-refused",
        {"name": "manager"},
    )


def test_held_work_is_let_in_in_the_order_in_which_it_came(here: Installation) -> None:
    put(here, "leaver", None)
    floor, room = new_id(), new_id()
    one = here.operation("leaver", floor, "floor", "identity", {"name": "Up", "parent": here.site})
    two = here.operation("leaver", room, "room", "identity", {"number": "1", "parent": floor})
    here.push("leaver", one)
    here.push("leaver", two)
    answers = here.call("manager", "POST", "/api/sites/{site}/held", json={"release": [two["id"], one["id"]]}).json[
        "answers"
    ]
    assert [(answer["id"], answer["result"]) for answer in answers] == [
        (one["id"], "applied"),
        (two["id"], "applied"),
    ]


def test_work_of_a_revoked_phone_is_held_and_it_reads_no_more(here: Installation) -> None:
    room = room_of(here)
    assert here.call("manager", "DELETE", f"/api/sites/{{site}}/devices/{DEVICES['surveyor']}").status_code == 204
    here.clients.pop("surveyor")
    (answer,) = here.push("surveyor", walk(here, "surveyor", room, 3))
    assert answer["result"] == "held"
    pull = here.call("surveyor", "GET", f"/api/sites/{{site}}/pull?device={DEVICES['surveyor']}")
    assert (pull.status_code, pull.json["code"]) == (403, "device-revoked")


def surveyors_device(here: Installation) -> dict[str, Any]:
    listed = here.call("manager", "GET", "/api/sites/{site}/devices").json["devices"]
    (device,) = [each for each in listed if each["name"] == "surveyor"]
    return dict(device)


def test_what_a_phone_has_not_sent_is_listed_with_since_when(here: Installation) -> None:
    here.push("surveyor", unsent={"operations": 12, "photos": 3})
    device = surveyors_device(here)
    assert (device["operations"], device["photos"], device["name"]) == (12, 3, "surveyor")
    since = device["since"]
    here.pull("surveyor", f"device={DEVICES['surveyor']}&unsent=10&unsent_photos=0")
    device = surveyors_device(here)
    assert (device["operations"], device["since"]) == (10, since)
    here.pull("surveyor", f"device={DEVICES['surveyor']}&unsent=0&unsent_photos=0")
    device = surveyors_device(here)
    assert (device["operations"], device["since"]) == (0, None)


# -- a phone that changed hands


def test_nobody_gains_a_right_by_signing_for_another(here: Installation) -> None:
    money = here.operation("manager", new_id(), "money", "identity", {"currency": "EUR", "parent": here.site})
    (answer,) = here.push("surveyor", money)
    assert answer["result"] == "held"


def test_a_manager_may_bring_in_the_work_of_another(here: Installation) -> None:
    room = room_of(here)
    (answer,) = here.push("manager", walk(here, "surveyor", room, 5))
    assert answer["result"] == "applied"


def test_an_entry_signed_by_someone_unknown_is_held(here: Installation) -> None:
    room = room_of(here)
    (answer,) = here.push("surveyor", walk(here, "surveyor", room, 5, by=new_id()))
    assert answer["result"] == "held"
