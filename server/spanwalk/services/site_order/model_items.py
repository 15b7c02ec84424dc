"""What is bought, in a mixed-integer model: whole packs at the price of that many, spares for breakage and for misfits."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import ceil, inf

from spanwalk.rules.fit.spares import enough_spares
from spanwalk.rules.ordering import ordering
from spanwalk.rules.site_order.sums import PARTS_OF_ONE
from spanwalk.services.site_order.columns import CENTS, Model

MOST_STEPS = 60
"""Steps of spares for misfits that the exact model tells apart for one item; beyond, it is no longer exact."""


@dataclass
class Misfits:
    """What lies ready of an item, so many bars for each misfit: expected misfits in parts of one, and sure ones."""

    expected: dict[int, float] = field(default_factory=dict)
    sure: dict[int, float] = field(default_factory=dict)
    most: float = 0.0


def add_items(model: Model, pieces: Mapping[str, dict[int, float]], short: Mapping[tuple[str, int], Misfits]) -> None:
    """Add what is bought.

    Parameters
    ----------
    model : Model
        What is taken stands in it.
    pieces : mapping
        Item id -> column -> pieces that it takes.
    short : mapping
        Item id and bars for each misfit -> misfits to be ready for.
    """
    for item in sorted({*pieces, *(item for item, _ in short)}):
        needed = dict(pieces.get(item, {}))
        most = _most(model, needed)
        tiers = tiers_of(model.given.items[item])
        breaks = len(tiers) > 1
        _breakage(model, needed, most, breaks)
        for (of, count), misfits in sorted(short.items()):
            if of == item:
                most += _ready(model, needed, misfits, count, breaks)
        _bought(model, item, needed, most + ceil(most * model.given.spare_pct / 100) + 1, tiers)


def _most(model: Model, pieces: Mapping[int, float]) -> float:
    """The most pieces that can be fitted: of each unit the alternative that takes most."""
    found: dict[tuple[int, int], float] = defaultdict(float)
    for (of, slot, _), column in model.taken.items():
        found[of, slot] = max(found[of, slot], pieces.get(column, 0.0) * model.classes[of].size)
    return sum(found.values())


def _breakage(model: Model, needed: dict[int, float], most: float, breaks: bool) -> None:
    """Spares for breakage: whole pieces, no fewer than the share, and where more could be cheaper no more either."""
    share = round(model.given.spare_pct * 100)
    fitted = dict(needed)
    if not share or not fitted:
        return
    if not model.exact:
        for column, count in fitted.items():
            needed[column] += count * share / PARTS_OF_ONE
        return
    spare = model.column(upper=ceil(most * share / PARTS_OF_ONE))
    upper = PARTS_OF_ONE - 1.0 if breaks else inf
    model.row(0.0, upper, {**{at: -share * count for at, count in fitted.items()}, spare: float(PARTS_OF_ONE)})
    needed[spare] = 1.0


def _ready(model: Model, needed: dict[int, float], misfits: Misfits, count: int, breaks: bool) -> float:
    """Let bars lie ready for misfits; the most that can be."""
    for column, sure in misfits.sure.items():
        if sure:
            needed[column] = needed.get(column, 0.0) + sure * count
    most = _most(model, misfits.sure) * count
    if misfits.most <= 0:
        return most
    ends = step_ends(misfits.most)
    if model.exact and len(ends) <= MOST_STEPS:
        _steps(model, needed, misfits.expected, ends, count, breaks)
        return most + (len(ends) - 1) * count
    model.is_exact = False
    # A line under all steps: no choice lies below it.
    slope = min(number / end for number, end in enumerate(ends) if number) if len(ends) > 1 else 0.0
    for column, expected in misfits.expected.items():
        needed[column] = needed.get(column, 0.0) + expected * slope * count
    return most + ceil(misfits.most * slope * count)


def step_ends(most: float) -> list[float]:
    """The most misfits, in parts of one, for which 0, 1, 2 … spares are enough; the last holds the most there can be."""
    ends: list[float] = []
    cents = ceil(most / CENTS) + 1
    low = 0
    number = 0
    while low <= cents and len(ends) <= 4 * MOST_STEPS:
        high = cents
        while low < high:
            middle = (low + high + 1) // 2
            if enough_spares(middle / CENTS) <= number:
                low = middle
            else:
                high = middle - 1
        # What is expected is rounded to hundredths before it is looked up.
        ends.append(low * CENTS + CENTS / 2 - 1)
        if low >= cents:
            break
        number += 1
    return ends


def _steps(
    model: Model,
    needed: dict[int, float],
    expected: Mapping[int, float],
    ends: Sequence[float],
    count: int,
    breaks: bool,
) -> None:
    """One binary a number of spares, one of them taken: the first that is enough.

    Steps taken in order say the same, but HiGHS's presolve called such models infeasible that were not.
    """
    columns = [model.column(0.0, 1.0) for _ in ends[1:]]
    enough = {at: ends[0] - end for at, end in zip(columns, ends[1:], strict=True)}
    model.row(-inf, ends[0], {**expected, **enough})
    if breaks:
        at_least = {at: -(end + 1) for at, end in zip(columns, ends, strict=False)}
        model.row(0.0, inf, {**expected, **at_least})
    model.row(-inf, 1.0, dict.fromkeys(columns, 1.0))
    for number, at in enumerate(columns, 1):
        needed[at] = float(count * number)


def tiers_of(terms: ordering.Terms) -> list[tuple[int, int | None, float]]:
    """Least and most pieces bought of each price, and the price of one [currency]."""
    price = terms.price
    starts = {0, *(int(price[start]) for start, each in ordering.BREAKS if start in price and each in price)}
    found: list[tuple[int, float]] = []
    for start in sorted(starts):
        each = ordering.price_at(price, max(start, 1))
        if each is not None and (not found or found[-1][1] != each):
            found.append((start, each))
    ends: list[int | None] = [start - 1 for start, _ in found[1:]]
    return [(start, end, each) for (start, each), end in zip(found, [*ends, None], strict=True)]


def _bought(
    model: Model,
    item: str,
    needed: Mapping[int, float],
    most_pieces: float,
    tiers: Sequence[tuple[int, int | None, float]],
) -> None:
    """Whole packs at the price of that many, no more of them than are needed."""
    size = int(model.given.items[item].supply.get("pack_size", 1))
    most = ceil(most_pieces / size)
    held: dict[int, float] = {}
    uses = []
    for start, end, each in tiers:
        least = max(1, -(-start // size))
        top = most if end is None else min(most, end // size)
        if top < least:
            continue
        bare, charges = each * size * CENTS, model.given.charges
        sum_cents, untaxed = round(bare * charges.of_goods, 2), round(bare * charges.before_tax, 2)
        packs = model.column(sum_cents, top, whole=model.exact, paid=sum_cents, untaxed=untaxed)
        use = model.column(model.given.rules.each_item * CENTS, 1.0)
        model.row(0.0, inf, {packs: 1.0, use: -float(least)})
        model.row(-inf, 0.0, {packs: 1.0, use: -float(top)})
        held[packs] = float(size)
        uses.append(use)
    wanted = {at: -value for at, value in needed.items()}
    model.row(0.0, size - 1.0 if model.exact and len(uses) > 1 else inf, {**held, **wanted})
    if len(uses) > 1:
        model.row(-inf, 1.0, dict.fromkeys(uses, 1.0))
    model.uses[item] = uses


__all__ = ["MOST_STEPS", "Misfits", "add_items", "step_ends", "tiers_of"]
