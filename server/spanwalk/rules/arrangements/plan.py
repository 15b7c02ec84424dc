"""Every way to convert a group, judged, ranked and explained.

Among the candidates that give the light that is wanted (see `choosing`), the lowest life-cycle cost comes first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from spanwalk.rules.arrangements import site_figures
from spanwalk.rules.arrangements import to_json as telling
from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.card.cautions import cautions
from spanwalk.rules.arrangements.choosing import blockers
from spanwalk.rules.arrangements.choosing.choosing import Judged, Rejected, Way, judge_candidates
from spanwalk.rules.arrangements.choosing.economics import uncounted
from spanwalk.rules.arrangements.choosing.spares import misfits_of
from spanwalk.rules.arrangements.choosing.taken_out import taken_out
from spanwalk.rules.arrangements.choosing.wanted import wanted_light
from spanwalk.rules.arrangements.light.light_terms import terms_new, terms_today
from spanwalk.rules.arrangements.light.room_light import density_of, leni_of, light_today
from spanwalk.rules.arrangements.now import Now, now
from spanwalk.rules.arrangements.plan_types import (
    Instead,
    Plan,
    PlanBasis,
    PlanInShort,
    Proposal,
    RejectedTold,
    SideBySide,
    WasteTold,
)
from spanwalk.rules.arrangements.ways import not_by_this_method
from spanwalk.rules.arrangements.wiring.wiring_sentences import wiring_sentences
from spanwalk.rules.gear.checks import CANNOT_TELL, PASSES, plain
from spanwalk.rules.judging.firm_effect import firm_said
from spanwalk.rules.said import Said

SHOWN = 12
"""Feasible candidates that a plan shows in full."""


@dataclass(frozen=True)
class Ranked:
    """What both plans, whole and in short, are told from: the group as it is and its candidates, the best first.

    `rejected` is how many were rejected; `told` tells them, as far as somebody asks.
    """

    current: Now
    against: list[Instead]
    feasible: list[Judged]
    rejected: int
    chosen: str | None
    told: Sequence[Rejected] = ()


def plan_group(body: Body) -> Plan:
    """The plan of one group.

    Parameters
    ----------
    body : Body
        The group and all it hangs on, its fits already judged.

    Returns
    -------
    dict
        What `plan_in_short` tells, its ``proposal`` whole and ``now`` with light, assumptions and sources; and
        ``wiring_told`` (the proposal's wiring in sentences, codes and facts),
        ``side_by_side`` (lists of names: recommended, one bar per lamp, brightest, dimmest), ``feasible`` (best ones, whole),
        ``feasible_count``, ``rejected`` (each with the check that failed and by how much), ``why``, ``wanted``
        (the light wanted, with its source), ``corrected`` (by which readings of light, None where none counts), ``density``, ``uncounted`` (what its money leaves out), ``money_told`` (on what sensors, upkeep and replacements rest, codes and facts), ``light_terms`` (see `light_terms`), ``trial`` (code of why lumens mislead in such a body, or None),
        ``read_of_kind`` (in how many ``fixtures`` of the kind a cavity was read, and whether that is enough for a fit by the lamp).
        The same records give the same plan.
    """
    found = _ranked(body)
    current, feasible, wanted = found.current, found.feasible, wanted_light(body, found.current)
    best = [telling.told(body, each.candidate, current, each.worth) for each in feasible[:SHOWN]]
    proposal = best[0] if best else None
    rejected = [each() for each in found.told]
    return {
        **_common(body, found, proposal),
        "now": light_today(body, current),
        "proposal": proposal,
        "wiring_told": [] if proposal is None else wiring_sentences(proposal),
        "side_by_side": _side_by_side(body, feasible),
        "feasible": best,
        "feasible_count": len(feasible),
        "rejected": rejected,
        "why": [*_why(feasible, rejected, found.chosen, str(body.money.get("currency", ""))), *_of_firm(body)],
        "wanted": wanted.told,
        "corrected": wanted.corrected,
        "density": density_of(body, current, proposal),
        "leni": leni_of(body, current, proposal),
        "uncounted": uncounted(body, proposal["parts"] if proposal else ()),
        "money_told": list(feasible[0].worth.told) if feasible else [],
        "light_terms": {
            "today": terms_today(body, current),
            "new": terms_new(body, feasible[0].candidate) if feasible else [],
        },
        "trial": (body.body_row or {}).get("trial"),
        "read_of_kind": {"fixtures": body.read_of_kind.fixtures, "is_enough": body.read_of_kind.is_enough},
    }


def plan_in_short(body: Body, ways: list[Way] | None = None) -> PlanInShort:
    """The plan of one group, as much of it as lists, sums, releases and neighbours need: made for very many groups.

    Parameters
    ----------
    body : Body
        The group and all it hangs on, its fits already judged.
    ways : list of Way, optional
        Takes what passes apart from light and money: see `choosing.judge_candidates`.

    Returns
    -------
    dict
        ``group``, ``kind``, ``room`` (ids), ``fixtures``, ``state`` (`ready`, `open`, `left as it is`, `deferred`, `nothing passes` or `not by this
        method`), ``partner`` (see `telling.partner_of`), ``blockers`` (what keeps it from being released, codes and facts), ``instead`` (reasons against the
        method, with what to do), ``now`` (`watts`), ``proposal`` (the first of the ranked candidates, see
        `telling.in_short`) or None, ``site_values`` (figures of the site that it rests on, codes and facts),
        ``cautions``, ``waste``, ``misfits`` (see `spares.misfits_of`). What it tells is what `plan_group` tells.
    """
    return _in_short(body, _ranked(body, ways))


def plan_of_first(body: Body, current: Now, first: Judged) -> PlanInShort:
    """What `plan_in_short` tells of a body for which the method is one, where it is known which candidate comes first."""
    return _in_short(body, Ranked(current, [], [first], 0, chosen_arrangement(body)))


def plan_of_nothing(body: Body, current: Now, rejected: int) -> PlanInShort:
    """The same where it is known that nothing passes, and how much was rejected.

    Parameters
    ----------
    body : Body
        The group, judged.
    current : Now
        As it is.
    rejected : int
        How many were rejected [candidates].
    """
    return _in_short(body, Ranked(current, [], [], rejected, chosen_arrangement(body)))


def _in_short(body: Body, found: Ranked) -> PlanInShort:
    first = found.feasible[0] if found.feasible else None
    proposal = None if first is None else telling.in_short(body, first.candidate, found.current, first.worth)
    watts = found.current.watts
    return {
        **_common(body, found, proposal),
        "now": {"watts": None if watts is None else plain(watts)},
        "proposal": proposal,
    }


def _ranked(body: Body, ways: list[Way] | None = None) -> Ranked:
    current, chosen = now(body), chosen_arrangement(body)
    against = list(not_by_this_method.reasons(body))
    feasible, rejected = ([], []) if against else judge_candidates(body, current, ways)
    feasible.sort(key=lambda each: (each.candidate.name != chosen, each.rank))
    return Ranked(current, against, feasible, len(rejected), chosen, rejected)


def _common(body: Body, found: Ranked, proposal: Proposal | None) -> PlanBasis:
    """What both plans tell alike."""
    current, first = found.current, found.feasible[0].candidate if found.feasible else None
    blocked = blockers.found(body, first, found.rejected, found.against)
    wanted, density = wanted_light(body, current).facts, density_of(body, current, proposal)
    return {
        "group": body.group["id"],
        "kind": body.kind["id"],
        "room": body.room["id"],
        "fixtures": body.fixtures,
        "partner": telling.partner_of(body),
        "state": state_of(
            found.against, proposal is not None, bool(blocked), str(body.of_group("decision").get("decision", ""))
        ),
        "blockers": blocked,
        "instead": found.against,
        "site_values": site_figures.used(body, current, wanted, density),
        "from_memory": site_figures.from_memory(body, current, wanted, density),
        "cautions": cautions(body, first),
        "waste": _waste(body, current),
        "misfits": None if first is None else misfits_of(body, first),
    }


def chosen_arrangement(body: Body) -> str | None:
    """The arrangement that the manager chose by name, if one was; it comes before all others that pass."""
    decision = body.of_group("decision")
    by_name = decision.get("decision") == "convert-with-this-arrangement"
    return decision.get("arrangement") if by_name else None


DECIDED = {"leave-as-is": "left as it is", "defer": "deferred"}
"""States of groups that a manager decided not to convert, or not now."""


def state_of(against: Sequence[Instead], is_proposed: bool, is_blocked: bool, decision: str) -> str:
    """The state of a group by reasons against the method, whether anything is proposed or holds it back, and what was decided.

    >>> state_of([], True, False, ""), state_of([], True, False, "defer"), state_of([], False, True, "")
    ('ready', 'deferred', 'nothing passes')
    """
    if against:
        return "not by this method"
    if decision in DECIDED:
        return DECIDED[decision]
    if not is_proposed:
        return "nothing passes"
    return "open" if is_blocked else "ready"


# -- what a plan tells about itself


def _side_by_side(body: Body, feasible: list[Judged]) -> SideBySide:
    """Names to compare: recommended, the best with a bar for each lamp, and all of those that are equally brightest or dimmest."""
    if not feasible:
        return {}
    full = [each.candidate.name for each in feasible if len(each.candidate.layout.rows) == body.rows]
    lit = [
        (round(each.candidate.light_each.maintained_lm), each.candidate.name)
        for each in feasible
        if each.candidate.light_each is not None
    ]
    lumens = [lm for lm, _ in lit]
    return {
        "recommended": [feasible[0].candidate.name],
        "one_bar_per_lamp": full[:1],
        "brightest": [name for lm, name in lit if lm == max(lumens)],
        "dimmest": [name for lm, name in lit if lm == min(lumens)],
    }


def _of_firm(body: Body) -> list[Said]:
    """What closed sites of the firm changed in the judgement, where the site takes their numbers."""
    return [firm_said(body.judged["firm"])] if "firm" in body.judged else []


def _why(feasible: list[Judged], rejected: list[RejectedTold], chosen: str | None, currency: str) -> list[Said]:
    """Why the first one comes first; amounts of money are facts that end in `_money`, beside their currency."""
    if not feasible:
        return [{"code": "plan.why.nothing", "facts": {"rejected": len(rejected)}}]
    first = feasible[0]
    said: list[Said] = [{"code": "plan.why.counted", "facts": {"feasible": len(feasible), "rejected": len(rejected)}}]
    sure = sum(each.candidate.verdict == PASSES for each in feasible)
    if first.candidate.name == chosen:
        return [*said, {"code": "plan.why.decided", "facts": {}}]
    if first.candidate.verdict == CANNOT_TELL:
        return [*said, {"code": "plan.why.none-is-sure", "facts": {}}]
    if first.worth.result is None:
        return [*said, {"code": "plan.why.fewest-watts", "facts": {"missing": ", ".join(first.worth.missing)}}]
    sums = {"lcc_money": round(first.worth.result.lcc, 2), "lcc_as_is_money": round(first.worth.result.lcc_as_is, 2)}
    said.append({"code": "plan.why.cheapest", "facts": {"currency": currency, **sums}})
    if sure > 1 and feasible[1].worth.result is not None:
        more = round(feasible[1].worth.result.lcc - first.worth.result.lcc, 2)
        said.append(
            {
                "code": "plan.why.next",
                "facts": {"arrangement": feasible[1].candidate.name, "currency": currency, "more_money": more},
            }
        )
    if first.worth.result.npv < 0:
        said.append(
            {
                "code": "plan.why.does-not-pay",
                "facts": {"currency": currency, "npv_money": round(first.worth.result.npv, 2)},
            }
        )
    return said


def _waste(body: Body, current: Now) -> WasteTold:
    found = taken_out(body, current)
    return {
        "lamps": found.lamps,
        "lamp": found.lamp,
        "ballasts": found.ballasts,
        "suspicion": found.suspicion,
        "leaking": found.leaking,
        "batteries": found.batteries,
        "battery": found.battery,
        "count_assumed": found.count_assumed,
        "rule": found.rule,
        "lamp_class": found.lamp_class,
        "starters": found.starters,
    }


__all__ = ["chosen_arrangement", "plan_group", "plan_in_short", "plan_of_first", "plan_of_nothing", "state_of"]
