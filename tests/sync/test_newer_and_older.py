"""Phones and servers of different specs: nothing that a newer one knows is lost by an older one, in both directions."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
from tests.support.installation import Installation, new_id
from tests.support.specs import planted_spec

from spanwalk import records
from spanwalk.services.doctor import examine_all
from spanwalk.storage.database import reading

NOW = records.spec().number
NEXT = NOW + 1


def next_spec() -> dict[str, Any]:
    """This spec with a field, a choice, a facet and a type more."""
    document: dict[str, Any] = json.loads(records.spec_text())
    document["spec"] = NEXT
    room = document["records"]["room"]["facets"]
    room["identity"]["fields"]["wing"] = {"type": "text", "title": "Wing", "max": 5, "since": NEXT}
    room["ceiling"]["fields"][CHOICE]["choices"].append("hanging")
    room["fire"] = {"title": "Fire", "write": ["surveyor", "manager"], "since": NEXT, "fields": {
        "section": {"type": "integer", "title": "Section", "since": NEXT}
    }}  # fmt: skip
    document["records"]["pump"] = {"title": "Pump", "parent": "room", "read": list(records.ROLES), "since": NEXT, "facets": {
        "identity": {"title": "Pump", "write": ["surveyor", "manager"], "since": NEXT, "fields": {
            "mark": {"type": "text", "title": "Mark", "max": 8, "required": True, "since": NEXT}
        }}
    }}  # fmt: skip
    return document


CHOICE = next(name for name, field in records.spec().types["room"].facets["ceiling"].fields.items() if field.of.chosen)


@pytest.fixture
def newer_server(here: Installation) -> Iterator[Installation]:
    """The same site under a server of the next spec."""
    with planted_spec(next_spec()):
        yield here


class Pen:
    """A person's form, on a phone of some spec."""

    def __init__(self, here: Installation, name: str, spec: int) -> None:
        self.here, self.name, self.spec = here, name, spec

    def set(self, record: str, facet: str, to: dict[str, Any], **more: Any) -> Any:
        held = self.record(record)
        seen = held and held["facets"].get(facet, {}).get("op")
        about = {"seen": seen, "spec": self.spec} | more
        type_ = about.pop("type", "room")
        (answer,) = self.here.push(self.name, self.here.operation(self.name, record, type_, facet, to, **about))
        return answer

    def record(self, id: str) -> Any:
        page = self.here.pull(self.name, "limit=2000")
        return next((each for each in page["records"] if each["id"] == id), None)

    def value(self, id: str, facet: str) -> Any:
        return self.record(id)["facets"][facet]["value"]


@pytest.fixture
def old(here: Installation) -> Pen:
    return Pen(here, "surveyor", NOW)


@pytest.fixture
def new(here: Installation) -> Pen:
    return Pen(here, "manager", NEXT)


def well(here: Installation) -> bool:
    with here.app.app_context(), reading() as session:
        return examine_all(session, here.app.extensions["spanwalk-photos"]).findings == []


def room(pen: Pen, **more: Any) -> tuple[str, dict[str, Any]]:
    record = new_id()
    to = {"number": "1", "parent": pen.here.floor(), **more}
    assert pen.set(record, "identity", to)["result"] == "applied"
    return record, to


# -- an older phone, a newer server


def test_an_older_phones_save_keeps_a_newer_phones_field(newer_server: Installation, old: Pen, new: Pen) -> None:
    record, to = room(new, wing="north")
    without = {name: each for name, each in to.items() if name != "wing"}
    answer = old.set(record, "identity", without | {"number": "2"})
    assert answer["result"] == "same", "the phone learns the value that stands there"
    assert answer["record"]["facets"]["identity"]["value"] == to | {"number": "2"}
    assert old.value(record, "identity") == to | {"number": "2"}
    assert old.record(record)["conflicts"] == []
    assert well(newer_server)


def test_the_same_operation_again_is_answered_the_same_way(newer_server: Installation, old: Pen, new: Pen) -> None:
    record, to = room(new, wing="north")
    seen = old.record(record)["facets"]["identity"]["op"]
    value = {"number": "3", "parent": to["parent"]}
    again = newer_server.operation("surveyor", record, "room", "identity", value, seen=seen, spec=NOW)
    (first,), (second,) = (newer_server.push("surveyor", again) for _ in range(2))
    assert first == second
    assert second["record"]["facets"]["identity"]["value"]["wing"] == "north"


def test_what_an_older_phone_saw_after_such_an_answer_is_what_stands_there(
    newer_server: Installation, old: Pen, new: Pen
) -> None:
    record, to = room(new, wing="north")
    for number in ("4", "5"):
        old.set(record, "identity", {"number": number, "parent": to["parent"]})
    assert old.value(record, "identity") == to | {"number": "5"}
    assert old.record(record)["conflicts"] == []


def test_a_newer_phone_takes_its_own_field_away_again(newer_server: Installation, new: Pen) -> None:
    record, to = room(new, wing="north")
    without = {name: each for name, each in to.items() if name != "wing"}
    assert new.set(record, "identity", without)["result"] == "applied"
    assert new.value(record, "identity") == without


def test_a_losing_value_of_an_older_phone_has_the_newer_field_too(
    newer_server: Installation, old: Pen, new: Pen
) -> None:
    record, to = room(new, wing="north")
    answer = old.set(record, "identity", {"number": "6", "parent": to["parent"]}, seen=None)
    assert answer["result"] == "conflict"
    (conflict,) = old.record(record)["conflicts"]
    assert conflict["value"] == to | {"number": "6"}, "whoever settles it by this value drops nothing"


def test_the_same_value_but_for_what_an_older_phone_does_not_know_is_no_conflict(
    newer_server: Installation, old: Pen, new: Pen
) -> None:
    record, to = room(new, wing="north")
    answer = old.set(record, "identity", {"number": "1", "parent": to["parent"]}, seen=None)
    assert answer["result"] == "same"


def test_an_emptied_part_is_empty(newer_server: Installation, old: Pen, new: Pen) -> None:
    record, _ = room(new)
    new.set(record, "fire", {"section": 4})
    assert new.set(record, "fire", {})["result"] == "applied"
    assert new.value(record, "fire") == {}


def test_an_older_phone_is_handed_choices_parts_and_types_that_it_does_not_know(
    newer_server: Installation, old: Pen, new: Pen
) -> None:
    record, _ = room(new)
    assert new.set(record, "ceiling", {CHOICE: "hanging"})["result"] == "applied"
    assert new.set(record, "fire", {"section": 4})["result"] == "applied"
    pump = new_id()
    assert new.set(pump, "identity", {"mark": "P1", "parent": record}, type="pump")["result"] == "applied"
    assert old.value(record, "ceiling") == {CHOICE: "hanging"}
    assert old.value(record, "fire") == {"section": 4}
    assert old.record(pump)["type"] == "pump"
    assert well(newer_server)


# -- a newer phone, an older server


def test_an_older_server_keeps_and_hands_on_a_field_a_choice_and_a_part_of_a_newer_phone(
    here: Installation, old: Pen, new: Pen
) -> None:
    record, to = room(new, wing="north")
    assert new.set(record, "ceiling", {CHOICE: "hanging"})["result"] == "applied"
    assert new.set(record, "fire", {"section": 4})["result"] == "applied"
    assert old.value(record, "identity") == to
    assert old.value(record, "ceiling") == {CHOICE: "hanging"}
    assert old.value(record, "fire") == {"section": 4}
    assert well(here)


def test_a_type_that_an_older_server_does_not_know_stays_on_the_phone_with_the_reason(
    here: Installation, new: Pen
) -> None:
    record, _ = room(new)
    answer = new.set(new_id(), "identity", {"mark": "P1", "parent": record}, type="pump")
    assert (answer["result"], answer["code"]) == ("refused", "record-type-unknown")
    assert answer["facts"] == {"type": "pump", "spec": NEXT, "ours": NOW}


def test_an_older_phone_on_an_older_server_drops_no_newer_field(here: Installation, old: Pen, new: Pen) -> None:
    record, to = room(new, wing="north")
    assert old.set(record, "identity", {"number": "7", "parent": to["parent"]})["result"] == "same"
    assert old.value(record, "identity") == to | {"number": "7"}
    assert well(here)


def test_what_an_older_phone_only_hands_back_is_not_refused_as_unknown(here: Installation, old: Pen, new: Pen) -> None:
    record, to = room(new, wing="north")
    new.set(record, "ceiling", {CHOICE: "hanging"})
    answer = old.set(record, "identity", to | {"number": "8"})
    assert answer["result"] == "same", answer
    assert old.value(record, "identity") == to | {"number": "8"}
    assert old.set(record, "identity", to | {"number": "9", "wing": "south"})["result"] == "same"
    assert old.value(record, "identity")["wing"] == "north", "what it does not know is not its to change"
    assert old.set(record, "ceiling", {CHOICE: "hanging", "note": "seen again"})["result"] == "applied"
    assert old.value(record, "ceiling") == {CHOICE: "hanging", "note": "seen again"}
    assert well(here)


def test_what_no_phone_has_said_is_still_refused_as_unknown(here: Installation, old: Pen, new: Pen) -> None:
    record, to = room(new)
    assert old.set(record, "identity", to | {"wign": "north"})["code"] == "field-unknown"
    assert old.set(record, "ceiling", {CHOICE: "hangign"})["code"] == "choice-wrong"


def test_a_value_that_is_wrong_in_what_is_known_is_refused_whatever_the_senders_spec(
    here: Installation, new: Pen
) -> None:
    record, to = room(new)
    assert new.set(record, "identity", to | {"number": 5, "wing": "north"})["code"] == "text-wrong"
    assert new.set(record, "ceiling", {CHOICE: 5})["code"] == "choice-wrong"


def test_handing_back_what_is_there_gives_nobody_a_right(here: Installation, new: Pen) -> None:
    record, to = room(new, wing="north")
    crew = Pen(here, "crew", NOW)
    assert crew.set(record, "identity", to | {"number": "9"})["code"] == "no-right"
    signed = here.operation("crew", record, "room", "identity", to | {"number": "9"}, spec=NOW)
    (answer,) = here.push("crew", signed | {"by": here.people["manager"]})
    assert answer["result"] == "held"
