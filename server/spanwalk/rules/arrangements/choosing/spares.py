"""What lies ready for cavities that turn out too short: how many, and which shorter row of bars goes in instead."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import cast

from spanwalk.rules.arrangements.body import Body, code_of
from spanwalk.rules.arrangements.candidate import Candidate, layout_checks
from spanwalk.rules.arrangements.layout import Layout, fills
from spanwalk.rules.arrangements.plan_types import Misfits, SpareBars
from spanwalk.rules.arrangements.wiring.driver_options import fed_by
from spanwalk.rules.arrangements.wiring.wiring import Spot, spots
from spanwalk.rules.fit.spares import misfits_expected
from spanwalk.rules.gear.checks import FAILS, PASSES, worst
from spanwalk.rules.judging.judgement_types import Fit
from spanwalk.rules.record_types import CatalogueItemView

SHORTER_TICKS = 320
"""A row for misfits is at least 1 mm shorter than the one that did not go in [1/320 mm] (common practice, no source)."""


def misfits_of(body: Body, candidate: Candidate) -> Misfits | None:
    """Misfits to be ready for with a candidate; None where every cavity it uses was read and none is set aside.

    A tight row that was accepted on its trial counts with all cavities that could refuse it; a cavity set aside counts as
    one misfit.

    Returns
    -------
    dict or None
        `cavities` that nobody read, `expected` misfits among them, `accepted` that could refuse tight bars, `aside`,
        `spare`: `item`, `code` and `count` of what one misfit takes beside the bars that did not go in; empty where the
        catalogue has no shorter row that would do.
    """
    trusted, fit = body.judged.get("trusted", {}), candidate.layout.fit
    population = trusted.get("population")
    aside = 0 if population is None else body.fixtures * body.lamps_each - population
    if "needed_ticks" not in fit["terms"] or not (trusted.get("m") or aside):
        return None
    used = len(candidate.layout.rows) / body.rows
    accepted = any(check.name == "fit-accepted" for check in candidate.checks)
    expected = 0.0 if accepted or fit.get("trial", {}).get("settles") else misfits_expected(trusted, _snug_ticks(fit))
    shorter = next(_shorter(body, candidate), None)
    return {
        "cavities": round((trusted["m"] or 0) * used),
        "expected": round(expected * used, 4),
        "accepted": cast("int", fit["trial"]["could_refuse"]) if accepted else 0,
        "aside": aside,
        "spare": [] if shorter is None else _instead(candidate.layout.fill, shorter),
    }


def _snug_ticks(fit: Fit) -> int:
    """What a row needs without the gaps wanted at its ends: less, and it does not go in, or presses when it is warm."""
    return int(fit["terms"]["needed_ticks"] - fit["terms"]["end_gaps_ticks"])


def _length_ticks(fit: Fit) -> int:
    """What a row measures at most."""
    return int(sum(fit["terms"][name] for name in ("bars_ticks", "tolerance_ticks", "joints_ticks")))


def _shorter(body: Body, candidate: Candidate) -> Iterator[tuple[CatalogueItemView, ...]]:
    """Shorter rows of bars that would do in the same rows on the same driver, the most lit first."""
    layout = candidate.layout
    most = _length_ticks(layout.fit) - SHORTER_TICKS
    able = [(bars, fit) for bars, fit in fills(body) if fit["verdict"] == "fits" and _length_ticks(fit) <= most]
    for bars, fit in sorted(
        able, key=lambda each: (-each[1]["lit_ticks"], len(each[0]), [bar["id"] for bar in each[0]])
    ):
        if _would_do(body, candidate, replace(layout, fill=bars, fit=fit)):
            yield bars


def _would_do(body: Body, candidate: Candidate, layout: Layout) -> bool:
    if any(check.verdict == FAILS for check in layout_checks(body, layout)):
        return False
    return not candidate.drivers or all(_feeds(candidate, bars) for bars in _misfitted(candidate, layout))


def _feeds(candidate: Candidate, bars: Sequence[Spot]) -> bool:
    """Whether the drivers that are there, set as they are, feed such bars instead."""
    wiring = candidate.wiring
    fed = fed_by(candidate.driver, bars, candidate.drivers, wiring.on_an_output, wiring.setting_ma)
    return fed is not None and worst(fed.checks) == PASSES


def _misfitted(candidate: Candidate, layout: Layout) -> Iterator[tuple[Spot, ...]]:
    """The bars of a fixture if one of its cavities is a misfit, whichever it is, and if all of them are."""
    usual, shorter = (
        spots(each.fill, len(each.rows), each.cavities, each.feeds) for each in (candidate.layout, layout)
    )
    yield shorter
    for misfit in dict.fromkeys(spot.cavity_at for spot in usual):
        mixed = [spot for spot in usual if spot.cavity_at != misfit] + [
            spot for spot in shorter if spot.cavity_at == misfit
        ]
        yield tuple(sorted(mixed, key=lambda spot: spot.where))


def _instead(fill: tuple[CatalogueItemView, ...], shorter: tuple[CatalogueItemView, ...]) -> list[SpareBars]:
    """Bars of the shorter row that are not at hand among those that did not go in."""
    by_id = {bar["id"]: bar for bar in shorter}
    more = Counter(bar["id"] for bar in shorter) - Counter(bar["id"] for bar in fill)
    return [{"item": item, "code": code_of(by_id[item]), "count": count} for item, count in sorted(more.items())]
