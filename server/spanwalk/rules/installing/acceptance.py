"""What a customer signs, line by line, in one form only; and what has changed since. Twin: pwa/rules/installing/acceptance.js.

The content of a signature is text: lines in UTF-8, each with a line feed (LF) behind it; of these bytes the SHA-256 is
made. The fields of a line have one tab between them; a tab, line feed or carriage return in a text becomes a blank.

    spanwalk-acceptance    1
    covers     site | floor | room    id     name
    room       id    floor's name     room's name
    fixtures   group's id    mark     positions    state    items as fitted
    light      room's id     point    before | after        lux
    point      room's id     sort     group's id   positions    open | made-good | left-as-agreed    name of the point

Rooms come in the order of the walk, groups by mark and id, fixtures by position: those that follow one another and are
alike share a line. Readings come by point, before first. Positions are written as `1–3, 7`, a number with at most four
digits behind the point and no closing zeros, an item as `2 × CODE`, with `, 700 mA` where it has a setting, several
with `; ` between them. Anybody can redo it from the records, with `sha256sum` from the text that is handed out.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypedDict, cast

from spanwalk.rules.installing.as_fitted import FittedItem, fitted_items, released_at
from spanwalk.rules.installing.last_word import place_of
from spanwalk.rules.installing.noted import DONE, Noted, in_force
from spanwalk.rules.installing.punch_list import (
    HandedOver,
    Point,
    handed_over,
    is_open,
    punch_list,
    ranges,
    rooms_in_order,
    state_of,
)
from spanwalk.rules.record_types import AcceptanceView, RoomView
from spanwalk.rules.record_view import Record
from spanwalk.rules.survey import Survey, facet, mark_of, name_of_room

HEAD = "spanwalk-acceptance\t1"
ROOM, FIXTURES, LIGHT, POINT = "room", "fixtures", "light", "point"
OPEN = "open"
DIGITS = 4


class Statement(TypedDict):
    """What is shown and signed: its lines, and what they count."""

    lines: list[str]
    fixtures: int
    done: int
    open: int


@dataclass(frozen=True)
class Since:
    """What is no more as it was signed: lines that were signed and are gone, and lines that have come."""

    was: tuple[str, ...]
    now: tuple[str, ...]

    @property
    def holds(self) -> bool:
        """Whether all is as it was signed."""
        return not (self.was or self.now)


def statement(survey: Survey, subject: str, listed: Sequence[Point] | None = None) -> Statement:
    """What is signed of a site, floor or room, as it stands now.

    Parameters
    ----------
    survey : Survey
        As `punch_list` reads it.
    subject : str
        Id of the site, floor or room.
    listed : sequence of Point, optional
        The punch list of the site, for who asks for many statements of it.

    Returns
    -------
    Statement
        Only the head and what it covers where nothing of it is handed over.
    """
    conversions = in_force(survey)
    points: dict[str, list[Point]] = {}
    for point in punch_list(survey) if listed is None else listed:
        points.setdefault(point["room"], []).append(point)
    rooms = (
        of_room(survey, room, handed_over(survey, room, conversions), points.get(room["id"], []))
        for room in rooms_covered(survey, subject)
    )
    return of_rooms(survey, subject, rooms)


def rooms_covered(survey: Survey, subject: str) -> list[RoomView]:
    """Rooms of a site or floor, or the one room, in the order of the walk."""
    covered = survey.by_id.get(subject)
    return [room for room in rooms_in_order(survey) if covered is not None and _is_in(survey, room, covered)]


def of_room(
    survey: Survey, room: RoomView, here: Sequence[HandedOver], points: Sequence[Point], *, with_lines: bool = True
) -> Statement:
    """What is signed of a room; no lines where nothing of it is handed over, or where nobody asks for them.

    Parameters
    ----------
    survey : Survey
        As `punch_list` reads it.
    room : RoomView
        The room.
    here : sequence of HandedOver
        What of it is handed over.
    points : sequence of Point
        Its part of the punch list.
    with_lines : bool
        Whether lines are wanted beside what they count.
    """
    noted = [each for group in here for each in group.noted.values()]
    return {
        "lines": [*_of_room(survey, room, here, points)] if with_lines and (here or points) else [],
        "fixtures": len(noted),
        "done": sum(each.done is not None for each in noted),
        "open": sum(map(is_open, points)),
    }


def of_rooms(survey: Survey, subject: str, rooms: Iterable[Statement]) -> Statement:
    """What is signed of a site, floor or room, of what is signed of the rooms that it covers."""
    told: Statement = {
        "lines": [HEAD, _covers(subject, survey.by_id.get(subject))],
        "fixtures": 0,
        "done": 0,
        "open": 0,
    }
    for each in rooms:
        told["lines"].extend(each["lines"])
        told["fixtures"] += each["fixtures"]
        told["done"] += each["done"]
        told["open"] += each["open"]
    return told


def content_of(lines: Iterable[str]) -> str:
    """SHA-256 of lines as they are signed, 64 hexadecimal digits.

    >>> content_of(["a"])
    '87428fc522803d31065e7bce3cf03fe475096631e5e07bbd7a0fde60c4cf25c7'
    """
    return hashlib.sha256(bytes_of(lines)).hexdigest()


def bytes_of(lines: Iterable[str]) -> bytes:
    """Lines as they are signed: UTF-8, a line feed behind each."""
    return "".join(f"{line}\n" for line in lines).encode()


def lines_signed(acceptance: AcceptanceView) -> list[str]:
    """The lines that a signature was put to; a value that is no list of text has none."""
    shown = facet(acceptance, "identity").get("shown")
    return [str(each) for each in shown] if isinstance(shown, list) else []


def is_as_signed(acceptance: AcceptanceView) -> bool:
    """Whether the lines that are kept are those of which the SHA-256 was signed."""
    return content_of(lines_signed(acceptance)) == facet(acceptance, "identity").get("content")


def since(acceptance: AcceptanceView, now: Statement) -> Since:
    """What has changed since somebody signed.

    Parameters
    ----------
    acceptance : view record
        The signature.
    now : Statement
        What would be signed of the same site, floor or room now.

    Examples
    --------
    >>> signed = {"facets": {"identity": {"shown": ["a", "b"]}}}
    >>> since(signed, {"lines": ["a", "c"], "fixtures": 0, "done": 0, "open": 0})
    Since(was=('b',), now=('c',))
    """
    before = lines_signed(acceptance)
    there, here = set(before), set(now["lines"])
    gone = tuple(line for line in before if line not in here)
    return Since(gone, tuple(line for line in now["lines"] if line not in there))


def acceptances(survey: Survey) -> list[AcceptanceView]:
    """Every signature of a site, the oldest first; each stands, two of one room too."""
    return sorted(survey.of_type("acceptance"), key=lambda each: (place_of(each), each["id"]))


def _is_in(survey: Survey, room: RoomView, covered: Record) -> bool:
    return covered["type"] == "site" or covered["id"] in (room["id"], room["parent"])


def _covers(subject: str, covered: Record | None) -> str:
    if covered is None:
        return _line("covers", "", subject, "")
    name = name_of_room(cast("RoomView", covered)) if covered["type"] == ROOM else _name(covered)
    return _line("covers", covered["type"], subject, name)


def _name(record: Record) -> str:
    identity = cast("dict[str, object]", record["facets"].get("identity") or {})
    return str(identity.get("name") or "")


def _of_room(survey: Survey, room: RoomView, here: Sequence[HandedOver], points: Sequence[Point]) -> Iterator[str]:
    floor = survey.floor_of(room)
    yield _line(ROOM, room["id"], str(facet(floor, "identity").get("name") or ""), name_of_room(room))
    for each in here:
        yield from _of_group(survey, each)
    yield from _light(survey, room)
    for point in points:
        how = point["how"] or OPEN
        yield _line(POINT, room["id"], point["sort"], point["group"], ranges(point["positions"]), how, point["key"])


def _of_group(survey: Survey, about: HandedOver) -> Iterator[str]:
    mark = mark_of(survey.kind_of(about.group))
    alike: list[tuple[tuple[str, str], list[int]]] = []
    for position, noted in about.noted.items():
        told = state_of(noted), _items(noted, position, len(about.noted))
        if alike and alike[-1][0] == told:
            alike[-1][1].append(position)
        else:
            alike.append((told, [position]))
    for (state, items), positions in alike:
        yield _line(FIXTURES, about.group["id"], mark, ranges(positions), state, items)


def _items(noted: Noted, position: int, fixtures: int) -> str:
    if noted.done is None:
        return ""
    items = fitted_items(noted.done, released_at(noted.conversion, position, fixtures))
    if items is None:
        return str(facet(noted.done, "identity").get("fitted") or "")
    return "; ".join(map(_item, items))


def _item(item: FittedItem) -> str:
    text = f"{item['number']} × {item['code']}"
    return f"{text}, {item['setting_ma']} mA" if item.get("setting_ma") is not None else text


def _light(survey: Survey, room: RoomView) -> Iterator[str]:
    read = [facet(each, "identity") for each in survey.children(room, "lux_reading")]
    told = [
        (str(each.get("point") or ""), "1" if each["when"] == "after" else "0", str(each["when"]), plain(each["lux"]))
        for each in read
        if "when" in each and "lux" in each
    ]
    for point, _, when, lux in sorted(told):
        yield _line(LIGHT, room["id"], point, when, lux)


def plain(lux: float) -> str:
    """A reading [lx] in one form only.

    >>> plain(500.0), plain(12.5), plain(0.0001)
    ('500', '12.5', '0.0001')
    """
    return f"{lux:.{DIGITS}f}".rstrip("0").rstrip(".")


def _line(*fields: str) -> str:
    return "\t".join(" ".join(each.replace("\r", " ").replace("\n", " ").split("\t")) for each in fields)


__all__ = [
    "DONE",
    "Since",
    "Statement",
    "acceptances",
    "bytes_of",
    "content_of",
    "is_as_signed",
    "lines_signed",
    "plain",
    "since",
    "statement",
]
