"""Which way to convert a group is best once only money, hours or the light wanted are others: what passes fit and electrics is kept.

A plan finds the ways that pass fit, electrics and duty (`choosing.Way`). They hang on neither prices of energy and labour
nor on the policy of light, and hours only change how much light and money they come to. Kept, they are weighed again by
the planner's own rules, without judging a cavity or wiring a driver. Groups for which the same passes share one set.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import cached_property
from typing import NamedTuple, cast

from spanwalk.rules.arrangements import to_json as telling
from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.candidate import Candidate, Lamplight
from spanwalk.rules.arrangements.choosing import blockers
from spanwalk.rules.arrangements.choosing.choosing import Judged, Way, checked, look_in, passing, with_light_checked
from spanwalk.rules.arrangements.choosing.economics import BoughtKey, OfSite, Worths
from spanwalk.rules.arrangements.choosing.spares import misfits_of
from spanwalk.rules.arrangements.choosing.wanted import Wanted, judge_light, wanted_light
from spanwalk.rules.arrangements.layout import Layout, fills
from spanwalk.rules.arrangements.now import Now, now
from spanwalk.rules.arrangements.plan import chosen_arrangement, plan_in_short, plan_of_first, plan_of_nothing
from spanwalk.rules.arrangements.plan_types import Misfits, PackFacts, PlanInShort, Weighed
from spanwalk.rules.arrangements.ways import not_by_this_method
from spanwalk.rules.arrangements.wiring.driver_options import Fed
from spanwalk.rules.gear.checks import PASSES, worst
from spanwalk.rules.judging.judgement_types import Fit
from spanwalk.rules.light.light import NewLight

NEARLY = 0.01
SURELY_DIM = 1 - NEARLY
"""Shares of the light wanted within which it is judged to the last bit; `light.judge` rounds to a tenth of a per cent."""
NEAR, LAST_BITS = 0.02, 1e-9
"""Life-cycle costs so near the least are reckoned whole: two cents, since ranks go by whole ones, and what floats may be off by."""
BOUGHT_MOST = 1_000
"""Counts of parts that a set keeps, about 250 bytes each; beyond them it starts anew."""


class Setting(NamedTuple):
    """One setting of a way, with its candidate [mA]; whether all that was checked of it but its light is a yes; see `Ways.alike`."""

    way: Way
    fed: Fed
    candidate: Candidate
    setting_ma: int
    is_sure: bool
    same: tuple[object, ...]


class Ways:
    """Ways that pass for one group or for many alike, with what is the same for all of them.

    Parameters
    ----------
    ways : sequence of Way
        What passes; what is of one group alone, the verdict on its cavity and the facts of its pack, is left out.
    key : tuple
        What tells them from others: see `alike_key`.
    """

    def __init__(self, ways: Sequence[Way], key: tuple[object, ...]) -> None:
        self.key = key
        layouts: dict[int, Layout] = {}
        self.ways = tuple(_stripped(each, layouts) for each in ways)
        self.bought: dict[BoughtKey, tuple[float | None, float]] = {}

    @cached_property
    def settings(self) -> tuple[Setting, ...]:
        """Every setting of every way."""
        found = []
        for way in self.ways:
            parts = _parts_of(way)
            for fed in way.each.good:
                candidate = Candidate(way.layout, way.each.driver, fed.wiring, (), None, way.packed)
                is_sure = way.is_sure and worst(fed.checks) == PASSES
                same = (is_sure, parts, fed.wiring.shape)
                found.append(Setting(way, fed, candidate, fed.setting_ma, is_sure, same))
        return tuple(found)

    @cached_property
    def settings_ma(self) -> list[int]:
        """How each setting is set, by its place [mA]."""
        return [each.setting_ma for each in self.settings]

    @cached_property
    def alike(self) -> dict[bool, list[tuple[int, ...]]]:
        """Whether they are sure -> places of settings that differ in their current, and so in watts, alone; the least first.

        Of those that differ in which rows are used alone, only the first stands here: see `twins`.
        """
        found: dict[tuple[object, ...], list[int]] = {}
        for places in self.twins.values():
            each = self.settings[places[0]]
            found.setdefault(each.same, []).append(places[0])
        by_sure: dict[bool, list[tuple[int, ...]]] = {True: [], False: []}
        for (is_sure, *_), places in found.items():
            places.sort(key=lambda place: self.settings[place].setting_ma)
            by_sure[bool(is_sure)].append(tuple(places))
        return by_sure

    @cached_property
    def twins(self) -> dict[tuple[object, ...], list[int]]:
        """Places of settings with the same parts, light and watts: they differ in looks and names."""
        found: dict[tuple[object, ...], list[int]] = {}
        for place, each in enumerate(self.settings):
            found.setdefault((each.setting_ma, each.same), []).append(place)
        return found

    @cached_property
    def twins_of(self) -> dict[int, list[int]]:
        """The same by the first of them."""
        return {places[0]: places for places in self.twins.values()}

    @cached_property
    def by_name(self) -> dict[str, int]:
        """Name of an arrangement -> its place."""
        return {each.candidate.name: place for place, each in enumerate(self.settings)}

    def counts(self) -> dict[BoughtKey, tuple[float | None, float]]:
        """What was counted of parts already; emptied where it has grown too large."""
        if len(self.bought) > BOUGHT_MOST:
            self.bought.clear()
        return self.bought


def _parts_of(way: Way) -> tuple[object, ...]:
    """What parts, light and watts of a way hang on, beside its setting."""
    layout, pack = way.layout, None if way.packed is None else way.packed.pack["id"]
    fill = tuple(bar["id"] for bar in layout.fill)
    return (fill, len(layout.rows), layout.cavities, layout.feeds, id(way.each), pack)


def _stripped(way: Way, layouts: dict[int, Layout]) -> Way:
    packed = None if way.packed is None else replace(way.packed, checks=(), told=cast("PackFacts", {}))
    layout = layouts.setdefault(id(way.layout), replace(way.layout, fit=cast("Fit", {})))
    return replace(way, layout=layout, packed=packed)


def alike_key(ways: Iterable[Way]) -> tuple[object, ...]:
    """What tells sets of ways of one catalogue apart: equal keys, equal sets."""
    return tuple(
        (
            way.layout.kind,
            way.layout.rows,
            tuple(bar["id"] for bar in way.layout.fill),
            way.layout.cavities,
            way.layout.feeds,
            id(way.each),
            None
            if way.packed is None
            else (way.packed.pack["id"], way.packed.bar["id"], way.packed.row, way.packed.place),
            way.is_sure,
        )
        for way in ways
    )


class Best(NamedTuple):
    """The best setting of a group by its place, what it comes to, and whether it is known to give the light that is wanted."""

    place: int
    weighed: Weighed
    is_lit: bool


Lit = dict[bool, tuple[tuple[object, ...], Sequence[int]]]
"""Whether they are sure -> what light was wanted, and places of the settings that gave it, one of those that differ in watts alone."""


def best_of(body: Body, current: Now, ways: Ways, of_site: OfSite | None = None, lit: Lit | None = None) -> Best | None:
    """The arrangement that a plan would propose of kept ways, with what of it hangs on money, hours and light.

    The same comes out as of `plan.plan_in_short` of the same body, which need not be judged here.

    Parameters
    ----------
    body : Body
        The group, of which no partner is planned with it.
    current : Now
        As it is.
    ways : Ways
        What passes fit, electrics and duty.
    of_site : OfSite, optional
        What is the same for all groups of the site.
    lit : Lit, optional
        Which settings gave the light that was wanted of the group before; it holds what was found last.

    Returns
    -------
    Best or None
        None where nothing gives the light that is wanted.
    """
    weighing = Weighing(body, current, ways, of_site, lit)
    place = weighing.best()
    return None if place is None else weighing.told(place)


def plan_weighed(
    body: Body, share: Callable[[Sequence[Way]], Ways], known: Ways | None = None
) -> tuple[PlanInShort, Ways | None]:
    """What `plan.plan_in_short` tells, without the light and money of every candidate: of like ones the best is soon found.

    Parameters
    ----------
    body : Body
        The group, judged.
    share : callable
        Gives ways in their place among those of groups alike.
    known : Ways, optional
        Those that pass, where nothing that they hang on is another.

    Returns
    -------
    tuple of PlanInShort and Ways
        The plan, and the ways that pass; None of a body that its neighbour is planned with.
    """
    if body.feeds_neighbour or body.is_fed_by_neighbour or any(True for _ in not_by_this_method.reasons(body)):
        found: list[Way] = []
        plan = plan_in_short(body, found)
        return plan, None if body.partner is not None else share(found)
    current = now(body)
    found_now = passing(body, current) if known is None else None
    ways = known if found_now is None else share(found_now.ways)
    assert ways is not None
    first = Weighing(body, current, ways).first()
    if first is not None:
        return plan_of_first(body, current, first), ways
    # How much was rejected is told where nothing passes.
    return (plan_in_short(body) if found_now is None else plan_of_nothing(body, current, found_now.tried)), ways


class Weighing:
    """Ways of one group, as they are weighed.

    Parameters
    ----------
    body : Body
        The group, of which no partner is planned with it.
    current : Now
        As it is.
    ways : Ways
        What passes fit, electrics and duty.
    of_site, lit
        See `best_of`.
    """

    def __init__(
        self, body: Body, current: Now, ways: Ways, of_site: OfSite | None = None, lit: Lit | None = None
    ) -> None:
        self._body, self._current, self._ways = body, current, ways
        self._wanted: Wanted = wanted_light(body, current)
        self.worths = Worths(body, current, ways.counts(), of_site)
        self._known_lit: Lit = {} if lit is None else lit
        self._lights: dict[int, Lamplight] = {}
        self._fewer_watts_cost_less = self.worths.fewer_watts_cost_less
        self.knows_light = self._wanted.lumens is not None and body.body_row is not None
        """Whether it is known what light is wanted, and what a bar gives in the body."""

    def best(self) -> int | None:
        """The setting that a plan would propose; None where nothing gives the light that is wanted."""
        chosen = chosen_arrangement(self._body)
        place = self.named(chosen) if chosen is not None else None
        if place is None:
            place = self.least(sure=True)
        return self.least(sure=False) if place is None else place

    def first(self) -> Judged | None:
        """The same with every check, its light and worth."""
        place = self.best()
        if place is None:
            return None
        body, setting = self._body, self._ways.settings[place]
        candidate = with_light_checked(body, _whole(body, self._current, setting), self.light(place), self._wanted)
        return Judged(candidate, self.worths.of(candidate), look_in(body, candidate.layout))

    def named(self, name: str) -> int | None:
        """The setting of a name, if it gives the light that is wanted."""
        place = self._ways.by_name.get(name)
        return place if place is not None and self._is_lit(place) else None

    def least(self, *, sure: bool) -> int | None:
        """The best of those that are sure, or of the others."""
        found = self._every_lit(sure)
        if not found:
            return None
        near = [twin for place in self._near(found) for twin in self._ways.twins_of[place]]
        return near[0] if len(near) == 1 else min(near, key=lambda place: self._judged(place).rank)

    def _every_lit(self, sure: bool) -> Sequence[int]:
        """Places of all that may be the best; looked up where the same light was wanted before."""
        wanted = (
            self.knows_light,
            self._wanted.lumens,
            self._wanted.ceiling_share,
            self._body.light_hours,
            self._fewer_watts_cost_less,
        )
        known = self._known_lit.get(sure)
        if known is not None and known[0] == wanted:
            return known[1]
        alike = self._ways.alike
        if self.knows_light:
            sets = alike[sure]
        else:
            sets = [] if sure else [*alike[True], *alike[False]]
        found = tuple(place for places in sets for place in self._lit(places))
        self._known_lit[sure] = (wanted, found)
        return found

    def _near(self, places: Sequence[int]) -> Sequence[int]:
        """Those whose life-cycle cost may be the least to the cent; all, where that of one is not known."""
        if len(places) == 1:
            return places
        rough: list[float] = []
        for place in places:
            found = self.worths.roughly(self._ways.settings[place].candidate)
            if found is None:
                return list(places)
            rough.append(found)
        most = min(rough)
        most += NEAR + abs(most) * LAST_BITS
        return [place for place, each in zip(places, rough, strict=True) if each <= most]

    def told(self, place: int) -> Best:
        """A setting as plans tell it."""
        setting = self._ways.settings[place]
        candidate = replace(setting.candidate, light_each=self.light(place))
        weighed = telling.weighed(self._body, candidate, self._current, self.worths.of(setting.candidate))
        return Best(place, weighed, self.knows_light)

    def _judged(self, place: int) -> Judged:
        candidate = self._ways.settings[place].candidate
        return Judged(candidate, self.worths.of(candidate), look_in(self._body, candidate.layout))

    def _lit(self, places: Sequence[int]) -> Iterator[int]:
        """Of settings that differ in watts alone those that give the light wanted; only the first, where it surely costs least."""
        for place in self.lit(places):
            yield place
            if self._fewer_watts_cost_less:
                return

    def lit(self, places: Sequence[int]) -> Iterator[int]:
        """Of settings that differ in watts alone those that give the light wanted, the least first.

        Parameters
        ----------
        places : sequence of int
            Places of settings: one of `Ways.alike`.
        """
        set_ma, each_ma = self._ways.settings_ma, self._lit_by_a_ma(places[0])
        if each_ma is None:
            yield from (place for place in places if self._is_lit(place))
            return
        least_each, most_each = each_ma
        ceiling = self._wanted.ceiling_share
        if not least_each:
            return
        # What is surely too dim or too bright is passed over; between them only what is near a limit is judged.
        dim_ma, bright_ma = SURELY_DIM / least_each, (ceiling + NEARLY) / most_each
        sure_ma, no_more_ma = (1 + NEARLY) / least_each, (ceiling - NEARLY) / most_each
        first = bisect_left(places, dim_ma, key=set_ma.__getitem__)
        near = places[first : bisect_right(places, bright_ma, lo=first, key=set_ma.__getitem__)]
        yield from (place for place in near if sure_ma < set_ma[place] < no_more_ma or self._is_lit(place))

    def _lit_by_a_ma(self, place: int) -> tuple[float, float] | None:
        """Share of the light wanted that each mA gives at the horizon and on day one: light goes with the current; None: not known."""
        lit, each = self.light(place), self._ways.settings[place]
        if not self.knows_light or lit is None or not self._wanted.lumens or not each.setting_ma:
            return None
        by = self._body.fixtures / self._wanted.lumens / each.setting_ma
        return lit.maintained_lm * by, lit.day_one_lm * by

    def _is_lit(self, place: int) -> bool:
        if not self.knows_light:
            return True
        judged = judge_light(self.light(place), self._body.fixtures, self._wanted)
        return judged is None or judged.verdict == "enough"

    def light(self, place: int) -> NewLight | None:
        """Light that leaves one body with a setting, by its place [lm]; None where the body is not in the tables."""
        setting = self._ways.settings[place]
        # Light hangs on the bars of a cavity, not on which rows are used.
        bars = id(setting.way.layout.fill)
        if bars not in self._lights:
            self._lights[bars] = Lamplight(self._body, setting.way.layout)
        return self._lights[bars].of(setting.fed.here_w)


class Standing(NamedTuple):
    """What holds of a group with one arrangement whatever money, hours and light are: whether it is held back; misfits."""

    is_blocked: bool
    misfits: Misfits | None


def standing_of(body: Body, current: Now, setting: Setting) -> Standing:
    """What keeps a group from being released with a setting, its light apart, and what to be ready for.

    Parameters
    ----------
    body : Body
        The group, judged.
    current : Now
        As it is.
    setting : Setting
        What would be fitted.
    """
    candidate = _whole(body, current, setting)
    return Standing(bool(blockers.found(body, candidate, 0, [])), misfits_of(body, candidate))


def _whole(body: Body, current: Now, setting: Setting) -> Candidate:
    """A setting as a candidate of one group, with how its cavities fit and every check but that of its light."""
    way, layout = setting.way, setting.way.layout
    ids = [bar["id"] for bar in layout.fill]
    fit = next(fit for bars, fit in fills(body) if [bar["id"] for bar in bars] == ids)
    return checked(body, current, replace(way, layout=replace(layout, fit=fit)), setting.fed)


__all__ = [
    "Best",
    "Lit",
    "Setting",
    "Standing",
    "Ways",
    "Weighing",
    "alike_key",
    "best_of",
    "plan_weighed",
    "standing_of",
]
