"""The sheet of an order for its supplier: as a PDF, a workbook and CSV, with the same figures in each."""

from __future__ import annotations

from collections.abc import Iterator

from spanwalk.services.files.sheets_out import OutTable, as_csv, as_workbook
from spanwalk.services.handover.numbers import number
from spanwalk.services.handover.paper import SMALL_PT, Paper
from spanwalk.services.ordering.ordered import OrderedLine, PricedLine
from spanwalk.services.ordering.told import OrderTold
from spanwalk.services.text.neutral import Out
from spanwalk.words import choice_text, say

SHOWN_OF_CONTENT = 16
"""So many letters of a fingerprint are printed; the whole of it stands in the workbook."""
HEADS = ("number", "item", "name", "change", "pieces", "pack", "packs", "wanted", "lead", "price", "sum")
SHARES = (2.2, 1.8, 3.6, 1.3, 1.2, 1.1, 1.1, 1.7, 1.3, 1.5, 1.8)


def order_pdf(order: OrderTold) -> bytes:
    """The sheet as a PDF."""
    foot = {"number": order.number, "content": order.content[:SHOWN_OF_CONTENT]}
    paper = Paper(title_of(order), order.inches, lambda page: _say("page", {**foot, "n": page}))
    paper.heading(title_of(order))
    for sentence in about(order):
        paper.say(sentence)
    paper.heading(_say("lines"), 2)
    paper.table(_heads(order), [*_printed(order)], SHARES, (4, 5, 6, 7, 8, 9, 10))
    paper.say(_sum(order), bold=True)
    paper.heading(_say("floors"), 2)
    paper.say(_say("floors.about"), size=SMALL_PT)
    rows = [[*map(_text, row)] for row in floor_rows(order)]
    paper.table(_floor_heads(), rows, (2, 4, 1.5, 2), (2, 3))
    paper.heading(_say("to-know"), 2)
    for sentence in to_know(order):
        paper.say(sentence, bullet=True)
    return paper.finished()


def order_workbook(order: OrderTold) -> bytes:
    """The same as a workbook."""
    notes = [title_of(order), *about(order)]
    known = OutTable("to-know", _say("to-know"), [_say("to-know")], [[each] for each in to_know(order)])
    floors = OutTable("floors", _say("floors"), _floor_heads(), [*floor_rows(order)], [_say("floors.about")])
    lines = OutTable("order", _say("lines"), _heads(order), [*line_rows(order)], notes)
    return as_workbook([lines, floors, known], order.made_on)


def order_csv(order: OrderTold) -> bytes:
    """The lines as CSV, what is said of the whole above them."""
    return as_csv(OutTable("order", "", _heads(order), [*line_rows(order)], [title_of(order), *about(order)]))


def title_of(order: OrderTold) -> str:
    """What the sheet is called."""
    return _say(order.sort, {"number": order.number, "site": order.site})


def about(order: OrderTold) -> list[str]:
    """To whom, from whom, for where and when: a sentence each."""
    release: dict[str, object] = {"release": order.release, "against": order.against}
    told = [
        _say("to", {"supplier": order.supplier}) if order.supplier else _say("to-nobody"),
        _say("from", {"firm": order.firm}) if order.firm else "",
        _say("call", {"call": order.call}) if order.call else "",
        _say("made", {"day": order.made_on, "by": order.made_by or "–"}),
        _say("of-release" if order.against is None else "between-releases", release),
        _say("deliver-to", {"address": ", ".join(order.address.split("\n"))}) if order.address else _say("no-address"),
        _say("contact", {"contact": order.contact}) if order.contact else "",
        _say("access", {"access": " ".join(order.access.split())}) if order.access else "",
        _say("wanted", {"day": order.wanted_on}) if order.wanted_on else _say("wanted-not-said"),
        order.note,
        _say("cancelled", {"reason": order.cancelled}) if order.cancelled else "",
        "" if order.intact else _say("not-intact"),
    ]
    return [each for each in told if each]


def line_rows(order: OrderTold) -> Iterator[list[Out]]:
    """A row for each item, under `HEADS`; what is not known is empty."""
    for line, priced in zip(order.lines, order.prices, strict=True):
        yield [
            line.get("supplier_number", _say("not-said")),
            line["code"],
            line.get("name", ""),
            choice_text(line["change"]),
            line["pieces"],
            line["pack_size"],
            line["packs"],
            line.get("wanted_on", ""),
            line.get("lead_days", _say("not-said")),
            _or_not_said(priced["price"]),
            _or_not_said(priced["sum"]),
        ]


def _or_not_said(value: float | None) -> Out:
    return _say("not-said") if value is None else value


def _printed(order: OrderTold) -> Iterator[list[str]]:
    money = {HEADS.index("price"), HEADS.index("sum")}
    for row in line_rows(order):
        yield [
            number(each, 2) if at in money and isinstance(each, float | int) else _text(each)
            for at, each in enumerate(row)
        ]


def _text(value: Out) -> str:
    return (
        number(value)
        if isinstance(value, int) and not isinstance(value, bool)
        else str(value if value is not None else "")
    )


def floor_rows(order: OrderTold) -> Iterator[list[Out]]:
    """Where each item goes: a row for each floor, then for spares, and for what is left over of packs."""
    for line in order.lines:
        for each in line["floors"]:
            yield [line["code"], each["floor"] or "–", each["pieces"], each["wanted_on"] or ""]
        yield from _beside(line)


def _beside(line: OrderedLine) -> Iterator[list[Out]]:
    for name in ("spare", "for_misfits", "left_over"):
        pieces = {"spare": line["spare"], "for_misfits": line["for_misfits"], "left_over": line["left_over"]}[name]
        if pieces:
            yield [line["code"], _say(f"floors.{name}"), pieces, ""]


def to_know(order: OrderTold) -> list[str]:
    """What is to be known of it: packs, part deliveries, what was not said, the fingerprint."""
    lacks = any(_lacks(line, priced) for line, priced in zip(order.lines, order.prices, strict=True))
    told = [_say("know.packs"), _say("know.delivery-note", {"number": order.number})]
    told += [_say("know.change")] if order.against is not None else []
    told += [_say("know.not-said")] if lacks else []
    return [*told, _say("know.tax"), _say("know.content", {"content": order.content})]


def _lacks(line: OrderedLine, priced: PricedLine) -> bool:
    return "supplier_number" not in line or "lead_days" not in line or priced["price"] is None


def _sum(order: OrderTold) -> str:
    if order.sum is None:
        return _say("sum-unknown")
    return _say("sum", {"sum": f"{order.currency} {number(order.sum, 2)}".strip()})


def _heads(order: OrderTold) -> list[str]:
    currency = f" [{order.currency}]" if order.currency else ""
    return [_say(f"head.{name}") + (currency if name in ("price", "sum") else "") for name in HEADS]


def _floor_heads() -> list[str]:
    return [_say(f"head.{name}") for name in ("item", "floor", "pieces", "wanted")]


def _say(code: str, facts: dict[str, object] | None = None) -> str:
    return say(f"order-sheet.{code}", facts or {})


__all__ = [
    "HEADS",
    "about",
    "floor_rows",
    "line_rows",
    "order_csv",
    "order_pdf",
    "order_workbook",
    "title_of",
    "to_know",
]
