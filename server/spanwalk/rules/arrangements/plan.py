"""Every way to convert a group, judged, ranked and explained.

Candidates come from the kinds of arrangement, one module each. A candidate is a layout of bars, drivers
and one setting. Those that fail a check are rejected with the check and the number; those that lack
knowledge stay in, but are no yes. Among those that give the light that is wanted, the lowest
life-cycle cost comes first.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Protocol

from spanwalk.rules import driver as driver_rules
from spanwalk.rules import energy, waste
from spanwalk.rules.arrangements import (
    bars_end_to_end,
    blockers,
    fed_from_neighbour,
    fewer_rows,
    not_by_this_method,
    one_bar_in_each_row,
    shared_ballast,
    site_figures,
    telling,
)
from spanwalk.rules.arrangements.body import Body, Record
from spanwalk.rules.arrangements.candidate import (
    MOST_DRIVERS,
    Candidate,
    accessory_checks,
    drivers_for,
    layout_checks,
    lumens_each,
    with_driver,
)
from spanwalk.rules.arrangements.layout import Layout
from spanwalk.rules.arrangements.now import Now, now
from spanwalk.rules.arrangements.room_light import density_of, light_today
from spanwalk.rules.arrangements.wanted import Wanted, check_light, wanted_light
from spanwalk.rules.arrangements.worth import Worth, worth_of
from spanwalk.rules.checks import CANNOT_TELL, FAILS, PASSES, Check, exact, fails, plain

Json = Any
SHOWN = 12
"""Feasible candidates that a plan shows in full."""
NEVER = float("inf")


class Kind(Protocol):
    """A kind of arrangement: one module."""

    def applies(self, body: Body) -> bool:
        """Whether it is one for this body."""

    def propose(self, body: Body) -> Iterator[Layout]:
        """Its layouts."""


KINDS: tuple[Any, ...] = (one_bar_in_each_row, bars_end_to_end, fewer_rows, shared_ballast, fed_from_neighbour)


@dataclass(frozen=True)
class Judged:
    """A candidate with its light judged and its worth reckoned."""

    candidate: Candidate
    worth: Worth

    @property
    def rank(self) -> tuple[Json, ...]:
        """Sure ones first, then the lowest life-cycle cost to the cent, watts, cost, and at last the name."""
        lcc = round(self.worth.result.lcc, 2) if self.worth.result else NEVER
        cost = round(self.worth.cost, 2) if self.worth.cost is not None else NEVER
        return (self.candidate.verdict != PASSES, lcc, plain(self.candidate.watts_each), cost, self.candidate.name)


def plan_group(body: Body, shown: int = SHOWN) -> dict[str, Json]:
    """The plan of one group.

    Parameters
    ----------
    body : Body
        The group and all it hangs on, its fits already judged.
    shown : int
        Number of feasible candidates to tell whole [candidates]; 0: only the proposal without its checks, and neither feasible nor rejected ones.

    Returns
    -------
    dict
        ``state`` (`ready`, `open`, `nothing passes` or `not by this method`), ``blockers`` (what keeps it from
        being released, codes and facts), ``instead`` (reasons against the method, with what to do),
        ``now``, ``proposal`` (the first of the ranked candidates, whole) or None, ``side_by_side`` (names:
        recommended, one bar per lamp, brightest, dimmest), ``feasible`` (best ones, whole),
        ``feasible_count``, ``rejected`` (each with the check that failed and by how much), ``why``, ``wanted``
        (the light wanted, with its source), ``density``, ``site_values`` (figures of the site that it rests on, codes and facts),
        ``trial`` (code of why lumens mislead in such a body, or None), ``cautions``, ``waste``. The same records give the same plan.
    """
    current = now(body)
    against = list(not_by_this_method.reasons(body))
    feasible, rejected = ([], []) if against else judge_candidates(body, current)
    chosen = chosen_arrangement(body)
    feasible.sort(key=lambda each: (each.candidate.name != chosen, each.rank))
    best = [telling.told(body, each.candidate, current, each.worth) for each in feasible[: max(shown, 1)]]
    proposal = best[0] if best else None
    blocked = blockers.found(body, proposal, rejected, against)
    cautions = blockers.cautions(body, proposal)
    if proposal is not None and not shown:
        proposal = {name: value for name, value in proposal.items() if name != "checks"}
    wanted, density = wanted_light(body, current).facts, density_of(body, current, proposal)
    return {
        "group": body.group["id"],
        "kind": body.kind["id"],
        "room": body.room["id"],
        "fixtures": body.fixtures,
        "state": _state(against, proposal, blocked),
        "blockers": blocked,
        "instead": against,
        "now": light_today(body, current),
        "proposal": proposal,
        "side_by_side": _side_by_side(body, feasible),
        "feasible": best if shown else [],
        "feasible_count": len(feasible),
        "rejected": rejected if shown else [],
        "why": _why(feasible, rejected, chosen),
        "wanted": wanted,
        "density": density,
        "site_values": site_figures.used(body, current, wanted, density),
        "trial": (body.body_row or {}).get("trial"),
        "cautions": cautions,
        "waste": _waste(body, current),
    }


def chosen_arrangement(body: Body) -> str | None:
    """The arrangement that the manager chose by name, if one was; it comes before all others that pass."""
    decision = body.of_group("decision")
    by_name = decision.get("decision") == "convert with this arrangement"
    return decision.get("arrangement") if by_name else None


def _state(against: list[dict[str, Json]], proposal: Mapping[str, Json] | None, blocked: list[dict[str, Json]]) -> str:
    if against:
        return "not by this method"
    if proposal is None:
        return "nothing passes"
    return "open" if blocked else "ready"


def judge_candidates(body: Body, current: Now) -> tuple[list[Judged], list[dict[str, Json]]]:
    """All feasible candidates, unranked, and all rejected ones, each by the check that it failed.

    A layout that fails by itself is rejected once; a driver that fails with a layout is rejected at the
    setting that came furthest.
    """
    wanted = wanted_light(body, current)
    feasible: list[Judged] = []
    rejected: list[dict[str, Json]] = []
    for layout, checks in _layouts(body):
        failed = first_failed(checks)
        if failed is not None:
            rejected.append(_rejected(layout.name, failed))
            continue
        candidates = _followers(body, layout, checks) if layout.feeds == 0 else None
        for some in [candidates] if candidates is not None else _by_driver(body, layout, checks, rejected):
            lit = [_with_light(each, check_light(each, body.fixtures, wanted)) for each in some]
            good = [each for each in lit if each.verdict != FAILS]
            feasible += [Judged(each, worth_of(body, each, current)) for each in good]
            if lit and not good:
                rejected.append(_nearest(lit))
    if body.is_fed_by_neighbour:
        rejected.append(_rejected("a driver in this body", fails("own-feed")))
    return feasible, rejected


def _layouts(body: Body) -> Iterator[tuple[Layout, tuple[Check, ...]]]:
    """Layouts of every kind of arrangement that applies, with what they and the group's duty are checked for."""
    accessories = accessory_checks(body)
    if body.feeds_neighbour:
        accessories.append(shared_ballast.check_partner(body))
    for kind in KINDS:
        if kind.applies(body):
            for layout in kind.propose(body):
                yield layout, (*layout_checks(body, layout), *accessories)


def _by_driver(
    body: Body, layout: Layout, before: tuple[Check, ...], rejected: list[dict[str, Json]]
) -> Iterator[list[Candidate]]:
    """For each driver of the catalogue its candidates that pass, one for each setting; failed ones go to `rejected`."""
    for driver in body.catalogue.drivers:
        facet, fed = driver["facets"]["driver"], len(layout.bars_fed)
        drivers = drivers_for(facet, fed)
        if drivers is None:
            failed = fails("driver.outputs", outputs=facet["outputs"], bars=fed, drivers=MOST_DRIVERS)
            rejected.append(_rejected(f"{layout.name}; {_code(driver)}", failed))
            continue
        checks = (*before, *_place_checks(body, driver, drivers))
        # What fails whatever the setting needs to be tried at one only.
        settings = sorted(facet["settings_ma"])[: None if first_failed(checks) is None else 1]
        tried = [with_driver(body, layout, driver, drivers, setting, checks) for setting in settings]
        good = [each for each in tried if each.verdict != FAILS]
        if good:
            yield good
        else:
            furthest = max(tried, key=lambda each: (_passed_before_failing(each), -each.setting_ma))
            rejected.append(_rejected(furthest.name, first_failed(furthest.checks)))


def _place_checks(body: Body, driver: Record, drivers: int) -> list[Check]:
    """Checks of a driver in this body, made once for all layouts."""
    key = (driver["id"], drivers)
    if key not in body.places:
        body.places[key] = driver_rules.check_place(driver["facets"]["driver"], drivers, body.place)
    return body.places[key]


def _followers(body: Body, layout: Layout, before: tuple[Check, ...]) -> list[Candidate]:
    """The one candidate of a body that is fed from its neighbour: same current, nothing of its own to choose."""
    proposal = fed_from_neighbour.followed(body)
    if proposal is None:
        return []
    each_ma = exact(proposal["setting_ma"])
    if proposal["bars_on_one"]:
        each_ma = exact(proposal["setting_ma"]) / (proposal["bars_on_one"] if proposal["shared"] else 1)
    bars = [bar["facets"]["bar"] for bar in layout.bars]
    bars_w = sum((exact(bar["forward_v"]) * each_ma / 1000 for bar in bars), exact(0))
    watts = energy.mains_watts(float(bars_w), proposal["efficiency_pct"])
    driver = body.catalogue.by_id.get(proposal["driver_item"])
    lumens = lumens_each(body, layout, each_ma)
    return [Candidate(layout, driver, 0, proposal["setting_ma"], proposal["bars_on_one"], before, bars_w, watts, lumens)]


def _with_light(candidate: Candidate, check: Check) -> Candidate:
    values = {name: getattr(candidate, name) for name in candidate.__dataclass_fields__}
    return Candidate(**values | {"checks": (*candidate.checks, check)})


def first_failed(checks: tuple[Check, ...]) -> Check | None:
    """The first check that fails, in the order in which they were made."""
    return next((check for check in checks if check.verdict == FAILS), None)


def _passed_before_failing(candidate: Candidate) -> int:
    return next((at for at, check in enumerate(candidate.checks) if check.verdict == FAILS), len(candidate.checks))


def _nearest(lit: list[Candidate]) -> dict[str, Json]:
    """The setting whose light misses by least stands for its driver."""
    nearest = min(lit, key=lambda each: (each.checks[-1].facts["off_by_pct"], each.setting_ma))
    return _rejected(nearest.name, nearest.checks[-1])


def _rejected(name: str, failed: Check | None) -> dict[str, Json]:
    assert failed is not None
    return {"arrangement": name, **failed.told()}


def _code(item: Record) -> str:
    return str(item["facets"]["identity"]["code"])


# -- what a plan tells about itself


def _side_by_side(body: Body, feasible: list[Judged]) -> dict[str, str | None]:
    """Names of four candidates to compare: recommended, the best with a bar for each lamp, brightest, dimmest."""
    if not feasible:
        return {}
    full = [each for each in feasible if len(each.candidate.layout.rows) == body.rows]
    lit = [each for each in feasible if each.candidate.lumens_each is not None]
    by_light = sorted(lit, key=lambda each: (round(each.candidate.lumens_each or 0), each.rank))
    return {
        "recommended": feasible[0].candidate.name,
        "one_bar_per_lamp": full[0].candidate.name if full else None,
        "brightest": by_light[-1].candidate.name if by_light else None,
        "dimmest": by_light[0].candidate.name if by_light else None,
    }


def _why(feasible: list[Judged], rejected: list[dict[str, Json]], chosen: str | None) -> list[dict[str, Json]]:
    """Why the first one comes first."""
    if not feasible:
        return [{"code": "plan.why.nothing", "facts": {"rejected": len(rejected)}}]
    first = feasible[0]
    said = [{"code": "plan.why.counted", "facts": {"feasible": len(feasible), "rejected": len(rejected)}}]
    sure = sum(each.candidate.verdict == PASSES for each in feasible)
    if first.candidate.name == chosen:
        return [*said, {"code": "plan.why.decided", "facts": {}}]
    if first.candidate.verdict == CANNOT_TELL:
        return [*said, {"code": "plan.why.none-is-sure", "facts": {}}]
    if first.worth.result is None:
        return [*said, {"code": "plan.why.fewest-watts", "facts": {"missing": ", ".join(first.worth.missing)}}]
    facts = {"lcc": round(first.worth.result.lcc, 2), "lcc_as_is": round(first.worth.result.lcc_as_is, 2)}
    said.append({"code": "plan.why.cheapest", "facts": facts})
    if sure > 1 and feasible[1].worth.result is not None:
        more = round(feasible[1].worth.result.lcc - first.worth.result.lcc, 2)
        said.append({"code": "plan.why.next", "facts": {"arrangement": feasible[1].candidate.name, "more": more}})
    if first.worth.result.npv < 0:
        said.append({"code": "plan.why.does-not-pay", "facts": {"npv": round(first.worth.result.npv, 2)}})
    return said


def _waste(body: Body, current: Now) -> dict[str, Json]:
    counted = body.of_kind("ballast").get("ballast_count")
    found = waste.waste_of(
        body.fixtures,
        body.lamps_each,
        body.of_kind("lamps"),
        body.of_kind("ballast"),
        counted,
        body.emergency_fixtures,
        current.ballasts_each,
    )
    return dict(found.__dict__)


__all__ = ["KINDS", "Kind", "Wanted", "first_failed", "judge_candidates", "plan_group"]
