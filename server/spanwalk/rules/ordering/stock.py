"""What lies ready of each item, what is kept for rooms, and which groups lack what. Twin: pwa/rules/ordering/stock.js.

Stock is received − used − returned − kept: what is damaged, or is the wrong item, was never received. Of an item of which
nothing was ordered, received or moved here nothing is known, and nothing is said to be lacking.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypedDict

INTO = ("brought-from-elsewhere",)
"""Moves that bring pieces in; all others take them out."""
RETURNED, SENT_BACK = "returned-to-supplier", "damaged-sent-back"
"""Good pieces that went back; and damaged or wrong ones, which never were stock."""


@dataclass(frozen=True)
class Came:
    """What came of an item by one delivery [pieces]: in good order, damaged, other items in its place, missing."""

    item: str
    good: int
    damaged: int = 0
    wrong: int = 0
    short: int = 0


@dataclass(frozen=True)
class Moved:
    """Pieces of an item that went out of stock, or into it, by neither delivery nor fitting [pieces]."""

    item: str
    move: str
    pieces: int


@dataclass(frozen=True)
class Claim:
    """What a group still wants: item -> [pieces]; `kept`: it is kept for its room."""

    room: str
    group: str
    kept: bool
    wants: Mapping[str, int]


class ItemStock(TypedDict):
    """How an item stands [pieces].

    `here` is what lies ready: received and brought, less used, returned and taken out; below nought more was used than
    anybody saw come. `kept` is of it for rooms, `free` the rest; `to_come` is ordered and has not come; `wanted` is what
    all groups still want, `lacking` what is not here of that; `to_send_back` are damaged and wrong pieces that lie here.
    """

    ordered: int
    received: int
    damaged: int
    wrong: int
    short: int
    to_send_back: int
    returned: int
    taken: int
    brought: int
    used: int
    here: int
    wanted: int
    kept: int
    free: int
    lacking: int
    to_come: int


class Lacks(TypedDict):
    """A group, and what it lacks: item -> [pieces]; of items of which nothing is known, nothing."""

    room: str
    group: str
    items: dict[str, int]


class Stock(TypedDict):
    """Items by their ids, and groups in the order in which they are served."""

    items: dict[str, ItemStock]
    groups: list[Lacks]


def stock_of(
    ordered: Mapping[str, int],
    deliveries: Iterable[Came],
    moves: Iterable[Moved],
    used: Mapping[str, int],
    claims: Sequence[Claim],
) -> Stock:
    """How each item stands, and which groups lack what.

    Groups of rooms for which things are kept are served first, then the others, each in the order given.

    Parameters
    ----------
    ordered : mapping
        Item -> what the orders that stand come to [pieces].
    deliveries : iterable of Came
        What came.
    moves : iterable of Moved
        What went out or in otherwise.
    used : mapping
        Item -> what was fitted [pieces].
    claims : sequence of Claim
        What groups still want, in the order of the walk.

    Examples
    --------
    20 ordered, 12 came and one of those was damaged, 4 are fitted: 7 are here. The second room has its 5 kept, so that
    the first has 2 of its 6 and lacks 4; 9 are still to come.

    >>> claims = [Claim("r1", "g1", False, {"b": 6}), Claim("r2", "g2", True, {"b": 5})]
    >>> told = stock_of({"b": 20}, [Came("b", 11, damaged=1)], [], {"b": 4}, claims)
    >>> [told["items"]["b"][name] for name in ("here", "kept", "free", "lacking", "to_come")]
    [7, 5, 2, 4, 9]
    >>> told["groups"]
    [{'room': 'r2', 'group': 'g2', 'items': {}}, {'room': 'r1', 'group': 'g1', 'items': {'b': 4}}]
    """
    came, moved = list(deliveries), list(moves)
    known = {*ordered, *(each.item for each in came), *(each.item for each in moved)}
    items = {item: _item(item, ordered, came, moved, used, claims) for item in sorted(known)}
    left = {item: max(0, each["here"]) for item, each in items.items()}
    served = [*(each for each in claims if each.kept), *(each for each in claims if not each.kept)]
    return {"items": items, "groups": [_served(each, left) for each in served]}


def _item(
    item: str,
    ordered: Mapping[str, int],
    came: Sequence[Came],
    moved: Sequence[Moved],
    used: Mapping[str, int],
    claims: Sequence[Claim],
) -> ItemStock:
    of_item = [each for each in came if each.item == item]
    received = sum(each.good for each in of_item)
    out = {each.move: 0 for each in moved}
    for move in moved:
        if move.item == item:
            out[move.move] += move.pieces
    brought = sum(out.get(move, 0) for move in INTO)
    returned = out.get(RETURNED, 0)
    sent_back = out.get(SENT_BACK, 0)
    taken = sum(out.values()) - brought - returned - sent_back
    damaged, wrong = sum(each.damaged for each in of_item), sum(each.wrong for each in of_item)
    here = received + brought - used.get(item, 0) - returned - taken
    wanted = sum(each.wants.get(item, 0) for each in claims)
    kept = min(max(0, here), sum(each.wants.get(item, 0) for each in claims if each.kept))
    return {
        "ordered": ordered.get(item, 0),
        "received": received,
        "damaged": damaged,
        "wrong": wrong,
        "short": sum(each.short for each in of_item),
        "to_send_back": max(0, damaged + wrong - sent_back),
        "returned": returned,
        "taken": taken,
        "brought": brought,
        "used": used.get(item, 0),
        "here": here,
        "wanted": wanted,
        "kept": kept,
        "free": here - kept,
        "lacking": max(0, wanted - max(0, here)),
        "to_come": max(0, ordered.get(item, 0) - received),
    }


def _served(claim: Claim, left: dict[str, int]) -> Lacks:
    lacks: dict[str, int] = {}
    for item, wanted in sorted(claim.wants.items()):
        if item in left:
            given = min(wanted, left[item])
            left[item] -= given
            if given < wanted:
                lacks[item] = wanted - given
    return {"room": claim.room, "group": claim.group, "items": lacks}


__all__ = ["Came", "Claim", "ItemStock", "Lacks", "Moved", "Stock", "stock_of"]
