"""Where bars lie in a body: which rows are used, and what fills each of their cavities."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property, lru_cache
from itertools import groupby, pairwise
from typing import cast

from spanwalk.rules import constants
from spanwalk.rules.arrangements.body import Body, code_of
from spanwalk.rules.arrangements.plan_types import DarkAndLit
from spanwalk.rules.fit.by_lamp import is_by_lamp
from spanwalk.rules.fit.fit import joints_ticks
from spanwalk.rules.fit.trials import is_accepted
from spanwalk.rules.gear.checks import Check, cannot_tell, fails, passes
from spanwalk.rules.judging.judgement_types import Fit
from spanwalk.rules.record_types import CatalogueItemView

ROWS_WITHOUT = {2: ((1,),), 3: ((2,), (1, 3)), 4: ((2, 3), (1, 4)), 5: ((1, 3, 5), (2, 4)), 6: ((1, 3, 4, 6), (2, 5))}
"""Rows that may be used where some stay empty, as even as they go."""


LEAST_LIT_PCT = constants.LEAST_LIT_PCT
"""Least share of a cavity that bars must light [%]."""
CHECKS_KEPT = 4096
"""Outcomes of one check that are kept, so that equal bodies are judged once."""
UNEVEN_UP_TO_TICKS = 150 * 320
"""Row spacing up to which an uneven choice of rows does not show [1/320 mm]."""


@dataclass(frozen=True)
class Layout:
    """One way of laying bars.

    Parameters
    ----------
    kind : str
        Kind of arrangement that proposes it: the name of its module.
    rows : tuple of int
        Rows that get bars, counted as in the survey.
    fill : tuple of view records
        Bars that lie end to end in each cavity of those rows, in order.
    cavities : int
        Cavities in a row.
    fit : mapping
        The verdict on that fill, one of `judged["fits"]`.
    feeds : int
        Bodies that a driver here feeds: 1, 2 where it feeds the neighbour too, 0 where the neighbour feeds it.
    """

    kind: str
    rows: tuple[int, ...]
    fill: tuple[CatalogueItemView, ...]
    cavities: int
    fit: Fit
    feeds: int = 1

    @cached_property
    def ids(self) -> tuple[str, ...]:
        """Items of the bars that lie end to end in each cavity, by id."""
        return tuple(bar["id"] for bar in self.fill)

    @cached_property
    def codes(self) -> tuple[str, ...]:
        """The same by code."""
        return tuple(code_of(bar) for bar in self.fill)

    @cached_property
    def name(self) -> str:
        """The layout in codes: `2 × TERN-4 in rows 1, 2`."""
        parts = [(code, len(list(same))) for code, same in groupby(code_of(bar) for bar in self.fill)]
        fill = " + ".join(code if number == 1 else f"{number} × {code}" for code, number in parts)
        return f"{fill} in row{'s' if len(self.rows) > 1 else ''} {', '.join(map(str, self.rows))}"


def fills(body: Body) -> Iterator[tuple[tuple[CatalogueItemView, ...], Fit]]:
    """What may fill a cavity, with its verdict: every fit that was judged, of bars still in the catalogue."""
    for fit in body.judged.get("fits", []):
        bars = tuple(body.catalogue.by_id[each] for each in fit["bars"] if each in body.catalogue.by_id)
        if bars and len(bars) == len(fit["bars"]):
            yield bars, fit


def all_rows(body: Body) -> tuple[int, ...]:
    """Every row of a body.

    Rows are counted from 1, as in the survey.
    """
    return tuple(range(1, body.rows + 1))


def check_fit(body: Body, layout: Layout) -> Check:
    """Do the bars go into the cavity? `tight` and `cannot tell` are not a yes, unless a manager accepted a trial (see `trials`).

    Returns
    -------
    Check
        `fit`, `fit-by-lamp` (where the lamp alone proves it), `fit-tight` or `fit-unread`, with the clearance [1/320 mm]; too long by how much if so. Where bars were tried,
        `fit-tried`, `fit-accepted` or `fit-trial`, with how many were tried and could still refuse.
    """
    if layout.fit.get("trial") or layout.fit.get("refused"):
        return _tried(body, layout)
    return _fit(
        " + ".join(code_of(bar) for bar in layout.fill),
        layout.fit["verdict"],
        layout.fit.get("clearance_ticks"),
        is_by_lamp(layout.fit),
    )


@lru_cache(maxsize=CHECKS_KEPT)
def _fit(bars: str, verdict: str, clearance: int | None, by_lamp: bool = False) -> Check:
    facts: dict[str, object] = {"bars": bars}
    if clearance is not None:
        facts["clearance_ticks"] = clearance
    if verdict == "fits":
        return passes("fit-by-lamp" if by_lamp else "fit", **facts)
    if verdict == "too long":
        return fails("fit", too_long_by_ticks=-(clearance or 0), **facts)
    if verdict == "tight":
        return cannot_tell("fit-tight", short_by_ticks=-(clearance or 0), **facts)
    return cannot_tell("fit-unread", **facts)


def _tried(body: Body, layout: Layout) -> Check:
    """What trial bars say of the layout, and whether the manager has accepted that for it."""
    fit, bars = layout.fit, " + ".join(code_of(bar) for bar in layout.fill)
    if fit.get("refused"):
        return fails("fit-tried", bars=bars)
    trial, clearance = fit["trial"], cast("int", fit["clearance_ticks"])
    if fit["verdict"] == "fits" and clearance < 0:
        return passes("fit-tried", bars=bars, tried=trial["tried"])
    if fit["verdict"] != "tight" or trial["could_refuse"] is None:
        return _fit(bars, fit["verdict"], clearance, is_by_lamp(fit))
    facts: dict[str, object] = {"bars": bars, "short_by_ticks": -clearance} | {
        "tried": trial["tried"],
        "close": trial["close"],
        "left": trial["left"],
        "could_refuse": trial["could_refuse"],
    }
    chosen = str(body.of_group("decision").get("arrangement", "")).startswith(f"{layout.name}; ")
    return (
        passes("fit-accepted", **facts)
        if chosen and is_accepted(body.group, fit)
        else cannot_tell("fit-trial", **facts)
    )


def check_width(body: Body, layout: Layout) -> Check:
    """Does the bar go between its neighbours, or into the body? Unknown sizes are looked at on the first fixture.

    Compared are the bar's width and the row spacing where two rows next to each other are used, else the
    width of the body [1/320 mm].
    """
    housing = body.of_kind("housing")
    width = max(bar["facets"]["bar"]["width_ticks"] for bar in layout.fill)
    beside = any(other - one == 1 for one, other in pairwise(layout.rows))
    against = "row spacing" if beside else "body"
    limit = housing.get("row_spacing_ticks") if beside else housing.get("width_ticks")
    return _against("bar-width", width, limit, against)


def check_height(body: Body, layout: Layout) -> Check:
    """Does the bar go under the lens or door? Unknown heights are looked at on the first fixture [1/320 mm]."""
    height = max(bar["facets"]["bar"]["height_ticks"] for bar in layout.fill)
    return _against("bar-height", height, body.of_kind("housing").get("height_ticks"), "body")


@lru_cache(maxsize=CHECKS_KEPT)
def _against(name: str, needs: int, has: int | None, against: str) -> Check:
    if has is None:
        return passes(name, needs_ticks=needs, look_at_first=True)
    if needs <= has:
        return passes(name, needs_ticks=needs, has_ticks=has)
    return fails(name, needs_ticks=needs, has_ticks=has, over_by_ticks=needs - has, against=against)


def check_fixing(body: Body, layout: Layout) -> Check:
    """Can the bar be held: by its magnets where a magnet holds, else by screws or clips?

    Where nobody tried a magnet, a bar that can be screwed or clipped passes as such, another cannot be told.
    """
    holds = body.of_kind("housing").get("magnet_holds", "not-seen")
    return _fixing(
        str(holds), tuple(sorted(set.intersection(*(set(bar["facets"]["bar"]["fixing"]) for bar in layout.fill))))
    )


@lru_cache(maxsize=CHECKS_KEPT)
def _fixing(holds: str, ways: tuple[str, ...]) -> Check:
    facts = {"magnet_holds": holds, "fixing": ", ".join(ways)}
    if holds == "yes" and ways:
        return passes("bar-fixing", **facts)
    if "screws" in ways or "clips" in ways:
        return passes("bar-fixing", **facts)
    if holds == "no":
        return fails("bar-fixing", **facts)
    return cannot_tell("bar-fixing", missing=["magnet_holds"], **facts)


def check_lit(body: Body, layout: Layout) -> Check:
    """Do the bars light enough of the cavity, or would the ends stay dark to the eye?

    At least 80 % of the cavity (common practice: a bar of the next shorter length leaves a gap that shows
    through any lens). Where the cavity is not known, the length that was judged with stands in: that of the lamp.
    """
    cavity = body.judged.get("trusted", {}).get("trusted_ticks")
    lit = sum(bar["facets"]["bar"]["lit_ticks"] for bar in layout.fill)
    if cavity is None and layout.fit.get("dark_ticks") is not None:
        cavity = lit + cast("int", layout.fit["dark_ticks"])
    return _lit(lit, cavity)


@lru_cache(maxsize=CHECKS_KEPT)
def _lit(lit: int, cavity: int | None) -> Check:
    if cavity is None:
        return passes("lit-length", lit_ticks=lit)
    wanted = -(-cavity * LEAST_LIT_PCT // 100)
    facts = {"lit_ticks": lit, "wanted_ticks": wanted, "cavity_ticks": cavity, "least_pct": LEAST_LIT_PCT}
    return passes("lit-length", **facts) if lit >= wanted else fails("lit-length", short_by_ticks=wanted - lit, **facts)


def check_even(body: Body, layout: Layout) -> Check:
    """Does the body look even: rows used about its middle, or rows so close that it does not matter?

    One of two rows does where they stand no more than 150 mm apart (common practice). Unknown spacing is
    looked at on the first fixture.
    """
    return _even(layout.rows, body.rows, body.of_kind("housing").get("row_spacing_ticks"))


@lru_cache(maxsize=CHECKS_KEPT)
def _even(rows: tuple[int, ...], of_rows: int, spacing: int | None) -> Check:
    middle = of_rows + 1
    if all(middle - row in rows for row in rows):
        return passes("even-rows", rows=", ".join(map(str, rows)))
    facts = {"rows": ", ".join(map(str, rows)), "most_ticks": UNEVEN_UP_TO_TICKS}
    if spacing is None:
        return passes("even-rows", look_at_first=True, **facts)
    if spacing <= UNEVEN_UP_TO_TICKS:
        return passes("even-rows", spacing_ticks=spacing, **facts)
    return fails("even-rows", spacing_ticks=spacing, over_by_ticks=spacing - UNEVEN_UP_TO_TICKS, **facts)


def needs_clips(body: Body) -> bool:
    """Whether bars are held without magnets: no magnet holds, or nobody tried."""
    return str(body.of_kind("housing").get("magnet_holds", "not-seen")) != "yes"


def dark_and_lit(body: Body, layout: Layout) -> DarkAndLit:
    """How much of a cavity is lit, and how long the dark ends are.

    Returns
    -------
    dict
        `cavity_ticks` (trusted), `gap_each_end_ticks` (rounded down), `lit_share` of the cavity,
        `dark_end_ticks` (from socket face to the first light, rounded up); empty where the cavity is not known.
    """
    cavity = body.judged.get("trusted", {}).get("trusted_ticks")
    if cavity is None:
        return {}
    bars = [bar["facets"]["bar"] for bar in layout.fill]
    whole = sum(bar["length_ticks"] for bar in bars) + joints_ticks(bars)
    gap = (cavity - whole) // 2
    unlit_end = -(-(bars[0]["length_ticks"] - bars[0]["lit_ticks"]) // 2)
    return {
        "cavity_ticks": cavity,
        "gap_each_end_ticks": gap,
        "lit_share": round(float(Fraction(sum(bar["lit_ticks"] for bar in bars), cavity)), 4),
        "dark_end_ticks": gap + unlit_end,
    }
