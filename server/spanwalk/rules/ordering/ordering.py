"""What has to be bought of an item that is needed: whole packs, at the price of that many.

That packs are not broken and that a larger number may have a lower price is common practice of the trade, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple, TypedDict

from spanwalk.rules.record_view import Facet

BREAKS = (("from_2", "each_2"), ("from_3", "each_3"), ("from_4", "each_4"))
"""Fields of a price that say from which number on another price holds, and which."""


class Bought(TypedDict):
    """What is bought of an item: `packs` of `pack_size` pieces, `bought` pieces together, `left_over` of them.

    `price` is of one piece and `sum` of all [currency], both None without a price; `lead_days` is None where not said.
    """

    pack_size: int
    packs: int
    bought: int
    left_over: int
    price: float | None
    sum: float | None
    lead_days: int | None


class WholePacks(NamedTuple):
    """Packs, the pieces in them, and how many of those are left over."""

    packs: int
    bought: int
    left_over: int


@dataclass(frozen=True)
class Terms:
    """How an item is sold.

    Parameters
    ----------
    supply, price : mapping
        `supply` facet of the item and `identity` of its price; empty where nothing is said.
    """

    supply: Facet
    price: Facet


NO_TERMS = Terms({}, {})


def whole_packs(pieces: int, pack_size: int) -> WholePacks:
    """The fewest whole packs that hold enough.

    Parameters
    ----------
    pieces : int
        What is needed [pieces].
    pack_size : int
        Pieces in a pack [pieces], at least 1.

    >>> whole_packs(41, 20)
    WholePacks(packs=3, bought=60, left_over=19)
    """
    packs = -(-pieces // pack_size)
    return WholePacks(packs, packs * pack_size, packs * pack_size - pieces)


def price_at(price: Facet, pieces: int) -> float | None:
    """What one piece costs when so many are bought: the price of the highest break that the number reaches.

    Parameters
    ----------
    price : mapping
        `each` [currency], and `from_2`, `each_2` and so on; a break of which half is missing is passed over.
    pieces : int
        What is bought [pieces].

    >>> price = {"each": 12.0, "from_2": 100, "each_2": 11.0, "from_3": 500, "each_3": 9.5}
    >>> [price_at(price, pieces) for pieces in (99, 100, 499, 500)]
    [12.0, 11.0, 11.0, 9.5]
    """
    reached = [(0, price["each"])] if "each" in price else []
    for start, each in BREAKS:
        if start in price and each in price and price[start] <= pieces:
            reached.append((price[start], price[each]))
    return float(max(reached, key=lambda at: at[0])[1]) if reached else None


def bought(pieces: int, terms: Terms) -> Bought:
    """What has to be bought for so many.

    Parameters
    ----------
    pieces : int
        What is needed [pieces].
    terms : Terms
        How it is sold.

    >>> terms = Terms({"pack_size": 10, "lead_days": 21}, {"each": 2.5, "from_2": 50, "each_2": 2.0})
    >>> [bought(pieces, terms)["sum"] for pieces in (38, 41)]
    [100.0, 100.0]
    """
    size = int(terms.supply.get("pack_size", 1))
    packs, number, left_over = whole_packs(pieces, size)
    each = price_at(terms.price, number)
    return {
        "pack_size": size,
        "packs": packs,
        "bought": number,
        "left_over": left_over,
        "price": each,
        "sum": None if each is None else round(each * number, 2),
        "lead_days": terms.supply.get("lead_days"),
    }
