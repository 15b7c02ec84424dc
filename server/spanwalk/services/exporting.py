"""Tables to take away: the walk, one line for each group, columns from the spec; and what is to be ordered."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping
from io import StringIO
from typing import Any

from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.rules.survey import Survey, facet, floor_order, mark_of, walk_order
from spanwalk.services.explaining import sentence
from spanwalk.services.planning import site_plan, totals
from spanwalk.services.state import site_records

Json = Any
TYPES = ("site", "floor", "room", "kind", "group", "cavity_reading", "trial_bar", "catalogue_item")
PARTS = ("floor", "room", "kind", "group")
"""What one line joins, from the building down to the group."""
TICKS_PER_MM = 320
NOT_A_COLUMN = ("ref",)
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def walk_csv(session: Session, site_id: str) -> str:
    """All rooms and groups of a site as CSV with a byte order mark, one line a group, rooms without groups too.

    Lengths are in millimetres; readings stand as they were entered, and in millimetres beside. A cell that a
    spreadsheet would take for a formula has an apostrophe in front.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    """
    survey = Survey(site_records(session, site_id, types=TYPES))
    out = StringIO()
    writer = csv.writer(out)
    writer.writerow(headings())
    for row in _rows(survey):
        writer.writerow([cell(value) for value in row])
    return "\ufeff" + out.getvalue()


def order_csv(session: Session, site_id: str) -> str:
    """What the ready groups need, as CSV with a byte order mark: one line an item, with spares and why, no prices.

    Under them one line for each figure that was set for the site and on which they rest.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    """
    told = totals(site_plan(session, site_id))
    out = StringIO()
    writer = csv.writer(out)
    writer.writerow(["Item", "Fitted", "Spare for breakage", "Spare for misfits", "Order", "Why"])
    for each in told["quantities"]:
        why = sentence(each["why"]) if each["why"] else ""
        writer.writerow([cell(each["code"]), each["fitted"], each["spare"], each["for_misfits"], each["order"], why])
    if told["without_shorter"]:
        writer.writerow(["", "", "", "", "", sentence(told["without_shorter"])])
    for each in told["site_values"]:
        writer.writerow(["", "", "", "", "", cell(sentence(each))])
    return "\ufeff" + out.getvalue()


def headings() -> list[str]:
    """The headings of the table, from the spec."""
    own = [
        f"{records.spec().types[part].title}: {heading}" for part in PARTS for _, _, heading in _columns(part)
    ]
    return [heading.replace("[1/320 mm]", "[mm]") for heading in own] + [
        "Readings as entered",
        "Readings [mm]",
        "Trial bars",
    ]


def _columns(part: str) -> list[tuple[str, str, str]]:
    fields = records.spec().types[part].facets
    return [
        (name, field, heading)
        for name, field, heading in records.export_columns(part)
        if fields[name].fields[field].type not in NOT_A_COLUMN
    ]


def _rows(survey: Survey) -> Iterator[list[Json]]:
    rooms = sorted(
        (room for room in survey.of_type("room")),
        key=lambda r: (floor_order(survey.floor_of(r)), walk_order(r), r["id"]),
    )
    for room in rooms:
        groups = sorted(survey.children(room, "group"), key=lambda g: (mark_of(survey.kind_of(g)), g["id"]))
        lines: list[Json | None] = [*groups] or [None]
        for group in lines:
            yield _row(survey, room, group)


def _row(survey: Survey, room: Json, group: Json | None) -> list[Json]:
    parts = {
        "floor": survey.floor_of(room),
        "room": room,
        "kind": survey.kind_of(group) if group else None,
        "group": group,
    }
    cells = [_value(parts[part], part, name, field) for part in PARTS for name, field, _ in _columns(part)]
    readings = [facet(each, "identity") for each in survey.readings_of(group)] if group else []
    entered = "; ".join(str(each["as_entered"]) for each in readings)
    trials = [_trial(survey, facet(each, "identity")) for each in survey.trials_of(group)] if group else []
    return [*cells, entered, "; ".join(_mm(each["length_ticks"]) for each in readings), "; ".join(trials)]


def _trial(survey: Survey, trial: Mapping[str, Json]) -> str:
    """One trial bar in words: where, which bars, whether they went in, and the gap that was seen."""
    bars = [_bars(survey, trial["bar"], trial.get("number", 1))]
    if "then_bar" in trial:
        bars.append(_bars(survey, trial["then_bar"], trial.get("then_number", 1)))
    gap = f", gap {_mm(trial['gap_ticks'])} mm" if "gap_ticks" in trial else ""
    return f"fixture {trial['position']} row {trial['row']} cavity {trial['cavity']}: {' + '.join(bars)} {trial['went_in']}{gap}"


def _bars(survey: Survey, item: str, number: int) -> str:
    code = facet(survey.by_id.get(item), "identity").get("code", "a bar no longer known")
    return f"{number} × {code}" if number > 1 else str(code)


def _value(record: Json | None, part: str, name: str, field: str) -> Json:
    value = facet(record, name).get(field) if record else None
    if value is None:
        return ""
    if records.spec().types[part].facets[name].fields[field].type == "length":
        return _mm(value)
    return value


def _mm(ticks: int) -> str:
    """Millimetres with no digit lost: a tick is 0.003125 mm."""
    return f"{ticks / TICKS_PER_MM:.6f}".rstrip("0").rstrip(".")


def cell(value: Json) -> Json:
    """A value as a spreadsheet takes it; text that it would run as a formula has an apostrophe in front."""
    if isinstance(value, list):
        return ", ".join(str(each) for each in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str) and value.startswith(FORMULA_STARTS):
        return f"'{value}"
    return value
