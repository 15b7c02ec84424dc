"""Every sure arrangement of a group, of the ways that are kept: what an order for many groups is chosen among.

Planning anew finds the same, and judges every cavity and every driver again for it. What differs from another in its current
alone and takes more watts is left out where fewer watts cost less: it runs for more, asks for no more rebate, and what a meter's
ratchet takes back of the load saved in the first year is less than what that saves (`problem.pruned` weighs the same). Where at
least some share of today's light is wanted, the first that gives it stands beside the first of all.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.choosing.blockers import HeldBack
from spanwalk.rules.arrangements.choosing.choosing import look_in
from spanwalk.rules.arrangements.choosing.economics import OfSite, Worth
from spanwalk.rules.arrangements.choosing.spares import ReadyFor
from spanwalk.rules.arrangements.choosing.weighing import Setting, Ways, Weighing
from spanwalk.rules.arrangements.layout import fills
from spanwalk.rules.arrangements.now import Now
from spanwalk.rules.arrangements.plan_types import Misfits
from spanwalk.rules.arrangements.to_json import share_of_today_pct
from spanwalk.rules.gear.checks import plain
from spanwalk.rules.judging.judgement_types import Fit
from spanwalk.rules.light.light import NewLight

NEARLY_THE_SAME = 0.03
"""What differs by no more may be the same once it is rounded to the cent [currency]."""


class Sure(NamedTuple):
    """A sure arrangement of a group.

    `light` is that of one body [lm]; `misfits` what to be ready for; `is_held_back` says whether anything keeps the group from
    being released with it.
    """

    setting: Setting
    worth: Worth
    light: NewLight | None
    misfits: Misfits | None
    is_held_back: bool
    look: int

    @property
    def rank(self) -> tuple[float, float, float, int, str]:
        """As plans rank what is sure: life-cycle cost to the cent, watts, cost, looks, and at last the name."""
        worth, candidate = self.worth, self.setting.candidate
        lcc = float("inf") if worth.result is None else round(worth.result.lcc, 2)
        cost = float("inf") if worth.cost is None else round(worth.cost, 2)
        return (lcc, plain(candidate.watts_each), cost, self.look, candidate.name)


def sure_ways(
    body: Body, current: Now, ways: Ways, least_light_pct: float | None = None, of_site: OfSite | None = None
) -> list[Sure]:
    """Every sure arrangement whose money is known, the best first.

    Parameters
    ----------
    body : Body
        The group, judged, on which nobody decided and which shares no ballast.
    current : Now
        As it is.
    ways : Ways
        What passes fit, electrics and duty.
    least_light_pct : float or None
        Share of today's light that is looked for [%]; what gives less is not left out.
    of_site : OfSite, optional
        What is the same for all groups of the site.
    """
    found = list(_SureWays(body, current, ways, least_light_pct, of_site).every())
    return sorted(found, key=lambda each: each.rank)


class _SureWays:
    """Sure arrangements of one group as they are found."""

    def __init__(
        self, body: Body, current: Now, ways: Ways, least_light_pct: float | None, of_site: OfSite | None
    ) -> None:
        self._body, self._ways = body, ways
        self._current, self._least_light_pct = current, least_light_pct
        self._weighing = Weighing(body, current, ways, of_site)
        self._with_beaten = not self._weighing.worths.fewer_watts_cost_less
        self._ready, self._held_back = ReadyFor(body), HeldBack(body)
        self._fits: dict[tuple[str, ...], Fit] = {}
        for bars, fit in fills(body):
            self._fits.setdefault(tuple(bar["id"] for bar in bars), fit)

    def every(self) -> Iterator[Sure]:
        """All of them; none where it is not known what light is wanted, or given."""
        if self._weighing.knows_light:
            for places in self._ways.alike[True]:
                yield from self._of_alike(places)

    def _of_alike(self, places: Sequence[int]) -> Iterator[Sure]:
        """Of settings that differ in their current alone: for all rows that may be used, and what then lies ready, the least."""
        worths, least = self._weighing.worths, dict[tuple[object, ...], float]()
        for place in self._weighing.lit(places):
            candidate = self._ways.settings[place].candidate
            costs = worths.roughly(candidate)
            if costs is None:
                continue
            is_light = self._is_light(place)
            kept: list[tuple[int, Misfits | None]] = []
            for twin in self._ways.twins_of[place]:
                misfits = self._misfits(twin)
                more = costs - least.setdefault((is_light, *self._same(twin, misfits)), costs)
                if more <= NEARLY_THE_SAME or self._with_beaten:
                    kept.append((twin, misfits))
            if kept:
                worth = worths.of(candidate)
                yield from (self._told(twin, worth, misfits) for twin, misfits in kept)
            elif is_light and not self._ready.is_any:
                return

    def _is_light(self, place: int) -> bool:
        """Whether a setting gives the share of today's light that is looked for."""
        if self._least_light_pct is None:
            return True
        share_pct = share_of_today_pct(self._weighing.light(place), self._body.fixtures, self._current)
        return share_pct is not None and share_pct >= self._least_light_pct

    def _same(self, place: int, misfits: Misfits | None) -> tuple[object, ...]:
        """Which rows are used, and what lies ready beside them."""
        layout = self._ways.settings[place].way.layout
        spare = () if misfits is None else tuple((each["item"], each["count"]) for each in misfits["spare"])
        return (layout.kind, layout.rows, spare)

    def _misfits(self, place: int) -> Misfits | None:
        if not self._ready.is_any:
            return None
        candidate = self._ways.settings[place].candidate
        fit = self._fits[candidate.layout.ids]
        # What a manager accepted on its trial is a decision, and nobody decided here.
        return self._ready.of(candidate, fit, is_accepted=False)

    def _told(self, place: int, worth: Worth, misfits: Misfits | None) -> Sure:
        setting = self._ways.settings[place]
        layout = setting.candidate.layout
        fit = self._fits[layout.ids]
        look = look_in(self._body, layout)
        is_held_back = self._held_back.by(setting.candidate, fit)
        return Sure(setting, worth, self._weighing.light(place), misfits, is_held_back, look)


__all__ = ["Sure", "sure_ways"]
