"""Which labels are printed, what is told before they are, and that they came out of the printer."""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypedDict, cast

from reportlab.lib.units import mm
from sqlalchemy.orm import Session

from spanwalk.rules.arrangements.card.card_types import CrewCard
from spanwalk.rules.codes import spaced
from spanwalk.rules.installing.noted import in_force
from spanwalk.rules.record_types import ConversionView, GroupView
from spanwalk.rules.survey import (
    Survey,
    facet,
    mark_of,
    name_of_room,
    positions_of,
)
from spanwalk.services.clock import now
from spanwalk.services.labels.geometry import Sheet
from spanwalk.services.labels.labels import (
    AROUND,
    Binding,
    LabelInShort,
    check_floor,
    fixtures_of_labels,
    groups_in_walk_order,
    labels_in_short,
    push_in_parts,
)
from spanwalk.services.labels.layout import Label, Laid, lay_out, look_of, text_width
from spanwalk.services.labels.notice import Notice, sentences
from spanwalk.services.labels.outdated import Why, outdated
from spanwalk.services.labels.symbols import Matrix, symbol_of, symbol_text
from spanwalk.services.labels.typesetting import unprintable
from spanwalk.services.refusals import NotThere
from spanwalk.services.releases.releasing import bars_of, driver_of
from spanwalk.services.sync.pushing import lock_site
from spanwalk.services.sync.server_operations import ServerOperation
from spanwalk.services.sync.state import records_in_part, site_records

NEW, ALL, AGAIN, OUTDATED, BLANK = "new", "all", "again", "outdated", "blank"
WHAT = (NEW, ALL, AGAIN, OUTDATED, BLANK)
"""New: not printed so far. Again: in the place of one that was voided, printed or not. Outdated: says what is not so any more. Blank: on no fixture yet, not printed so far."""
EXAMPLES_MOST = 5
SAME_DIGITS = 6
"""Of millimetres, in which two boxes for text are the same."""
ON_LABELS = (
    ("identity", "number"),
    ("identity", "release"),
    ("identity", "summary"),
    ("identity", "frozen", "rows"),
    ("identity", "frozen", "driver"),
    ("withdrawn",),
)
"""What of a conversion stands on the labels of its group."""


@dataclass(frozen=True)
class Wanted:
    """Which labels: of what sort, and of which floor, room or fixture; a fixture is a group and a position."""

    what: str = ALL
    floor: str | None = None
    room: str | None = None
    group: str | None = None
    position: int | None = None


class CannotPrint(TypedDict):
    """Signs that cannot be printed, and one label's room or kind in which they stand."""

    where: str
    signs: str


class OutdatedTold(TypedDict):
    """Why labels say what is not so any more, what they said and what is so, and how many they are."""

    why: Why
    said: str
    now: str
    labels: int


class PrintTold(TypedDict):
    """What is told before labels are printed: see `told_before`."""

    labels: int
    pages: int
    address: str | None
    first_code: str | None
    first_text: str | None
    symbol_mm: float | None
    module_mm: float | None
    shortened: int
    cannot_print: list[CannotPrint]
    cannot_print_in: int
    notice_says: list[str]


def labels_to_print(session: Session, site_id: str, wanted: Wanted) -> list[Label]:
    """The labels that are wanted, in the order in which one walks; of none, an empty list.

    Raises
    ------
    NotThere
        The site has no such floor, room or group.
    """
    survey, labels = _survey(session, site_id, wanted), labels_in_short(session, site_id)
    late = outdated(session, site_id, survey, labels) if wanted.what == OUTDATED else {}
    return _chosen(survey, labels, wanted, late)


def labels_and_outdated(session: Session, site_id: str, wanted: Wanted) -> tuple[list[Label], list[OutdatedTold]]:
    """The same, and which labels there, of whatever sort, say what is not so any more; those with the same reason together."""
    survey, labels = _survey(session, site_id, wanted), labels_in_short(session, site_id)
    late = outdated(session, site_id, survey, labels)
    counted = Counter(
        (late[each.record]["why"], late[each.record]["said"], late[each.record]["now"])
        for each in _bound(survey, labels, replace(wanted, what=OUTDATED), late)
    )
    told: list[OutdatedTold] = [
        {"why": why, "said": said, "now": now, "labels": labels} for (why, said, now), labels in counted.items()
    ]
    return _chosen(survey, labels, wanted, late), told


def _chosen(survey: Survey, labels: Sequence[LabelInShort], wanted: Wanted, late: Container[str]) -> list[Label]:
    return _blank(labels) if wanted.what == BLANK else list(_bound(survey, labels, wanted, late))


def _survey(session: Session, site_id: str, wanted: Wanted) -> Survey:
    """What labels are printed from: of conversions only what stands on them, of releases when they were made and withdrawn."""
    conversions = records_in_part(session, site_id, "conversion", ON_LABELS)
    releases = records_in_part(session, site_id, "release", (("withdrawn",), ("identity", "made_at")))
    survey = Survey([*site_records(session, site_id, types=AROUND), *conversions, *releases])
    check_floor(survey, wanted.floor)
    _check_there(survey, wanted)
    return survey


def _check_there(survey: Survey, wanted: Wanted) -> None:
    for type_, id in (("room", wanted.room), ("group", wanted.group)):
        if id is not None and survey.by_id.get(id, {"type": ""})["type"] != type_:
            raise NotThere(f"{type_}-unknown", field=type_, value=id)


def _blank(labels: Sequence[LabelInShort]) -> list[Label]:
    """Labels on no fixture that were not printed so far, by code."""
    blank = [each for each in reversed(labels) if each.at is None and not (each.is_void or each.is_printed)]
    return [Label(each.code, record=each.record) for each in blank]


def _bound(survey: Survey, labels: Sequence[LabelInShort], wanted: Wanted, late: Container[str]) -> Iterator[Label]:
    """`late`: records of labels that say what is not so any more."""
    live = fixtures_of_labels(labels)
    voided = fixtures_of_labels(labels, voided=True) if wanted.what == AGAIN else {}
    conversions = in_force(survey)
    for group in groups_in_walk_order(survey, wanted.floor):
        if wanted.group not in (None, group["id"]) or wanted.room not in (None, group["parent"]):
            continue
        of_group = _of_group(survey, group, conversions.get(group["id"]))
        for position in positions_of(group):
            label = live.get((group["id"], position))
            if label is not None and _is_wanted(label, (group["id"], position), wanted, voided, late):
                yield replace(of_group, code=label.code, position=position, record=label.record)


def _is_wanted(
    label: LabelInShort, at: Binding, wanted: Wanted, voided: Container[Binding], late: Container[str]
) -> bool:
    if wanted.position not in (None, at[1]):
        return False
    if wanted.what in (NEW, OUTDATED):
        return label.record in late if wanted.what == OUTDATED else not label.is_printed
    return wanted.what == ALL or at in voided


def _of_group(survey: Survey, group: GroupView, conversion: ConversionView | None) -> Label:
    """What the labels of a group have in common."""
    floor = survey.floor_of(group)
    plain = Label(
        code="",
        room=name_of_room(survey.room_of(group)),
        floor=str(facet(floor, "identity").get("name", "")),
        kind=mark_of(survey.kind_of(group)),
        count=int(facet(group, "count").get("count", 0)),
    )
    return plain if conversion is None else _released(plain, conversion)


def _released(label: Label, conversion: ConversionView) -> Label:
    """The label with the release's number and what to fit; what an older release did not freeze is in its one line."""
    identity = facet(conversion, "identity")
    card = cast("CrewCard", identity.get("frozen") or {})
    label = replace(label, release=int(identity.get("number", 0)))
    if "rows" not in card:
        return replace(label, bars=str(identity.get("summary", "")))
    driver = card.get("driver")
    if driver is None:
        return replace(label, bars=bars_of(card))
    return replace(label, bars=bars_of(card), driver=driver_of(driver), setting_ma=driver["setting_ma"])


def told_before(labels: Sequence[Label], sheet: Sheet, first: int, public_url: str | None, notice: Notice) -> PrintTold:
    """What is told before labels are printed.

    Parameters
    ----------
    labels : sequence of Label
        In the order of print; there may be none.
    sheet : Sheet
        On what they are printed.
    first : int
        First free place of the first page, from 0.
    public_url : str or None
        The address that they bear.
    notice : Notice
        What a notice would say besides, and in which language all words are.

    Returns
    -------
    dict
        How many labels on how many pages; the first one's code and what its symbol says, to the letter, with the sides
        of its dark square and of a module [mm]; how many have something shortened; where signs stand that cannot be printed;
        what a notice would say.
    """
    text = symbol_text(public_url, labels[0].code) if labels else None
    laid = _first(labels[0], symbol_of(text), sheet, first, notice.language) if text else None
    lacking = cannot_print(labels, notice)
    return {
        "labels": len(labels),
        "pages": -(-(first + len(labels)) // sheet.places) if labels else 0,
        "address": public_url,
        "first_code": spaced(labels[0].code) if labels else None,
        "first_text": text,
        "symbol_mm": round(laid.dark / mm, 1) if laid else None,
        "module_mm": round(laid.dark / len(laid.matrix) / mm, 2) if laid else None,
        "shortened": _shortened(labels, laid.matrix, sheet, first, notice.language) if laid else 0,
        "cannot_print": lacking[:EXAMPLES_MOST],
        "cannot_print_in": len(lacking),
        "notice_says": sentences(notice),
    }


def _first(label: Label, matrix: Matrix, sheet: Sheet, first: int, language: str) -> Laid:
    """The first label laid out, with its symbol: those of one site are equally large."""
    place = first % sheet.places
    return lay_out(label, matrix, sheet.label_box(place), sheet.box(place), language)


def _shortened(labels: Sequence[Label], matrix: Matrix, sheet: Sheet, first: int, language: str) -> int:
    """How many labels have something shortened: each look is laid out once in each size of box, as it fits there or does not."""
    sizes = [_text_size(matrix, sheet, place) for place in range(sheet.places)]
    known: dict[object, bool] = {}
    found = 0
    for number, label in enumerate(labels, start=first):
        place = number % sheet.places
        look = (sizes[place], look_of(label, sizes[place][0]))
        if look not in known:
            laid = lay_out(look[1].label, matrix, sheet.label_box(place), sheet.box(place), language)
            known[look] = laid.shortened
        found += known[look]
    return found


def _text_size(matrix: Matrix, sheet: Sheet, place: int) -> tuple[float, float]:
    """Width and height for the text at a place, to the nanometre: places differ by less where they are meant to be alike."""
    box = sheet.box(place)
    width = text_width(matrix, sheet.label_box(place), box)
    return round(width, SAME_DIGITS), round(box.height, SAME_DIGITS)


def cannot_print(labels: Sequence[Label], notice: Notice) -> list[CannotPrint]:
    """Rooms, kinds, parts and words of the notice that have signs that cannot be printed, each once, with those signs."""
    texts = dict.fromkeys(text for label in labels for text in (label.room, label.kind, label.bars, label.driver))
    texts |= dict.fromkeys((notice.firm, notice.call, notice.words))
    return [{"where": text, "signs": signs} for text in texts if (signs := unprintable([text]))]


def notice_of(session: Session, site_id: str, date: str, language: str, region: str = "") -> Notice:
    """What the site has printed on its notices, with a date, in a language, with the name of a region's code."""
    said = facet(Survey(site_records(session, site_id, types=("site",))).site(), "notice")
    return Notice(said.get("firm", ""), said.get("call", ""), date, said.get("words", ""), language, region)


def mark_printed(session: Session, site_id: str, wanted: Wanted, by: str) -> int:
    """Note of the wanted labels that they came out of the printer.

    Parameters
    ----------
    session : Session
        A writing transaction.
    site_id : str
        The site.
    wanted : Wanted
        Which labels: the same as were printed.
    by : str
        Who says so.
    """
    lock_site(session, site_id)
    at = now()
    operations: list[ServerOperation] = [
        {"record": label.record, "type": "label", "facet": "printed", "to": {"at": at}}
        for label in labels_to_print(session, site_id, wanted)
    ]
    push_in_parts(session, site_id, operations, by)
    return len(operations)
