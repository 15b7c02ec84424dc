"""What lies ready for cavities that turn out too short: how many, and which shorter row of bars goes in instead."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cached_property
from typing import NamedTuple, cast

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
    dict
        `cavities` that nobody read, `expected` misfits among them, `accepted` that could refuse tight bars, `aside`,
        `spare`: `item`, `code` and `count` of what one misfit takes beside the bars that did not go in; empty where the
        catalogue has no shorter row that would do.
    """
    accepted = any(check.name == "fit-accepted" for check in candidate.checks)
    return ReadyFor(body).of(candidate, candidate.layout.fit, is_accepted=accepted)


class ReadyFor:
    """Misfits of one group to be ready for, candidate by candidate; what is the same for several is found once.

    Parameters
    ----------
    body : Body
        The group, judged.
    """

    def __init__(self, body: Body) -> None:
        self._body = body
        self._trusted = body.judged.get("trusted", {})
        population = self._trusted.get("population")
        self._aside = 0 if population is None else body.fixtures * body.lamps_each - population
        self._of_rows: dict[tuple[str, ...], _OfRow] = {}

    @property
    def is_any(self) -> bool:
        """Whether there is anything to be ready for, whatever the candidate."""
        return bool(self._trusted.get("m") or self._aside)

    def of(self, candidate: Candidate, fit: Fit, *, is_accepted: bool) -> Misfits | None:
        """The same as `misfits_of`, of a candidate whose layout's own fit is not looked at.

        Parameters
        ----------
        candidate : Candidate
            What would be fitted.
        fit : mapping
            The verdict on the row of bars of its layout.
        is_accepted : bool
            Whether a manager accepted it on its trial.
        """
        if "needed_ticks" not in fit["terms"] or not self.is_any:
            return None
        layout = candidate.layout
        used, of_row = len(layout.rows) / self._body.rows, self._of_row(layout.ids, fit)
        shorter = self._shorter(candidate, of_row)
        return {
            "cavities": round((self._trusted["m"] or 0) * used),
            "expected": 0.0 if is_accepted else round(of_row.expected * used, 4),
            "accepted": cast("int", fit["trial"]["could_refuse"]) if is_accepted else 0,
            "aside": self._aside,
            "spare": [] if shorter is None else self._instead(layout, shorter),
        }

    def _of_row(self, ids: tuple[str, ...], fit: Fit) -> _OfRow:
        """What hangs on a row of bars alone, whichever rows of the body get it and whatever feeds it."""
        if ids not in self._of_rows:
            settles = fit.get("trial", {}).get("settles")
            most = _length_ticks(fit) - SHORTER_TICKS
            self._of_rows[ids] = _OfRow(
                0.0 if settles else misfits_expected(self._trusted, _snug_ticks(fit)),
                [each for each in self._able if each.length_ticks <= most],
            )
        return self._of_rows[ids]

    @cached_property
    def _able(self) -> list[_Able]:
        """Rows of bars that fit, the most lit first."""
        able = [
            _Able(bars, tuple(bar["id"] for bar in bars), fit, _length_ticks(fit))
            for bars, fit in fills(self._body)
            if fit["verdict"] == "fits"
        ]
        return sorted(able, key=lambda each: (-each.fit["lit_ticks"], len(each.bars), each.ids))

    def _shorter(self, candidate: Candidate, of_row: _OfRow) -> _Able | None:
        """The first shorter row of bars that would do in the same rows on the same driver."""
        for each in of_row.shorter:
            if self._lies(candidate.layout, each) and self._is_fed(candidate, each):
                return each
        return None

    def _lies(self, layout: Layout, able: _Able) -> bool:
        """Whether bars and body alone allow it; what was found for another driver holds."""
        found, key = self._body.lies_instead, (layout.kind, layout.rows, able.ids, layout.cavities, layout.feeds)
        if key not in found:
            checks = layout_checks(self._body, replace(layout, fill=able.bars, fit=able.fit))
            found[key] = all(check.verdict != FAILS for check in checks)
        return found[key]

    def _is_fed(self, candidate: Candidate, able: _Able) -> bool:
        """Whether the drivers that are there, set as they are, feed it, whichever of the cavities is a misfit."""
        if not candidate.drivers:
            return True
        found, layout = self._body.catalogue.fed_instead, candidate.layout
        key = (candidate.fed_by, layout.ids, able.ids, len(layout.rows), layout.cavities, layout.feeds)
        if key not in found:
            instead = _misfitted(candidate, replace(layout, fill=able.bars))
            found[key] = all(_feeds(self._body, candidate, each) for each in instead)
        return found[key]

    def _instead(self, layout: Layout, shorter: _Able) -> list[SpareBars]:
        """Bars of the shorter row that are not at hand among those that did not go in; counted once for a catalogue."""
        found, key = self._body.catalogue.instead, (layout.ids, shorter.ids)
        if key not in found:
            found[key] = _not_at_hand(layout.fill, shorter.bars)
        return found[key]


class _Able(NamedTuple):
    """A row of bars that fits, with its ids and what it measures at most [1/320 mm]."""

    bars: tuple[CatalogueItemView, ...]
    ids: tuple[str, ...]
    fit: Fit
    length_ticks: int


class _OfRow(NamedTuple):
    """Misfits of a row of bars on average, as if all rows of the body got it, and rows that are short enough to go in instead."""

    expected: float
    shorter: list[_Able]


def _snug_ticks(fit: Fit) -> int:
    """What a row needs without the gaps wanted at its ends: less, and it does not go in, or presses when it is warm."""
    return int(fit["terms"]["needed_ticks"] - fit["terms"]["end_gaps_ticks"])


def _length_ticks(fit: Fit) -> int:
    """What a row measures at most."""
    return int(sum(fit["terms"][name] for name in ("bars_ticks", "tolerance_ticks", "joints_ticks")))


def _feeds(body: Body, candidate: Candidate, bars: Sequence[Spot]) -> bool:
    """Whether the drivers that are there, set as they are, feed such bars instead; what another group asked alike is known."""
    wiring, found = candidate.wiring, body.catalogue.fed_instead
    lie = tuple((spot.where, spot.bar["id"]) for spot in bars)
    key = (candidate.fed_by, lie)
    if key not in found:
        fed = fed_by(candidate.driver, bars, candidate.drivers, wiring.on_an_output, wiring.setting_ma)
        found[key] = fed is not None and worst(fed.checks) == PASSES
    return found[key]


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


def _not_at_hand(fill: tuple[CatalogueItemView, ...], shorter: tuple[CatalogueItemView, ...]) -> list[SpareBars]:
    """Bars of a shorter row that are not at hand among those that did not go in."""
    by_id = {bar["id"]: bar for bar in shorter}
    more = Counter(bar["id"] for bar in shorter) - Counter(bar["id"] for bar in fill)
    return [{"item": item, "code": code_of(by_id[item]), "count": count} for item, count in sorted(more.items())]
