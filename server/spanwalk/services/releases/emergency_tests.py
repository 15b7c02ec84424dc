"""The record of emergency tests: one line a test, and one for each emergency fixture that has none, to read and to print."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import TypedDict, cast

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk.rules.constants import ENDS_VISITS
from spanwalk.rules.installing.punch_list import NO_TEST, NOT_CONVERTED, test_state
from spanwalk.rules.record_types import ConversionView, GroupView
from spanwalk.rules.record_view import Facet, Record
from spanwalk.rules.survey import (
    Survey,
    facet,
    floor_order,
    mark_of,
    name_of_room,
    newest_conversions,
    walk_order,
)
from spanwalk.services.files.csv_out import cell, heads
from spanwalk.services.sync.state import records_by, records_in_part, site_records
from spanwalk.services.text.neutral import Out, csv_text
from spanwalk.storage import json_text
from spanwalk.storage.tables import Person
from spanwalk.storage.tables import Record as Row
from spanwalk.words import choice_text

AROUND = ("site", "floor", "room", "kind", "emergency_test")
OF_CONVERSIONS = (("identity", "number"), ("identity", "frozen", "emergency"))
COLUMNS = {
    "floor_name": "floor", "room_name": "room", "mark": "kind", "position": "fixture", "duty": "emergency", "pack": "pack",
    "second_source": "second-source", "release": "release", "state": "duration-test", "indicator": "indicator", "minutes": "lasted-min",
    "wanted_min": "wanted-min", "due_on": "due-on", "by": "by", "noted_at": "when", "note": "note",
}  # fmt: skip
"""Fields of a line, in the order of the table, with the codes of their headings."""


class Line(TypedDict):
    """One test of one emergency fixture, or that it has none; None where nothing is said."""

    group: str
    floor_name: str
    room_name: str
    mark: str
    position: int
    duty: str
    pack: str | None
    second_source: str | None
    release: int | None
    state: str
    newest: bool
    indicator: str | None
    minutes: int | None
    wanted_min: int | None
    due_on: str | None
    by: str | None
    noted_at: str | None
    note: str | None


class Tests(TypedDict):
    """All tests of a site; `open` counts fixtures whose newest did not pass."""

    fixtures: int
    open: int
    lines: list[Line]


def tests_of_site(session: Session, site_id: str) -> Tests:
    """All emergency fixtures that are released and all tests, in the order of the walk, the newest test of a fixture first.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.

    Returns
    -------
    dict
        ``{"fixtures", "open", "lines": [Line]}``: `open` counts fixtures whose newest test did not pass. ``state`` of a line
        is `passed`, `failed`, `still-due`, `too short` (it passed for fewer minutes than were wanted), `no test yet` or
        `not converted yet`.
    """
    return all_tests(_records(session, site_id), testers(session, site_id))


def _records(session: Session, site_id: str) -> list[Record]:
    """What tests are told from: of groups, and of what was noted in them, only where there is an emergency fixture or a test."""
    around = site_records(session, site_id, types=AROUND)
    conversions = records_in_part(session, site_id, "conversion", OF_CONVERSIONS)
    wanted = {each["parent"] for each in conversions if _emergency(cast("ConversionView", each)).get("positions")}
    wanted |= {each["parent"] for each in around if each["type"] == "emergency_test"}
    groups = [each for each in wanted if each is not None]
    noted = records_by(session, site_id, "parent", groups, types=("installation",))
    return [*around, *records_by(session, site_id, "id", groups), *conversions, *noted]


def all_tests(records: Sequence[Record], said_by: Mapping[str, str]) -> Tests:
    """The same of view records, those of a type in the order in which the server took them, and of who said what of tests."""
    taken = {record["id"]: place for place, record in enumerate(records)}
    lines = list(_lines(Survey(records), said_by, taken))
    newest = [line for line in lines if line["newest"]]
    return {"fixtures": len(newest), "open": sum(line["state"] != "passed" for line in newest), "lines": lines}


def tests_csv(session: Session, site_id: str) -> str:
    """The same as CSV with a byte order mark, one line each.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    """
    lines = tests_of_site(session, site_id)["lines"]
    return csv_text([heads(*COLUMNS.values()), *([told_cell(line, name) for name in COLUMNS] for line in lines)])


def told_cell(line: Line, name: str) -> Out:
    """What a line says in a column, in words; nothing where nothing is said."""
    told = cast("Facet", line)[name]
    return "" if told is None else cell(choice_text(told) if isinstance(told, str) else told)


def _lines(survey: Survey, said_by: Mapping[str, str], taken: Mapping[str, int]) -> Iterator[Line]:
    conversions = newest_conversions(survey)
    for group in sorted(survey.of_type("group"), key=lambda each: _place(survey, each)):
        conversion = conversions.get(group["id"])
        tests, done = (_by_position(survey, group, name, taken) for name in ("emergency_test", "installation"))
        emergency = _emergency(conversion)
        positions = set(emergency.get("positions") or ()) if emergency.get("duty", "none") != "none" else set()
        for position in sorted(positions | set(tests)):
            about = _about(survey, group, conversion, emergency, position)
            if not tests[position]:
                said = (str(each.get("outcome")) for _, each in done[position])
                converted = next((each for each in said if each in ENDS_VISITS), None) == "done"
                yield _line(about, NO_TEST if converted else NOT_CONVERTED, {}, None, newest=True)
            for place, (record, test) in enumerate(tests[position]):
                state = test_state(test, emergency.get("wanted_min"))
                yield _line(about, state, test, said_by.get(record), newest=place == 0)


def _emergency(conversion: ConversionView | None) -> Facet:
    return cast("Facet", (facet(conversion, "identity").get("frozen") or {}).get("emergency") or {})


def _place(survey: Survey, group: GroupView) -> tuple[int, int, str, str, str]:
    room = survey.room_of(group)
    return (
        floor_order(survey.floor_of(group)),
        walk_order(room),
        name_of_room(room),
        mark_of(survey.kind_of(group)),
        group["id"],
    )


def _by_position(
    survey: Survey, group: GroupView, type_name: str, taken: Mapping[str, int]
) -> dict[int, list[tuple[str, Facet]]]:
    """Records of a type by the fixture that they are about, the newest first: in the order in which the server took them."""
    found: dict[int, list[tuple[str, Facet]]] = defaultdict(list)
    records = [(each["id"], facet(each, "identity")) for each in survey.children(group) if each["type"] == type_name]
    for record, identity in sorted(records, key=lambda each: taken[each[0]], reverse=True):
        if identity:
            found[identity["position"]].append((record, identity))
    return found


def _about(
    survey: Survey, group: GroupView, conversion: ConversionView | None, emergency: Facet, position: int
) -> dict[str, object]:
    return {
        "group": group["id"],
        "floor_name": str(facet(survey.floor_of(group), "identity").get("name", "")),
        "room_name": name_of_room(survey.room_of(group)),
        "mark": mark_of(survey.kind_of(group)),
        "position": position,
        "duty": emergency.get("duty") or facet(group, "duty").get("emergency", "not-seen"),
        "pack": (emergency.get("pack") or {}).get("pack"),
        "second_source": emergency.get("second_source") if emergency.get("duty") != "battery-in-fixture" else None,
        "release": facet(conversion, "identity").get("number"),
        "wanted_min": emergency.get("wanted_min"),
    }


def _line(about: Mapping[str, object], state: str, test: Facet, by: str | None, newest: bool) -> Line:
    said = {name: test.get(name) for name in ("indicator", "minutes", "due_on", "noted_at", "note")}
    wanted = test.get("wanted_min", about["wanted_min"])
    line: Line = {**about, **said, "wanted_min": wanted, "state": state, "by": by, "newest": newest}  # type: ignore[typeddict-item]
    return line


def testers(session: Session, site_id: str) -> dict[str, str]:
    """Record id -> name of the person who saved the test."""
    rows = session.execute(select(Row.id, Row.facets).where(Row.site == site_id, Row.type == "emergency_test")).all()
    by = {row.id: str(json_text.loads(row.facets).get("identity", {}).get("by")) for row in rows}
    people = session.execute(select(Person.id, Person.name).where(Person.id.in_(set(by.values())))).all()
    names: dict[str, str] = {person.id: person.name for person in people}
    return {record: names[person] for record, person in by.items() if person in names}
