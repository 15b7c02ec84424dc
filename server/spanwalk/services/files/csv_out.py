"""Tables to take away: the walk, one line for each group, columns from the spec; what a release orders; and what the plan comes to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import cast

from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.rules.record_types import GroupView, RoomView
from spanwalk.rules.record_view import Facet, Record
from spanwalk.rules.survey import Survey, facet, floor_order, mark_of, walk_order
from spanwalk.services.planning.plan_answers import Quantity, QuantityBought
from spanwalk.services.planning.plans import site_plan
from spanwalk.services.planning.totals import totals
from spanwalk.services.refusals import NotThere
from spanwalk.services.releases.sums import OrderLine, Released, releases_of
from spanwalk.services.sync.state import site_records
from spanwalk.services.text.explaining import sentence
from spanwalk.services.text.neutral import Out, csv_text, neutral
from spanwalk.services.text.read_as import column_head
from spanwalk.words import choice_text, say

TYPES = ("site", "floor", "panel", "room", "kind", "group", "cavity_reading", "trial_bar", "catalogue_item")
PARTS = ("floor", "room", "kind", "group")
"""What one line joins, from the building down to the group."""
TICKS_PER_MM = 320
AS_TEXT = ("readings-as-entered", "readings-mm", "trial-bars")
"""The last columns of the walk, whose cells are texts."""


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
    return _csv([headings(), *walk_rows(survey)])


def quantities_csv(session: Session, site_id: str) -> str:
    """What the ready groups would need by today's plan, as CSV with a byte order mark; it says that it is no order.

    One line an item, with spares and why, no prices; under them one line for each figure that was set for the site and on
    which they rest.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    """
    told = totals(site_plan(session, site_id))
    lines: list[list[object]] = [
        [say("order.not-released")],
        [*heads(*QUANTITY_HEADS, *PACK_HEADS, "why")],
    ]
    lines += [
        [
            each["code"],
            each["fitted"],
            each["spare"],
            each["for_misfits"],
            each["order"],
            *_packs(each),
            _why(each),
        ]
        for each in told["quantities"]
    ]
    before = [""] * (len(QUANTITY_HEADS) + len(PACK_HEADS))
    if told["without_shorter"]:
        lines.append([*before, sentence(told["without_shorter"])])
    lines += [[*before, sentence(each)] for each in told["site_values"]]
    return _csv(lines)


QUANTITY_HEADS = ("item", "fitted", "spare-for-breakage", "spare-for-misfits", "together")
PACK_HEADS = ("in-one-pack", "packs", "left-over", "lead-days")
PACKS = ("pack_size", "packs", "left_over", "lead_days")
PRICE_HEADS = ("price-each", "sum", "currency")


def _packs(line: QuantityBought | OrderLine) -> list[object]:
    """Packs, what is left over of them, and days until they come; empty where nothing is known."""
    return ["" if (said := line.get(name)) is None else said for name in PACKS]


def _price(line: OrderLine, currency: str) -> list[object]:
    """What one costs and all together, with the currency; empty without a price."""
    price, in_all = line.get("price"), line.get("sum")
    return ["", "", ""] if price is None or in_all is None else [price, in_all, currency]


def order_csv(session: Session, site_id: str, number: int | None = None) -> str:
    """What a release orders, as CSV with a byte order mark: only what earlier releases did not order yet.

    It names the release, when it was made and its floors; one line an item, then what each floor gets.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    number : int or None
        Number of the release; None: the newest that is not withdrawn.

    Raises
    ------
    NotThere
        There is no release, or none of that number, or its order was not kept with it.
    """
    releases = releases_of(Survey(site_records(session, site_id, types=("site", "release", "release_sums"))))
    standing = [each for each in releases if number == each.number or (number is None and not each.is_withdrawn)]
    if not standing:
        raise NotThere("order-no-release" if number is None else "release-unknown", value=number)
    release = standing[-1]
    if not release.whole:
        raise NotThere("release-without-sums", number=release.number)
    return _csv([*order_head(release), *order_lines(release), [], *_by_floor(release)])


def order_head(release: Released) -> list[list[object]]:
    """Which release it is, of when, for which floors, and what to know before ordering."""
    identity, whole = facet(release.record, "identity"), release.whole
    head = [say("order.of-release", {"number": release.number}), say("order.made", {"made_at": identity["made_at"]})]
    head.append(say("order.floors", {"floors": ", ".join(whole["floors"])}))
    if identity.get("note"):
        head.append(identity["note"])
    if release.is_withdrawn:
        head.append(say("order.withdrawn", {"reason": facet(release.record, "withdrawn")["reason"]}))
    if whole["without_order"]:
        head.append(say("order.without-order", {"numbers": ", ".join(map(str, whole["without_order"]))}))
    done = sum(len(each["positions"]) for each in whole["done"])
    if done:
        head.append(say("order.done", {"fixtures": done}))
    return [[line] for line in head]


ORDER_HEADS = [
    "item",
    "fitted",
    "spare-for-breakage",
    "spare-for-misfits",
    "needed",
    "ordered-before",
    "of-that-under-a-withdrawn-release",
    "order",
    "ordered-and-not-needed",
    *PACK_HEADS,
    *PRICE_HEADS,
    "why",
]


def order_lines(release: Released) -> list[list[object]]:
    """What a release orders, a line each, below a line of heads."""
    lines: list[list[object]] = [[*heads(*ORDER_HEADS)]]
    for each in release.whole["order"]:
        numbers = [
            each["fitted"],
            each["spare"],
            each["for_misfits"],
            each["need"],
            each["before"],
            each["of_withdrawn"],
            each["order"],
            each["over"],
        ]
        lines.append(
            [each["code"], *numbers, *_packs(each), *_price(each, release.whole.get("currency", "")), _why(each)]
        )
    return lines


def _by_floor(release: Released) -> list[list[object]]:
    """What is fitted on each floor by this release, without spares."""
    fitted: dict[tuple[str, str], int] = {}
    for figures in release.figures.values():
        for part in figures["parts"]:
            at = (figures["floor_name"], part["code"])
            fitted[at] = fitted.get(at, 0) + part["count"]
    places = {floor: place for place, floor in enumerate(release.whole["floors"])}
    lines: list[list[object]] = [[*heads("floor", "item", "fitted-by-this-release")]]
    return lines + [
        [floor, code, count]
        for (floor, code), count in sorted(fitted.items(), key=lambda each: (places[each[0][0]], each[0][1]))
    ]


def _why(line: Quantity | OrderLine) -> str:
    return sentence(line["why"]) if line["why"] else ""


def _csv(lines: Iterable[Sequence[object]]) -> str:
    return csv_text([cell(value) for value in line] for line in lines)


def headings() -> list[str]:
    """The headings of the table, from the spec."""
    own = [
        column_head(part, name, field, _unit(part, name, field))
        for part in PARTS
        for name, field, _ in records.export_columns(part)
    ]
    return own + heads(*AS_TEXT)


def _unit(part: str, name: str, field: str) -> str:
    """The unit in which a column leaves: lengths in millimetres."""
    about = records.spec().types[part].facets[name].fields[field]
    return "mm" if about.of.ticks else about.unit


def heads(*codes: str) -> list[str]:
    """Headings of a table to take away, by the codes of their words."""
    return [say(f"list.{code}") for code in codes]


def walk_rows(survey: Survey) -> Iterator[list[object]]:
    """The lines of the walk: one a group, rooms without groups too, in the order of the walk."""
    rooms = sorted(
        (room for room in survey.of_type("room")),
        key=lambda r: (floor_order(survey.floor_of(r)), walk_order(r), r["id"]),
    )
    known: dict[tuple[str, str | None], list[object]] = {}
    for room in rooms:
        groups = sorted(survey.children(room, "group"), key=lambda g: (mark_of(survey.kind_of(g)), g["id"]))
        lines: list[GroupView | None] = [*groups] or [None]
        for group in lines:
            yield _row(survey, room, group, known)


def _row(
    survey: Survey, room: RoomView, group: GroupView | None, known: dict[tuple[str, str | None], list[object]]
) -> list[object]:
    """One line; what it shares with others, of its floor, room and kind, is in `known`."""
    kind = survey.kind_of(group) if group else None
    shared: tuple[tuple[str, Record | None], ...] = (("floor", survey.floor_of(room)), ("room", room), ("kind", kind))
    cells: list[object] = []
    for part, record in shared:
        key = part, record["id"] if record else None
        if key not in known:
            known[key] = _cells(record, part)
        cells += known[key]
    cells += _cells(group, "group")
    readings = [facet(each, "identity") for each in survey.readings_of(group)] if group else []
    entered = "; ".join(str(each["as_entered"]) for each in readings)
    trials = [_trial(survey, facet(each, "identity")) for each in survey.trials_of(group)] if group else []
    return [*cells, entered, "; ".join(_mm(each["length_ticks"]) for each in readings), "; ".join(trials)]


def _cells(record: Record | None, part: str) -> list[object]:
    return [_value(record, part, name, field) for name, field, _ in records.export_columns(part)]


def _trial(survey: Survey, trial: Facet) -> str:
    """One trial bar in words: where, which bars, whether they went in, and the gap that was seen."""
    bars = [_bars(survey, trial["bar"], trial.get("number", 1))]
    if "then_bar" in trial:
        bars.append(_bars(survey, trial["then_bar"], trial.get("then_number", 1)))
    told = {**trial, "bars": " + ".join(bars), "gap_mm": _mm(trial.get("gap_ticks", 0))}
    return say("list.trial-with-gap" if "gap_ticks" in trial else "list.trial", told)


def _bars(survey: Survey, item: str, number: int) -> str:
    code = facet(survey.by_id.get(item), "identity").get("code", say("list.bar-no-longer-known"))
    return f"{number} × {code}" if number > 1 else str(code)


def _value(record: Record | None, part: str, name: str, field: str) -> object:
    value = facet(record, name).get(field) if record else None
    if value is None:
        return ""
    kind = records.spec().types[part].facets[name].fields[field].of
    if kind.ticks:
        return _mm(value)
    if isinstance(value, list):
        return [choice_text(str(each)) for each in value]
    if kind.chosen:
        return choice_text(value)
    return value


def _mm(ticks: int) -> str:
    """Millimetres with no digit lost: a tick is 0.003125 mm."""
    return f"{ticks / TICKS_PER_MM:.6f}".rstrip("0").rstrip(".")


def cell(value: object) -> Out:
    """A value as a spreadsheet takes it: lists and yes or no in words; what it would run as a formula is made neutral."""
    if isinstance(value, list):
        value = ", ".join(str(each) for each in value)
    if isinstance(value, bool):
        return choice_text("yes" if value else "no")
    return neutral(cast("Out", value))
