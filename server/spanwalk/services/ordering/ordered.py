"""What has been ordered of each item by the orders that stand, and what has come of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NotRequired, TypedDict, cast

from spanwalk.rules.ordering.order_lines import NOTHING, LinePieces, Pieces, added
from spanwalk.rules.record_types import OrderView
from spanwalk.rules.survey import Survey, facet, has

TYPES = ("order", "order_prices", "delivery")


class FloorPieces(TypedDict):
    """Pieces of an item for a floor, and the day they are wanted on; None where nobody said [pieces]."""

    floor: str
    pieces: int
    wanted_on: str | None


class OrderedLine(TypedDict):
    """A line of an order as it is kept: see `order_lines.LinePieces`; what the catalogue did not say is missing."""

    item: str
    code: str
    name: NotRequired[str]
    supplier_number: NotRequired[str]
    lead_days: NotRequired[int]
    change: str
    pieces: int
    pack_size: int
    packs: int
    floors: list[FloorPieces]
    spare: int
    for_misfits: int
    left_over: int
    wanted_on: NotRequired[str]


class PricedLine(TypedDict):
    """What one piece of an item costs and what the line comes to [currency]; None without a price."""

    item: str
    price: float | None
    sum: float | None


class OrderFigures(TypedDict):
    """Prices of an order; `sum` is None as soon as one line has no price."""

    currency: str
    lines: list[PricedLine]
    sum: float | None


@dataclass(frozen=True)
class Ordered:
    """An order with its prices and what came of it: item -> in good order [pieces]."""

    record: OrderView
    lines: Sequence[OrderedLine]
    figures: OrderFigures | None
    came: Mapping[str, int]

    @property
    def number(self) -> int:
        """Its number."""
        return int(facet(self.record, "identity").get("number", 0))

    @property
    def supplier(self) -> str:
        """Who it went to; empty where the catalogue did not say."""
        return str(facet(self.record, "identity").get("supplier", ""))

    @property
    def is_cancelled(self) -> bool:
        """Whether nothing more of it is to come."""
        return has(self.record, "cancelled")


def orders_of(survey: Survey) -> list[Ordered]:
    """All orders of a site by number; needs records of `TYPES`."""
    found = [_ordered(survey, each) for each in survey.of_type("order")]
    return sorted(found, key=lambda each: (each.number, each.record["id"]))


def _ordered(survey: Survey, order: OrderView) -> Ordered:
    came: dict[str, int] = {}
    for each in survey.children(order, "delivery"):
        item = str(facet(each, "identity").get("item", ""))
        came[item] = came.get(item, 0) + int(facet(each, "count").get("good", 0))
    prices = [facet(each, "identity") for each in survey.children(order, "order_prices")]
    figures = cast("OrderFigures", prices[0]["figures"]) if prices else None
    lines = cast("Sequence[OrderedLine]", facet(order, "identity").get("lines") or ())
    return Ordered(order, lines, figures, came)


def pieces_of(line: OrderedLine | LinePieces) -> Pieces:
    """The pieces of a kept line."""
    floors = line["floors"]
    by_floor = floors if isinstance(floors, dict) else {each["floor"]: each["pieces"] for each in floors}
    return Pieces(by_floor, line["spare"], line["for_misfits"], line["left_over"])


def covered(orders: Iterable[Ordered]) -> dict[str, Pieces]:
    """Item -> what was ordered of it in all; of an order that was cancelled only what came before."""
    found: dict[str, Pieces] = {}
    for order in orders:
        if order.is_cancelled:
            told = {item: Pieces(left_over=came) for item, came in order.came.items()}
        else:
            told = {line["item"]: pieces_of(line) for line in order.lines}
        for item, pieces in told.items():
            found[item] = added(found.get(item, NOTHING), pieces)
    return found


def came_in_all(orders: Iterable[Ordered]) -> dict[str, int]:
    """Item -> what came of it in good order, by all orders [pieces]."""
    found: dict[str, int] = {}
    for order in orders:
        for item, came in order.came.items():
            found[item] = found.get(item, 0) + came
    return found


__all__ = [
    "TYPES",
    "FloorPieces",
    "OrderFigures",
    "Ordered",
    "OrderedLine",
    "PricedLine",
    "came_in_all",
    "covered",
    "orders_of",
    "pieces_of",
]
