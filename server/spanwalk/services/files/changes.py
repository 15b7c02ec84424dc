"""What a file changes on a site: its rows against the records that stand there, as operations; nothing is written here."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import TypedDict, TypeVar, cast

from spanwalk import records
from spanwalk.records import IDENTITY, PARENT
from spanwalk.rules.record_types import FloorView, GroupView, RoomView
from spanwalk.rules.record_view import Facet, Record
from spanwalk.rules.survey import Survey, facet
from spanwalk.services.files.kinds import CURRENCY, ITEM_FACETS, columns_of, normal
from spanwalk.services.files.table import Problem, Row, Sheet, read_rows

Key = tuple[str, ...]
"""By what a record is known without its id: its type, then what tells it from others of that type."""
Values = dict[tuple[str, str], object]
"""What is said of a record, by facet and field."""
Standing = TypeVar("Standing", bound=Record)
TYPES = {
    "rooms": ("site", "floor", "room"),
    "catalogue": ("site", "catalogue_item"),
    "prices": ("site", "money", "catalogue_item", "price"),
    "fixtures": ("site", "floor", "room", "kind", "group"),
}
"""Records that each kind of file is laid against."""
EVERY_ROWS = 500
"""So many rows lie between two words about progress."""


class Change(TypedDict):
    """One facet that a file changes: what stands there now (null: nothing) and what will."""

    record: str
    type: str
    facet: str
    before: dict[str, object] | None
    to: dict[str, object]
    row: int


class RowWrong(ValueError):
    """A row that cannot be brought in: the column it is about ('' where none), code and facts."""

    def __init__(self, column: str, code: str, **facts: object) -> None:
        super().__init__(code)
        self.column, self.code, self.facts = column, code, facts


@dataclass
class Planned:
    """A record of the file: as it stands on the site, and as the file has it."""

    id: str
    type: str
    parent: str | None
    before: Mapping[str, Facet]
    new: bool
    row: int
    values: Values = field(default_factory=dict)
    said_at: dict[tuple[str, str], int] = field(default_factory=dict)

    def after(self, name: str) -> dict[str, object]:
        """A facet as the file has it: what it says laid over what stands there."""
        own = {field: value for (facet, field), value in self.values.items() if facet == name}
        return {**self.before.get(name, {}), **own}


# 'from' is no name that a class can have
PartTold = TypedDict("PartTold", {"title": str, "type": str, "facet": str, "field": str, "from": object, "to": object})
"""One field that a row changes, as the page has it."""


class LineTold(TypedDict):
    """A row that makes or changes something, as the page has it."""

    row: int
    state: str
    what: str
    fields: list[PartTold]


@dataclass
class Outcome:
    """What a file would do: changes in order, problems, and each row's line."""

    changes: list[Change] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    lines: list[LineTold] = field(default_factory=list)
    counts: dict[str, int] = field(default_factory=lambda: {"new": 0, "changed": 0, "left": 0})


class Laying:
    """Rows being laid against a site's records.

    Parameters
    ----------
    site_id, job : str
        The site, and what ids of new records are made from, so that looking twice makes the same.
    survey : Survey
        What stands on the site.
    """

    def __init__(self, site_id: str, job: str, survey: Survey) -> None:
        self.site_id, self.job, self.survey = site_id, uuid.UUID(job), survey
        self.planned: dict[Key, Planned] = {}
        self.standing: dict[Key, list[Record]] = {}
        self._index()

    def _index(self) -> None:
        of_type = self.survey.of_type
        self._stand(of_type("floor"), _floor_key)
        self._stand(of_type("room"), _room_key)
        self._stand(
            of_type("catalogue_item"),
            lambda each: ("catalogue_item", normal(str(facet(each, "identity").get("code", "")))),
        )
        self._stand(of_type("price"), lambda each: ("price", str(each["parent"])))
        self._stand(of_type("kind"), lambda each: ("kind", normal(str(facet(each, "identity").get("mark", "")))))
        self._stand(of_type("group"), _group_key)

    def _stand(self, those: Iterable[Standing], key: Callable[[Standing], Key]) -> None:
        for each in those:
            self.standing.setdefault(key(each), []).append(each)

    def find(self, key: Key) -> Planned | None:
        """A record by its natural key: of the file, or of the site.

        Raises
        ------
        RowWrong
            The site has two of that key.
        """
        if key in self.planned:
            return self.planned[key]
        found = self.standing.get(key, [])
        if len(found) > 1:
            title = records.spec().types[key[0]].title
            raise RowWrong("", "files.two-of-a-key", title=title, value=_key_text(key), number=len(found))
        if not found:
            return None
        one = found[0]
        facets = cast("Mapping[str, Facet]", one["facets"])
        return Planned(one["id"], one["type"], one["parent"], facets, False, -1)

    def next_floor_order(self) -> int | None:
        """Place of a new floor: floors stand as the file has them. None where one of the site has no place of its own."""
        new = [each.values for each in self.planned.values() if each.type == "floor" and each.new]
        places = [facet(each, IDENTITY).get("order") for each in self.survey.of_type("floor")]
        if None in places:
            return None
        return max([0, *(int(str(each)) for each in places), *(int(str(each.get(ORDER, 0))) for each in new)]) + 1

    def room_key(self, floor: str, row: Row, called: str) -> Key:
        """A room's key: its number, and where the floor has several of that number, its name too."""
        key = ("room", floor, normal(called))
        name = normal(str(row.values.get("room.identity.name", "")))
        if len(self.standing.get(key, [])) < 2 or not name:
            return key
        longer = (*key, name)
        if longer not in self.standing:
            named = [each for each in self.standing[key] if normal(str(facet(each, IDENTITY).get("name", ""))) == name]
            self.standing[longer] = named or self.standing[key]
        return longer

    def put(self, key: Key, parent: str, row: Row, values: Values) -> Planned:
        """Say something of a record; it is new where the site has none of its key.

        Raises
        ------
        RowWrong
            An earlier row of the file said otherwise.
        """
        one = self.find(key)
        if one is None:
            made = str(uuid.uuid5(self.job, "\n".join(key)))
            one = Planned(made, key[0], parent, {}, True, row.number)
        self.planned[key] = one
        for path, value in values.items():
            if path in KEY_FIELDS and (path in one.values or not one.new):
                continue
            if path in one.values and one.values[path] != value:
                raise RowWrong(".".join((one.type, *path)), "files.said-otherwise", row=one.said_at[path] + 1)
            one.values[path] = value
            one.said_at.setdefault(path, row.number)
        return one


def _key_text(key: Key) -> str:
    return " ".join(part for part in key[1:] if len(part) < 36)


def _floor_key(floor: FloorView) -> Key:
    return ("floor", normal(str(facet(floor, "identity").get("name", ""))))


def _room_key(room: RoomView) -> Key:
    said = facet(room, "identity")
    return ("room", str(room["parent"]), normal(str(said.get("number") or said.get("name") or "")))


def _group_key(group: GroupView) -> Key:
    said = facet(group, "identity")
    return ("group", str(group["parent"]), str(said.get("kind", "")), normal(str(said.get("note", ""))))


ORDER = (IDENTITY, "order")
KEY_FIELDS = {(IDENTITY, "number"), (IDENTITY, "code"), (IDENTITY, "mark")}
"""Fields of natural keys: a record that is there keeps its own way of writing them."""


def lay(sheet: Sheet, site_id: str, job: str, survey: Survey, on_progress: Callable[[int, int], None]) -> Outcome:
    """What a sheet changes on a site.

    Parameters
    ----------
    sheet : Sheet
        The sheet, understood.
    site_id, job : str
        The site; the import's id.
    survey : Survey
        Records of the types that this kind of file is laid against.
    on_progress : callable
        Told rows read and rows in all now and then; may raise to stop.
    """
    laying, outcome = Laying(site_id, job, survey), Outcome()
    touched: list[tuple[Row, list[Planned]]] = []
    mains: dict[str, int] = {}
    of = len(sheet.rows) - sheet.head.first
    for number, row in enumerate(read_rows(sheet)):
        if number % EVERY_ROWS == 0:
            on_progress(number, of)
        if isinstance(row, list):
            outcome.problems += row
            continue
        try:
            planned = LAY[sheet.kind](laying, row)
            _once(planned[-1], row, mains)
            touched.append((row, planned))
        except RowWrong as wrong:
            outcome.problems.append(sheet.at(row.number, row.headed.get(wrong.column), wrong.code, wrong.facts))
    outcome.changes = changes_of(laying)
    _tell(outcome, sheet, touched)
    on_progress(of, of)
    return outcome


def _once(main: Planned, row: Row, mains: dict[str, int]) -> None:
    """A second row about one thing may be a slip or another thing: only its writer knows."""
    if main.id in mains:
        raise RowWrong("", "files.row-twice", title=records.spec().types[main.type].title, row=mains[main.id] + 1)
    mains[main.id] = row.number


def changes_of(laying: Laying) -> list[Change]:
    """The facets that differ, in the order of the records and each identity first."""
    found: list[Change] = []
    for one in laying.planned.values():
        names = sorted({facet for facet, _ in one.values}, key=lambda name: name != IDENTITY)
        if one.new and IDENTITY not in names:
            names.insert(0, IDENTITY)
        for name in names:
            after = one.after(name)
            if name == IDENTITY:
                after[PARENT] = one.parent
            before = dict(one.before[name]) if name in one.before else None
            if after != before:
                row = next((at for (facet, _), at in one.said_at.items() if facet == name), one.row)
                found.append(
                    {"record": one.id, "type": one.type, "facet": name, "before": before, "to": after, "row": row}
                )
    return found


def _tell(outcome: Outcome, sheet: Sheet, touched: list[tuple[Row, list[Planned]]]) -> None:
    """Each row's line: new, changed or left, and what changes in it from what to what."""
    by_record: dict[str, list[Change]] = {}
    for change in outcome.changes:
        by_record.setdefault(change["record"], []).append(change)
    titles = {
        (field.name, facet): each.title
        for each in columns_of(sheet.kind).values()
        for facet, field in each.fields.items()
    }
    for row, planned in touched:
        main = planned[-1]
        own = [each for one in planned for each in by_record.get(one.id, []) if each["row"] == row.number]
        state = "new" if main.new and main.row == row.number else "changed" if own else "left"
        outcome.counts[state] += 1
        if state != "left":
            fields = [] if state == "new" else [part for each in own for part in _parts(each, titles)]
            outcome.lines.append({"row": row.number + 1, "state": state, "what": _what(sheet, row), "fields": fields})


def _parts(change: Change, titles: Mapping[tuple[str, str], str]) -> list[PartTold]:
    before = change["before"] or {}
    return [
        {
            "title": titles.get((name, change["facet"]), name),
            "type": change["type"],
            "facet": change["facet"],
            "field": name,
            "from": before.get(name),
            "to": value,
        }
        for name, value in change["to"].items()
        if name != PARENT and before.get(name) != value
    ]


def _what(sheet: Sheet, row: Row) -> str:
    """A row as it is spoken of: what stands in the columns by which it is known, or in its first ones."""
    names = [
        each.name for each in columns_of(sheet.kind).values() if each.must or each.name.endswith("identity.number")
    ]
    parts = [str(row.values[name]) for name in names if name in row.values]
    return " ".join(parts[:3]) or str(row.number + 1)


# -- each kind of file


def _split(row: Row, type_name: str, *facets: str) -> Values:
    """What a row says of records of one type, by facet and field."""
    found: Values = {}
    for name, value in row.values.items():
        kind, facet_name, field_name = (*name.split("."), "", "")[:3]
        if kind == type_name and (not facets or facet_name in facets):
            found[facet_name, field_name] = value
    return found


def _needed(row: Row, *names: str) -> list[str]:
    for name in names:
        if row.values.get(name) in (None, ""):
            raise RowWrong(name, "files.cell-lacking", title=row.headed[name].column.title)  # type: ignore[union-attr]
    return [str(row.values[name]) for name in names]


def _floor(laying: Laying, row: Row) -> Planned:
    only = laying.survey.of_type("floor")
    if "floor.identity.name" not in row.headed and len(only) == 1:
        return laying.put(_floor_key(only[0]), laying.site_id, row, {})
    (name,) = _needed(row, "floor.identity.name")
    key, values = ("floor", normal(name)), _split(row, "floor")
    if laying.find(key) is not None:
        values.pop((IDENTITY, "name"))
    elif (order := laying.next_floor_order()) is not None:
        values[ORDER] = order
    return laying.put(key, laying.site_id, row, values)


def _lay_room(laying: Laying, row: Row) -> list[Planned]:
    floor = _floor(laying, row)
    called = row.values.get("room.identity.number") or row.values.get("room.identity.name")
    if not called:
        raise RowWrong("room.identity.number", "files.room-without-number")
    room = laying.put(laying.room_key(floor.id, row, str(called)), floor.id, row, _split(row, "room"))
    return [floor, room]


def _lay_item(laying: Laying, row: Row) -> list[Planned]:
    (code,) = _needed(row, "catalogue_item.identity.code")
    key = ("catalogue_item", normal(code))
    there = laying.find(key)
    said = cast("str | None", row.values.get("catalogue_item.identity.item"))
    was = cast("str | None", there.after(IDENTITY).get("item")) if there else None
    item = said or was
    if item is None:
        raise RowWrong("catalogue_item.identity.item", "files.which-item", value=code)
    if was is not None and said not in (None, was):
        raise RowWrong("catalogue_item.identity.item", "files.other-item", value=code, right=was)
    values: Values = {}
    for (facet_name, name), value in _split(row, "catalogue_item").items():
        if facet_name == "*":
            own = item.replace("-", "_")
            if name not in records.spec().types["catalogue_item"].facets[own].fields:
                raise RowWrong(f"catalogue_item.*.{name}", "files.not-of-item", item=item, value=code)
            values[own, name] = value
        else:
            values[facet_name, name] = value
    if there is None:
        values.setdefault((IDENTITY, "offered"), True)
    return [laying.put(key, laying.site_id, row, values)]


def _lay_price(laying: Laying, row: Row) -> list[Planned]:
    (code,) = _needed(row, "catalogue_item.identity.code")
    _same_currency(laying, row)
    item = laying.find(("catalogue_item", normal(code)))
    if item is None:
        raise RowWrong("catalogue_item.identity.code", "files.no-such-item", value=code)
    return [laying.put(("price", item.id), item.id, row, _split(row, "price"))]


def _same_currency(laying: Laying, row: Row) -> None:
    """Prices of another currency than the site's are never taken for its own."""
    said = row.values.get(CURRENCY)
    if said is None:
        return
    money = [facet(each, IDENTITY).get("currency") for each in laying.survey.of_type("money")]
    ours = str(money[0]) if money else ""
    if str(said).strip().upper() != ours.upper():
        code = "files.other-currency" if ours else "files.no-currency"
        raise RowWrong(CURRENCY, code, value=said, right=ours)


def _lay_fixtures(laying: Laying, row: Row) -> list[Planned]:
    floor_name, number, mark = _needed(row, "floor.identity.name", "room.identity.number", "kind.identity.mark")
    floor = laying.find(("floor", normal(floor_name)))
    room = laying.find(laying.room_key(floor.id, row, number)) if floor else None
    if room is None:
        raise RowWrong("room.identity.number", "files.no-such-room", value=number, floor=floor_name)
    kind = laying.put(_kind_key(laying, mark), laying.site_id, row, _kind_values(laying, row, mark))
    note = str(row.values.get("group.identity.note", ""))
    values = _split(row, "group") | {(IDENTITY, "kind"): kind.id}
    group = laying.put(("group", room.id, kind.id, normal(note)), room.id, row, values)
    return [kind, group]


def _kind_key(laying: Laying, mark: str) -> Key:
    """A kind by its mark, else by its title."""
    if laying.find(("kind", normal(mark))) is not None:
        return ("kind", normal(mark))
    titled = [
        each
        for each in laying.survey.of_type("kind")
        if normal(str(facet(each, IDENTITY).get("title", ""))) == normal(mark)
    ]
    return ("kind", normal(str(facet(titled[0], IDENTITY)["mark"])) if len(titled) == 1 else normal(mark))


def _kind_values(laying: Laying, row: Row, mark: str) -> Values:
    values = _split(row, "kind")
    values.pop((IDENTITY, "mark"), None)
    there = laying.find(_kind_key(laying, mark))
    if there is None:
        values[IDENTITY, "mark"] = mark
    elif IDENTITY in there.before or (IDENTITY, "mark") in there.values:
        values[IDENTITY, "mark"] = there.after(IDENTITY)["mark"]
    return values


LAY: dict[str, Callable[[Laying, Row], list[Planned]]] = {
    "rooms": _lay_room,
    "catalogue": _lay_item,
    "prices": _lay_price,
    "fixtures": _lay_fixtures,
}
assert set(ITEM_FACETS) <= set(records.spec().types["catalogue_item"].facets)
