"""The tables of a site that leave: rooms, fixtures, catalogue and prices as they can come back; walk, plan, order, waste, work."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from math import exp
from typing import cast

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk.records import TICKS_PER_MM, Field
from spanwalk.rules.arrangements.light.light_terms import READ_HERE, READ_OF_KIND
from spanwalk.rules.arrangements.light.read_light import SiteLight
from spanwalk.rules.light.light_readings import Z_95
from spanwalk.rules.record_types import CatalogueItemView, RoomView
from spanwalk.rules.record_view import Record as View
from spanwalk.rules.survey import Survey, facet, floor_order, name_of_room, walk_order
from spanwalk.services.days import day_of, zone_at
from spanwalk.services.files.csv_out import AS_TEXT, headings, order_head, order_lines, walk_rows
from spanwalk.services.files.csv_out import TYPES as WALK_TYPES
from spanwalk.services.files.kinds import CURRENCY, KINDS, Column, columns_of, unit_called
from spanwalk.services.files.sheets_apart import workbook_apart
from spanwalk.services.files.sheets_out import OutTable, as_workbook
from spanwalk.services.planning.plans import AT_ONCE_MOST, site_plan
from spanwalk.services.planning.told import short
from spanwalk.services.planning.totals import totals
from spanwalk.services.planning.under_way import groups_of
from spanwalk.services.refusals import NotThere
from spanwalk.services.releases.sums import releases_of
from spanwalk.services.sync.state import site_records
from spanwalk.services.text.neutral import Out
from spanwalk.storage import json_text
from spanwalk.storage.database import reading, values_within
from spanwalk.storage.tables import Person, Record
from spanwalk.words import FIRST, choice_text, reading_in, say, title_text

WORK = ("room", "kind", "group", "cavity_reading", "trial_bar", "photo", "installation", "emergency_test", "question")
"""Records by which a person's days are told."""


def tables_of(session: Session, site_id: str, language: str = FIRST) -> list[OutTable]:
    """All tables of a site, in the order in which the workbook has them."""
    return [table_of(session, site_id, name, language) for name in TABLES]


def table_of(session: Session, site_id: str, name: str, language: str = FIRST) -> OutTable:
    """One table of a site.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    name : str
        One of `TABLES`.
    language : str
        In which it is told; a table that can come back is always in the first one, by whose heads it is read.

    Raises
    ------
    NotThere
        There is no such table.
    """
    if name not in TABLES:
        raise NotThere("files.table-unknown", value=name, right=list(TABLES))
    with reading_in(FIRST if name in KINDS else language):
        return TABLES[name](session, site_id)


def workbook_of(site_id: str, names: Iterable[str], language: str = FIRST) -> bytes:
    """Some tables of a site as one workbook; that of a large site is written by a process of its own.

    Raises
    ------
    NotThere
        There is no such table.
    Unavailable
        Another large workbook is being written, or a large site is not planned yet.
    """
    with reading() as session:
        if groups_of(session, site_id) <= AT_ONCE_MOST:
            return as_workbook([table_of(session, site_id, name, language) for name in names])
    with workbook_apart() as book:
        with reading() as session:
            for name in names:
                book.add(table_of(session, site_id, name, language))
        return book.written()


def table_titles() -> list[tuple[str, str]]:
    """Names and titles of all tables."""
    return [(name, say(f"files.table.{name}")) for name in TABLES]


def _table(name: str, heads: list[str], rows: list[list[Out]], notes: list[str] | None = None) -> OutTable:
    return OutTable(name, say(f"files.table.{name}"), heads, rows, notes or [])


# -- as they can come back


def head_of(column: Column) -> str:
    """A column's head with the unit in which it leaves, as it is understood when it comes back."""
    named = column.unit and unit_called(column.unit)
    return f"{column.title} [{column.unit}]" if named else column.title


def value_of(value: object, field: Field) -> Out:
    """A field's value as a cell: lengths in millimetres, choices in words."""
    if value is None:
        return None
    if field.of.ticks:
        return _number(cast("int", value) / TICKS_PER_MM)
    if isinstance(value, list):
        return ", ".join(choice_text(str(each)) for each in value)
    if isinstance(value, bool) or not isinstance(value, str):
        return cast("Out", value)
    return choice_text(value) if field.of.chosen else value


def _number(value: float) -> int | float:
    return int(value) if value == int(value) else value


def _round_trip(
    kind: str, rows: Iterator[Mapping[str, View | None]], more: Mapping[str, Out] | None = None
) -> OutTable:
    """A table with the columns of a kind of file; each row has the records that it joins by type."""
    columns = list(columns_of(kind).values())
    lines = [[_cell_of(column, joined, more or {}) for column in columns] for joined in rows]
    used = [n for n, column in enumerate(columns) if column.must or any(line[n] is not None for line in lines)]
    return _table(kind, [head_of(columns[n]) for n in used], [[line[n] for n in used] for line in lines])


def _cell_of(column: Column, joined: Mapping[str, View | None], more: Mapping[str, Out]) -> Out:
    if column.field is None:
        return more.get(column.name)
    record = joined.get(column.type)
    for name, field in column.fields.items():
        value = facet(record, name).get(field.name)
        if value is not None:
            return value_of(value, field)
    return None


def _survey(session: Session, site_id: str, *types: str) -> Survey:
    return Survey(site_records(session, site_id, types=("site", *types)), inherits=False)


def _in_walk_order(survey: Survey) -> list[RoomView]:
    def place(room: RoomView) -> tuple[int, int, str, str]:
        return floor_order(survey.floor_of(room)), walk_order(room), name_of_room(room), str(room["id"])

    return sorted(survey.of_type("room"), key=place)


def rooms(session: Session, site_id: str) -> OutTable:
    """Rooms, a row each."""
    survey = _survey(session, site_id, "floor", "room")
    return _round_trip("rooms", ({"floor": survey.floor_of(each), "room": each} for each in _in_walk_order(survey)))


def fixtures(session: Session, site_id: str) -> OutTable:
    """Fixture groups, a row each, with what is known of their kind."""
    survey = _survey(session, site_id, "floor", "room", "kind", "group")
    return _round_trip(
        "fixtures",
        (
            {"floor": survey.floor_of(room), "room": _called(room), "kind": survey.kind_of(group), "group": group}
            for room in _in_walk_order(survey)
            for group in survey.children(room, "group")
        ),
    )


def _called(room: RoomView) -> View:
    """A room by its number, or where it has none by its name: as a fixture schedule calls it."""
    said = facet(room, "identity")
    return {**room, "facets": {"identity": {**said, "number": said.get("number") or said.get("name", "")}}}


def _items(survey: Survey) -> list[CatalogueItemView]:
    return sorted(survey.of_type("catalogue_item"), key=lambda each: str(facet(each, "identity").get("code", "")))


def catalogue(session: Session, site_id: str) -> OutTable:
    """Catalogue items, a row each."""
    survey = _survey(session, site_id, "catalogue_item")
    return _round_trip("catalogue", ({"catalogue_item": each} for each in _items(survey)))


def prices(session: Session, site_id: str) -> OutTable:
    """Prices, a row each, with the currency."""
    survey = _survey(session, site_id, "catalogue_item", "price", "money")
    rows: list[Mapping[str, View | None]] = [
        {"catalogue_item": item, "price": price} for item in _items(survey) for price in survey.children(item, "price")
    ]
    return _round_trip("prices", iter(rows), {CURRENCY: _currency(survey)})


def _currency(survey: Survey) -> str | None:
    money = survey.of_type("money")
    return facet(money[0], "identity").get("currency") if money else None


# -- what has been found, planned, ordered and done


def walk(session: Session, site_id: str) -> OutTable:
    """The walk: a row for each group, rooms without groups too; lengths as numbers."""
    survey = _survey(session, site_id, *WALK_TYPES)
    heads = headings()
    lengths = {n for n, head in enumerate(heads[: -len(AS_TEXT)]) if head.endswith("[mm]")}
    rows = [[_walk_cell(cell, n in lengths) for n, cell in enumerate(row)] for row in walk_rows(survey)]
    return _table("walk", heads, rows)


def _walk_cell(cell: object, is_length: bool) -> Out:
    if cell == "":
        return None
    if is_length:
        return float(cast("float | str", cell))
    return ", ".join(str(each) for each in cell) if isinstance(cell, list) else cast("Out", cell)


PLAN_TEXTS = ("floor_name", "room_name", "mark", "note", "fixtures", "state", "arrangement")
PLAN_NUMBERS = ("watts_now", "watts_then", "share_of_today_pct")
PLAN_MONEY = ("cost", "rebate", "saving_year", "npv", "lcc")
PLAN_LIGHT = ("light_today_times", "light_new_times", "light_rooms", "light_points", "light_range_pct", "light_degree")
"""What readings of light correct: factors, rooms and points they rest on, the 95 % range of new light, and how it is known."""
FROM_TABLES, NOT_BELIEVED, DAYLIGHT_NOT_SAID = "from-the-tables-alone", "a-reading-not-believed", "daylight-not-said"


def plan(session: Session, site_id: str) -> OutTable:
    """Today's plan, a row for each group; money with its currency beside it."""
    found = site_plan(session, site_id)
    currency = found.inputs.money.get("currency")
    names = (*PLAN_TEXTS, *PLAN_NUMBERS, *PLAN_LIGHT, *PLAN_MONEY, "currency", "simple_payback_years")
    rows: list[list[Out]] = []
    for each in found.plans.values():
        told = short(found.survey, each)
        priced = currency if told.get("cost") is not None else None
        cells: dict[str, object] = {**told, "currency": priced, "state": choice_text(told["state"])}
        cells |= _light_of(found.inputs.light, told["room"])
        if told["arrangement"] is not None:
            cells["arrangement"] = choice_text(told["arrangement"])
        rows.append([cast("Out", cells.get(name)) for name in names])
    return _table("plan", [say(f"files.plan.{name}") for name in names], rows, [say("order.not-released")])


def _light_of(made: SiteLight, room_id: str) -> dict[str, Out]:
    """What readings of light make of the estimates for a room, and how that is known."""
    factors = made.of(room_id)
    if room_id in made.found.odd:
        degree = NOT_BELIEVED
    elif room_id in made.doubtful:
        degree = DAYLIGHT_NOT_SAID
    elif not factors.is_corrected:
        degree = FROM_TABLES
    else:
        degree = READ_HERE if factors.points else READ_OF_KIND
    return {
        "light_today_times": round(exp(factors.today.mean), 3),
        "light_new_times": round(exp(factors.new.mean), 3),
        "light_rooms": factors.today.rooms,
        "light_points": factors.points,
        "light_range_pct": round((exp(Z_95 * factors.new.deviation) - 1) * 100, 1),
        "light_degree": choice_text(degree),
    }


def order(session: Session, site_id: str) -> OutTable:
    """What the newest release that stands orders; a sentence alone where there is none."""
    releases = [
        each for each in releases_of(_survey(session, site_id, "release", "release_sums")) if not each.is_withdrawn
    ]
    if not releases or not releases[-1].whole:
        code = "release-without-sums" if releases else "order-no-release"
        return _table("order", [], [], [say(code, {"number": releases[-1].number if releases else ""})])
    heads, *rows = cast("list[list[Out]]", order_lines(releases[-1]))
    return _table("order", cast("list[str]", heads), rows, [str(line[0]) for line in order_head(releases[-1])])


def waste(session: Session, site_id: str) -> OutTable:
    """What today's plan takes out of the building, counted."""
    found = totals(site_plan(session, site_id))["waste"]
    rows: list[list[Out]] = [[say("files.waste.lamps"), lamp, count] for lamp, count in found["lamps"].items()]
    rows += [
        [say("files.waste.ballasts"), say(f"files.waste.{name.replace(' ', '-')}"), count]
        for name, count in found["ballasts"].items()
    ]
    rows += [[say("files.waste.batteries"), choice_text(name), count] for name, count in found["batteries"].items()]
    notes = [say("files.waste.caution")]
    if found["ballasts_assumed"]:
        notes.append(say("files.waste.assumed", {"n": found["ballasts_assumed"]}))
    return _table("waste", [say(f"files.waste.{name}") for name in ("what", "which", "number")], rows, notes)


def work(session: Session, site_id: str) -> OutTable:
    """Who made how many records of which sort on which day, by the phones' clocks."""
    names = {row.id: row.name for row in session.execute(select(Person.id, Person.name))}
    counted: Counter[tuple[str, str, str]] = Counter()
    zone = zone_at(session, site_id)
    said = values_within(Record.facets, (("identity", "by"), ("identity", "at")))
    here = (Record.site == site_id, Record.type.in_(WORK), Record.removed.is_(False))
    for type_name, text in session.execute(select(Record.type, said).where(*here)):
        by, at = json_text.loads(text)
        if by is not None:
            counted[day_of(at, zone), names.get(by, by), type_name] += 1
    days = sorted({(day, name) for day, name, _ in counted})
    heads = [say("files.work.day"), say("files.work.name"), *(title_text(f"spec.{each}") for each in WORK)]
    return _table("work", heads, [[day, name, *(counted[day, name, each] for each in WORK)] for day, name in days])


TABLES: dict[str, Callable[[Session, str], OutTable]] = {
    "rooms": rooms,
    "fixtures": fixtures,
    "catalogue": catalogue,
    "prices": prices,
    "walk": walk,
    "plan": plan,
    "order": order,
    "waste": waste,
    "work": work,
}
assert set(KINDS) <= set(TABLES)
