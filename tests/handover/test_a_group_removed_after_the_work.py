"""A group or room that is removed after fixtures in it were converted: it is not handed over, what came out of it came out."""

from __future__ import annotations

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
