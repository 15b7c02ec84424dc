"""A group or room that is removed after fixtures in it were converted: it is not handed over, what came out of it came out."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from typing import Any

import pytest
from tests.planning.stored_site import store_changes
from tests.support.installation import Installation, installed
from tests.support.late_site import LateSite, make_late

from spanwalk.services.handover.gathering import report_of
from spanwalk.services.handover.told import DONE, Report
from spanwalk.storage.database import reading

Json = dict[str, Any]


@pytest.fixture
def late(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Installation, LateSite]]:
    with installed(tmp_path_factory.mktemp("late")) as installation:
        yield installation, make_late(installation)


def report(here: Installation) -> Report:
    with here.app.app_context(), reading() as session:
        return report_of(session, here.site, "manager", with_money=False)


def done_in(told: Report) -> dict[str, int]:
    """Group -> fixtures that are done, of those handed over."""
    return {
        group.id: sum(each.state == DONE for each in group.fixtures) for room in told.rooms for group in room.groups
    }


def restored(here: Installation, record: Json, removed: bool) -> None:
    store_changes(here, [{**record, "removed": removed}])


def removed_with_work(made: LateSite, told: Report, what: str) -> tuple[Json, int]:
    """A group with fixtures done, or its room; and how many are done in it."""
    done = done_in(told)
    groups = {each["id"]: each for each in made.records("group")}
    group = next(groups[id] for id, number in done.items() if number)
    if what == "group":
        return group, done[group["id"]]
    room = next(each for each in made.records("room") if each["id"] == group["parent"])
    return room, sum(done.get(each["id"], 0) for each in groups.values() if each["parent"] == room["id"])


@pytest.mark.parametrize("what", ["group", "room"])
def test_what_came_out_of_it_is_counted_as_before_and_its_fixtures_are_none(
    late: tuple[Installation, LateSite], what: str
) -> None:
    here, made = late
    before = report(here)
    record, done = removed_with_work(made, before, what)
    assert done
    restored(here, record, removed=True)
    after = report(here)
    assert after.waste == before.waste
    assert sum(done_in(after).values()) == sum(done_in(before).values()) - done
    restored(here, record, removed=False)
    assert report(here).waste == before.waste


STAY = {"conversion", "installation", "visit", "emergency_test", "failure", "function_test", "punch_point"}


def removed_on_a_phone(here: Installation, record: str, unseen: frozenset[str] = frozenset()) -> str:
    """What becomes of a removal as a manager's phone makes it, that did not know of some records below."""
    records = {each["id"]: each for each in here.pull("manager", "since=0&limit=5000")["records"]}
    below = [each for each in records.values() if each["parent"] == record and not each["removed"]]
    for child in below:
        if child["type"] not in STAY:
            removed_on_a_phone(here, child["id"], unseen)
    seen = {facet: said["op"] for facet, said in records[record]["facets"].items()}
    seen |= {child["id"]: None for child in below if child["type"] in STAY and child["id"] not in unseen}
    told = here.operation(
        "manager", record, records[record]["type"], "life", kind="remove", seen=seen,
        settles=[each["id"] for each in records[record]["conflicts"]],
    )  # fmt: skip
    (answer,) = here.push("manager", told)
    return str(answer["result"])


def note_done(here: Installation, made: LateSite, group: Json, position: int) -> str:
    """A crew's 'done' on a fixture; the id of the note."""
    conversion = max(
        (each for each in made.records("conversion") if each["parent"] == group["id"]),
        key=lambda each: each["facets"]["identity"]["number"],
    )
    id = str(uuid.uuid4())
    value = {
        "parent": group["id"],
        "position": position,
        "outcome": "done",
        "conversion": conversion["id"],
        "checks": conversion["facets"]["identity"]["frozen"]["checks"],
        "noted_at": "2026-05-02T09:00:00Z",
    }
    (answer,) = here.push("crew", here.operation("crew", id, "installation", "identity", value))
    assert answer["result"] == "applied", answer
    return id


def is_removed(made: LateSite, record: Json) -> bool:
    return bool(next(each for each in made.records(record["type"]) if each["id"] == record["id"])["removed"])


@pytest.mark.parametrize("what", ["group", "room"])
def test_removed_on_a_phone_the_crews_notes_stay_and_so_does_what_came_out(
    late: tuple[Installation, LateSite], what: str
) -> None:
    here, made = late
    before = report(here)
    record, _ = removed_with_work(made, before, what)
    assert removed_on_a_phone(here, record["id"]) == "applied"
    assert is_removed(made, record)
    assert report(here).waste == before.waste


def a_fixture_left(made: LateSite, told: Report) -> tuple[Json, int]:
    """A group in which something is done, and a fixture of it that is not."""
    groups = {each["id"]: each for each in made.records("group")}
    for room in told.rooms:
        for group in room.groups:
            left = [each.position for each in group.fixtures if each.state != DONE]
            if left and len(left) < len(group.fixtures):
                return groups[group.id], left[0]
    raise AssertionError("all is done")


def test_a_note_written_after_the_removal_is_counted_and_asks_which_holds(
    late: tuple[Installation, LateSite],
) -> None:
    here, made = late
    group, position = a_fixture_left(made, report(here))
    assert removed_on_a_phone(here, group["id"]) == "applied"
    before = report(here).waste
    note = note_done(here, made, group, position)
    assert report(here).waste != before
    assert [each["id"] for each in made.records("group") if each["conflicts"]] == [group["id"]]
    with_it = report(here).waste
    assert removed_on_a_phone(here, group["id"], frozenset({note})) == "conflict", "who settles must have seen it"
    assert removed_on_a_phone(here, group["id"]) == "applied"
    assert [each["id"] for each in made.records("group") if each["conflicts"]] == []
    assert report(here).waste == with_it


def test_a_removal_that_crosses_a_note_waits_until_somebody_has_settled_which_holds(
    late: tuple[Installation, LateSite],
) -> None:
    here, made = late
    group, position = a_fixture_left(made, report(here))
    note = note_done(here, made, group, position)
    before = report(here).waste
    assert removed_on_a_phone(here, group["id"], frozenset({note})) == "conflict"
    assert not is_removed(made, group)
    assert report(here).waste == before
    assert removed_on_a_phone(here, group["id"]) == "applied"
    assert is_removed(made, group)
    assert report(here).waste == before


def a_label_on_what_is_done(made: LateSite, told: Report) -> tuple[Json, int, str]:
    """A group, a fixture of it that is done, and the code of a label there that holds."""
    labels = {
        (each["facets"]["binding"]["group"], each["facets"]["binding"]["position"]): each["facets"]["identity"]["code"]
        for each in made.records("label")
        if "binding" in each["facets"] and "voided" not in each["facets"]
    }
    groups = {each["id"]: each for each in made.records("group")}
    return next(
        (groups[group.id], each.position, labels[group.id, each.position])
        for room in told.rooms
        for group in room.groups
        for each in group.fixtures
        if each.state == DONE and (group.id, each.position) in labels
    )


def test_what_is_remembered_of_a_fixture_of_a_removed_group_is_told_and_that_it_was_removed(
    late: tuple[Installation, LateSite],
) -> None:
    here, made = late
    group, position, _ = a_label_on_what_is_done(made, report(here))
    path = f"/api/sites/{{site}}/memory/{group['id']}/{position}"
    before = here.call("manager", "GET", path).json
    assert removed_on_a_phone(here, group["id"]) == "applied"
    after = here.call("manager", "GET", path).json
    assert (before["removed"], after["removed"]) == (False, True)
    assert {**after, "removed": False} == before


def test_a_phone_that_is_set_up_later_gets_the_removed_group_in_which_work_was_done(
    late: tuple[Installation, LateSite],
) -> None:
    here, made = late
    group, _ = a_fixture_left(made, report(here))
    readings = [each["id"] for each in made.records("cavity_reading") if each["parent"] == group["id"]]
    assert readings
    assert removed_on_a_phone(here, group["id"]) == "applied"
    pulled = here.pull("crew", "since=0&limit=5000")
    found = {each["id"]: each for each in pulled["records"]}
    assert found[group["id"]]["removed"]
    assert [id for id in readings if id in found] == []
