"""What is fitted and no release in force orders: those pieces are used, so that no order calls them off or orders them again."""

from __future__ import annotations

from collections.abc import Mapping


def fitted_beside(released: Mapping[str, int], within: Mapping[str, int], outside: Mapping[str, int]) -> dict[str, int]:
    """Pieces of a group that are fitted, and that the release in force does not order.

    Parameters
    ----------
    released : mapping
        Item -> what the release in force orders for all fixtures that it has [pieces].
    within : mapping
        Item -> what is fitted in those of them that are done [pieces].
    outside : mapping
        Item -> what is fitted in fixtures that it has not: beyond the count, gone since, withdrawn [pieces].

    Examples
    --------
    10 fixtures with two bars each were released, the bars ordered, and 8 are done. The count is lowered to 5 and the group
    released again: 10 bars for the five. Three fixtures beyond the count hold 6 more, so that of 20 ordered only 4 are free.

    >>> fitted_beside({"bar": 10}, {"bar": 10}, {"bar": 6})
    {'bar': 6}

    Four were done with another bar before: those are used as well.

    >>> fitted_beside({"bar": 10}, {"old bar": 8}, {})
    {'old bar': 8}
    """
    found: dict[str, int] = {}
    for item in sorted({*within, *outside}):
        more = max(0, within.get(item, 0) - released.get(item, 0)) + outside.get(item, 0)
        if more > 0:
            found[item] = more
    return found


def out_of_orders(floors: Mapping[str, int], ordered: int) -> dict[str, int]:
    """Of pieces that are fitted, those that came out of what was ordered: what was brought from elsewhere orders nothing.

    Parameters
    ----------
    floors : mapping
        Floor -> what is fitted there beside the release in force [pieces].
    ordered : int
        What the orders that stand come to [pieces].

    Examples
    --------
    >>> out_of_orders({"1": 6, "2": 4}, 8), out_of_orders({"1": 6}, 0)
    ({'1': 6, '2': 2}, {})
    """
    found: dict[str, int] = {}
    for floor, pieces in floors.items():
        taken = min(pieces, ordered - sum(found.values()))
        if taken > 0:
            found[floor] = taken
    return found


__all__ = ["fitted_beside", "out_of_orders"]
