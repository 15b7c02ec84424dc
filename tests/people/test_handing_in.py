"""Work that another hands in: of whom one may, both names, and how much of somebody who is off the site is taken."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import orjson
import pytest
from tests.support.installation import DEVICES, PASSWORD, Installation, installed, new_id

from spanwalk.services.sync import handed_in


@pytest.fixture
def here(back_end: str, tmp_path: Any) -> Iterator[Installation]:
    with installed(tmp_path / "data", back_end) as made:
        for name in ("leaver", "second surveyor"):
            answer = made.call("owner", "POST", "/api/people", json={"name": name, "password": PASSWORD})
            made.people[name] = answer.json["id"]
            put(made, name, "surveyor")
        yield made


def put(here: Installation, name: str, role: str | None) -> None:
    answer = here.call("manager", "PUT", "/api/sites/{site}/people", json={"name": name, "role": role})
    assert answer.status_code == 200, answer.text


def a_floor(here: Installation, of: str, **more: Any) -> dict[str, Any]:
    to = {"name": f"Floor of {of}", "parent": here.site}
    return here.operation(of, new_id(), "floor", "identity", to, **more)


def identity_of(here: Installation, operation: dict[str, Any]) -> Any:
    records = here.pull("manager")["records"]
    return next(each for each in records if each["id"] == operation["record"])["facets"]["identity"]


def hand_over(here: Installation, former: str, now: str) -> None:
    """The phone on which one was signed in is now another's."""
    here.client(former)
    here.phones[now] = here.phones[former]
    here.clients.pop(now, None)
    here.client(now)


def test_a_phone_that_changed_hands_sends_what_its_former_user_left_and_both_names_stay(here: Installation) -> None:
    left = a_floor(here, "leaver")
    hand_over(here, "leaver", "surveyor")
    (answer,) = here.push("surveyor", left, device=DEVICES["leaver"])
    assert answer["result"] == "applied"
    told = identity_of(here, left)
    assert (told["by"], told["via"]) == (here.people["leaver"], here.people["surveyor"])


def test_what_one_sends_of_ones_own_names_nobody_else(here: Installation) -> None:
    mine = a_floor(here, "surveyor")
    here.push("surveyor", mine)
    assert "via" not in identity_of(here, mine)


def test_nobody_signs_for_another_on_a_phone_of_their_own(here: Installation) -> None:
    """It was applied as if the other had entered it."""
    forged = a_floor(here, "surveyor", by=here.people["second surveyor"])
    (answer,) = here.push("surveyor", forged)
    assert answer["result"] == "held"
    (held,) = here.call("manager", "GET", "/api/sites/{site}/held").json["held"]
    assert (held["name"], held["sender_name"]) == ("second surveyor", "surveyor")


def test_nobody_signs_for_a_colleague_by_naming_that_ones_device(here: Installation) -> None:
    here.push("second surveyor", a_floor(here, "second surveyor"))
    forged = a_floor(here, "second surveyor")
    (answer,) = here.push("surveyor", forged)
    assert answer["result"] == "held"


@pytest.mark.parametrize("role", ["manager", "owner"])
def test_who_keeps_the_people_of_a_site_hands_in_for_them_and_both_names_stay(here: Installation, role: str) -> None:
    brought = a_floor(here, "surveyor")
    (answer,) = here.push(role, brought)
    assert answer["result"] == "applied"
    told = identity_of(here, brought)
    assert (told["by"], told["via"]) == (here.people["surveyor"], here.people[role])


def test_held_work_that_is_let_in_keeps_both_names(here: Installation) -> None:
    forged = a_floor(here, "surveyor", by=here.people["second surveyor"])
    here.push("surveyor", forged)
    here.call("manager", "POST", "/api/sites/{site}/held", json={"release": [forged["id"]]})
    told = identity_of(here, forged)
    assert (told["by"], told["via"]) == (here.people["second surveyor"], here.people["surveyor"])


def test_a_conflict_tells_both_names_too(here: Installation) -> None:
    floor = a_floor(here, "surveyor")
    here.push("surveyor", floor)
    change = here.operation(
        "surveyor", floor["record"], "floor", "identity", {"name": "Other", "parent": here.site}, seen=new_id()
    )
    (answer,) = here.push("manager", change)
    assert answer["result"] == "conflict"
    record = next(each for each in here.pull("manager")["records"] if each["id"] == floor["record"])
    (conflict,) = record["conflicts"]
    assert (conflict["by"], conflict["via"]) == (here.people["surveyor"], here.people["manager"])


# -- how much is taken


def sent_by_leaver(here: Installation, *operations: dict[str, Any]) -> Any:
    body = {"device": DEVICES["leaver"], "operations": list(operations)}
    return here.call("leaver", "POST", "/api/sites/{site}/push", data=orjson.dumps(body))


def test_who_was_taken_off_hands_in_so_many_entries_and_no_more_and_is_told(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    """There was no end to it."""
    monkeypatch.setattr(handed_in, "OPERATIONS_MOST", 3)
    put(here, "leaver", None)
    first = [a_floor(here, "leaver") for _ in range(3)]
    assert {each["result"] for each in sent_by_leaver(here, *first).json["answers"]} == {"held"}
    beyond = a_floor(here, "leaver")
    answer = sent_by_leaver(here, beyond)
    assert (answer.status_code, answer.json["code"], answer.json["operations"]) == (403, "handed-in-full", 3)
    assert "stays on this phone" in answer.json["detail"]
    assert sent_by_leaver(here, *first).status_code == 200, "the same again is no more"
    release = {"release": [each["id"] for each in first]}
    assert here.call("manager", "POST", "/api/sites/{site}/held", json=release).status_code == 200
    (told,) = sent_by_leaver(here, beyond).json["answers"]
    assert told["result"] == "held"


def test_who_was_taken_off_hands_in_so_many_bytes_and_no_more(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(handed_in, "BYTES_MOST", 1500)
    put(here, "leaver", None)
    operation = a_floor(here, "leaver")
    assert 300 < len(orjson.dumps(operation)) < 1500
    assert sent_by_leaver(here, operation).status_code == 200
    long = here.operation("leaver", new_id(), "floor", "identity", {"name": "x" * 1200, "parent": here.site})
    assert sent_by_leaver(here, long).json["code"] == "handed-in-full"


def test_what_is_wrong_counts_too_of_who_was_taken_off(here: Installation, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(handed_in, "OPERATIONS_MOST", 3)
    put(here, "leaver", None)
    wrong = [here.operation("leaver", new_id(), "floor", "identity", {"name": 5}) for _ in range(3)]
    assert {each["result"] for each in sent_by_leaver(here, *wrong).json["answers"]} == {"refused"}
    assert sent_by_leaver(here, a_floor(here, "leaver")).json["code"] == "handed-in-full"


def test_who_is_on_the_site_works_on_while_what_they_hand_in_for_others_is_refused(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(handed_in, "OPERATIONS_MOST", 1)
    others = [a_floor(here, "surveyor", by=here.people["second surveyor"]) for _ in range(2)]
    answers = here.push("surveyor", *others, a_floor(here, "surveyor"))
    assert [each["result"] for each in answers] == ["held", "refused", "applied"]
    assert answers[1]["code"] == "handed-in-full"
