"""What an order says of each item: so many more, or fewer, than what was ordered before, in whole packs, floor by floor.

That packs are not broken, and that what has come cannot be called off any more, is common practice of the trade, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TypedDict

from spanwalk.rules.ordering.ordering import whole_packs

NEW, MORE, FEWER = "new-item", "more", "fewer"
"""What a line is against what was ordered before: nothing of it was, more is wanted, or fewer are."""


@dataclass(frozen=True)
class Pieces:
    """So many pieces of one item.

    Parameters
    ----------
    floors : mapping
        Floor -> pieces that are fitted there [pieces].
    spare, for_misfits : int
        Beside them, for breakage and for misfits [pieces].
    left_over : int
        Because packs are not broken [pieces].
    """

    floors: Mapping[str, int] = field(default_factory=dict)
    spare: int = 0
    for_misfits: int = 0
    left_over: int = 0

    @property
    def needed(self) -> int:
        """All of them but what is left over of packs [pieces]."""
        return sum(self.floors.values()) + self.spare + self.for_misfits

    @property
    def together(self) -> int:
        """All of them [pieces]."""
        return self.needed + self.left_over


NOTHING = Pieces()


class LinePieces(TypedDict):
    """What an order says of an item: fewer are below nought.

    `pieces` is the sum of `floors`, `spare`, `for_misfits` and `left_over`, and `packs` times `pack_size`.
    """

    change: str
    pieces: int
    pack_size: int
    packs: int
    floors: dict[str, int]
    spare: int
    for_misfits: int
    left_over: int


def line_of(need: Pieces, ordered: Pieces, came: int, pack_size: int) -> LinePieces | None:
    """What is to be ordered of an item, or called off; None where neither.

    More is ordered in whole packs, so that it is enough; whole packs are called off so that what stays is enough, and
    never more than has not come yet.

    Parameters
    ----------
    need : Pieces
        What is needed in all; its `left_over` counts for nothing.
    ordered : Pieces
        What the orders that stand come to.
    came : int
        What has come of them in good order [pieces].
    pack_size : int
        Pieces in a pack [pieces], at least 1.

    Examples
    --------
    41 are needed and nothing is ordered: three packs of 20. Then 61 are needed: one more. Then 30: two are called off.

    >>> first = line_of(Pieces({"1": 41}), NOTHING, 0, 20)
    >>> first["change"], first["pieces"], first["packs"], first["left_over"]
    ('new-item', 60, 3, 19)
    >>> line_of(Pieces({"1": 61}), Pieces({"1": 41}, left_over=19), 0, 20)["pieces"]
    20
    >>> line_of(Pieces({"1": 30}), Pieces({"1": 61}, left_over=19), 0, 20)["pieces"]
    -40
    >>> line_of(Pieces({"1": 30}), Pieces({"1": 61}, left_over=19), 55, 20)["pieces"]
    -20
    """
    gap = need.needed - ordered.together
    if gap > 0:
        pieces = whole_packs(gap, pack_size).bought
    else:
        callable_off = min(-gap, max(0, ordered.together - came))
        pieces = -(callable_off // pack_size) * pack_size
    if pieces == 0:
        return None
    change = FEWER if pieces < 0 else MORE if ordered.together > 0 else NEW
    floors = {
        floor: by
        for floor in {**ordered.floors, **need.floors}
        if (by := need.floors.get(floor, 0) - ordered.floors.get(floor, 0))
    }
    spare, for_misfits = need.spare - ordered.spare, need.for_misfits - ordered.for_misfits
    return {
        "change": change,
        "pieces": pieces,
        "pack_size": pack_size,
        "packs": pieces // pack_size,
        "floors": floors,
        "spare": spare,
        "for_misfits": for_misfits,
        "left_over": pieces - sum(floors.values()) - spare - for_misfits,
    }


def added(one: Pieces, other: Pieces) -> Pieces:
    """Both together.

    >>> added(Pieces({"1": 4}, 1), Pieces({"1": -1, "2": 3})).floors
    {'1': 3, '2': 3}
    """
    floors = {floor: one.floors.get(floor, 0) + other.floors.get(floor, 0) for floor in {**one.floors, **other.floors}}
    return Pieces(floors, one.spare + other.spare, one.for_misfits + other.for_misfits, one.left_over + other.left_over)


__all__ = ["FEWER", "MORE", "NEW", "NOTHING", "LinePieces", "Pieces", "added", "line_of"]
