"""What keeps a group from being released."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.candidate import Candidate, arrangement
from spanwalk.rules.arrangements.layout import Layout
from spanwalk.rules.arrangements.plan_types import Instead
from spanwalk.rules.arrangements.ways import not_by_this_method
from spanwalk.rules.arrangements.ways.fed_from_neighbour import followed
from spanwalk.rules.arrangements.ways.shared_ballast import alike, place_of
from spanwalk.rules.arrangements.wiring.driver_options import ChecksInBody
from spanwalk.rules.fit.by_lamp import LEAST_FIXTURES, needs_witness
from spanwalk.rules.fit.not_converted import led_tubes_undecided
from spanwalk.rules.gear.checks import CANNOT_TELL, PASSES
from spanwalk.rules.gear.driver_in_body import NOT_SEEN
from spanwalk.rules.gear.emergency import DUTIES, SECOND_SOURCE
from spanwalk.rules.judging.judgement_types import Fit
from spanwalk.rules.record_types import GroupView
from spanwalk.rules.said import Said
from spanwalk.rules.survey import facet, mark_of, name_of_room

Found = Said
LEFT, DEFERRED = "leave-as-is", "defer"
DECIDED_OTHERWISE = (LEFT, DEFERRED)
"""Decisions by which a group is not converted, or not now."""
DECIDED_CODES = ("plan.blocked.decided-otherwise", "plan.blocked.decided-because")
OF_PARTNER = ("plan.blocked.partner", "plan.partner")
"""Starts of codes that tell what the other body of a pair is held back for."""


def found(body: Body, proposal: Candidate | None, rejected: int, against: list[Instead]) -> list[Found]:
    """Everything that keeps a group from being released.

    Parameters
    ----------
    body : Body
        The group.
    proposal : Candidate or None
        Its first candidate.
    rejected : int
        How many were rejected [candidates].
    against : list of dict
        Reasons against the method.

    Returns
    -------
    list of dict
        `{"code", "facts"}`, in a fixed order; empty if the group may be released.
    """
    if against:
        return [{"code": each["code"], "facts": each["facts"]} for each in against]
    if body.of_group("decision").get("decision") == LEFT:
        # Nothing of it is judged any more, so nothing else is known to hold it back.
        return [each for each in _of_survey(body, proposal) if each["code"] in DECIDED_CODES]
    blockers = list(_of_all_but_lamp(body, proposal, rejected))
    if proposal is not None:
        blockers += _of_lamp(body, proposal.layout, proposal.layout.fit)
    told: list[Found] = []
    for each in blockers:
        if each not in told:
            told.append(each)
    return told


def _of_all_but_lamp(body: Body, proposal: Candidate | None, rejected: int) -> Iterator[Found]:
    """What does not look at the row of bars: the same for all candidates with the same driver, each check of which is a yes."""
    yield from _of_pair(body)
    yield from _of_survey(body, proposal)
    yield from _of_kind(body)
    yield from _of_decision(body, proposal)
    yield from _of_partner(body, proposal)
    yield from _of_proposal(body, proposal, rejected)


class HeldBack:
    """Whether anything keeps a group from being released with candidates of which every check is a yes; what is the same for several is found once.

    Parameters
    ----------
    body : Body
        The group, which shares no ballast.
    """

    def __init__(self, body: Body) -> None:
        self._body = body
        self._checks = ChecksInBody(body)
        # Of the driver only what the ballast's label proves of the volts is looked at, where nobody saw those.
        self._asks_driver = body.of_group("supply").get("volts", NOT_SEEN) == NOT_SEEN
        self._by_group: dict[tuple[object, ...], bool] = {}
        self._by_lamp: dict[tuple[str, ...], bool] = {}

    def by(self, candidate: Candidate, fit: Fit) -> bool:
        """Whether anything does.

        Parameters
        ----------
        candidate : Candidate
            What would be fitted; its own checks, and the fit of its layout, are not looked at.
        fit : mapping
            The verdict on the row of bars of its layout.
        """
        return self._is_by_group(candidate) or self._is_by_lamp(candidate.layout, fit)

    def _is_by_group(self, candidate: Candidate) -> bool:
        key = (candidate.driver["id"], candidate.drivers) if self._asks_driver else ()
        if key not in self._by_group:
            checks = self._checks.checks(candidate.driver, candidate.drivers)[0] if self._asks_driver else ()
            sure = replace(candidate, checks=checks)
            self._by_group[key] = any(True for _ in _of_all_but_lamp(self._body, sure, 0))
        return self._by_group[key]

    def _is_by_lamp(self, layout: Layout, fit: Fit) -> bool:
        if layout.ids not in self._by_lamp:
            self._by_lamp[layout.ids] = any(True for _ in _of_lamp(self._body, layout, fit))
        return self._by_lamp[layout.ids]


def _blocker(name: str, **facts: object) -> Found:
    return {"code": f"plan.blocked.{name}", "facts": facts}


def _of_survey(body: Body, proposal: Candidate | None) -> Iterator[Found]:
    decision = body.of_group("decision").get("decision")
    if decision in DECIDED_OTHERWISE:
        reason = body.of_group("decision").get("reason", "").strip()
        because = {"reason": reason} if reason else {}
        yield _blocker("decided-because" if reason else "decided-otherwise", decision=decision, **because)
    if not body.fixtures:
        yield _blocker("no-count")
    if body.group["conflicts"] or body.kind["conflicts"]:
        yield _blocker("conflict")
    for doubt in body.doubts:
        yield _blocker("reading-questioned", **doubt)
    yield from _of_readings(body)
    if body.of_group("supply").get("volts", NOT_SEEN) == NOT_SEEN and not _is_proved_by_label(body, proposal):
        yield _blocker("no-volts")
    if body.emergency == NOT_SEEN:
        yield _blocker("emergency-not-seen")
    yield from led_tubes_undecided(body.group, body.kind)
    yield from _of_emergency(body)
    if body.of_room("surroundings").get("hazardous", NOT_SEEN) == NOT_SEEN:
        yield _blocker("hazardous-not-seen")


def _of_readings(body: Body) -> Iterator[Found]:
    """A cavity that stands alone among those of the group, where its reading is not in question already (see `degree.held_by`); second readings."""
    doubted = {each["position"] for each in body.doubts}
    for held in body.judged.get("held_by", []):
        if held["code"] == "held.alone" and held["facts"]["position"] not in doubted:
            yield _blocker("reading-alone", **held["facts"])
    for each in body.kind_held:
        yield _blocker(each["why"], **each["facts"])


def _is_proved_by_label(body: Body, proposal: Candidate | None) -> bool:
    """Whether the proposal's driver takes the whole range that the label of the working ballast proves; for a fed body the neighbour's does."""
    if body.is_fed_by_neighbour and body.partner is not None and body.partner.plan is not None:
        told = {each["code"] for each in body.partner.plan["blockers"]}
        seen = facet(body.partner.group, "supply").get("volts", NOT_SEEN)
        return seen == NOT_SEEN and body.partner.plan["proposal"] is not None and "plan.blocked.no-volts" not in told
    checks = proposal.checks if proposal is not None else ()
    return any(
        check.name == "driver.volts" and check.verdict == PASSES and check.facts.get("known_by") == "ballast-label"
        for check in checks
    )


def _of_lamp(body: Body, layout: Layout, fit: Fit | None) -> Iterator[Found]:
    """A fit by the lamp alone wants a second witness; a manager's word holds for the layout that he chose."""
    if needs_witness(_undecided(body, layout), fit, body.read_of_kind):
        yield _blocker("by-lamp", fixtures=body.read_of_kind.fixtures, wanted=LEAST_FIXTURES)


def _fit_there(there: Body, layout: Layout) -> Fit | None:
    """The verdict on the same row of bars in the neighbour."""
    row = [bar["id"] for bar in layout.fill]
    return next((fit for fit in there.judged.get("fits", []) if fit["bars"] == row), None)


def _undecided(body: Body, layout: Layout) -> GroupView:
    """The group, without a decision that is for another layout."""
    if str(body.of_group("decision").get("arrangement", "")).startswith(f"{layout.name}; "):
        return body.group
    return {**body.group, "facets": {**body.group["facets"], "decision": {}}}


def _of_emergency(body: Body) -> Iterator[Found]:
    """Emergency fixtures that are not there, a control before them, a second source that nobody named.

    A sensor or dimmer before an emergency fixture can leave it dark when it is needed. A plan has one control for the whole
    group, so a control that is wanted waits until the emergency fixtures stand in a group of their own.
    """
    if body.emergency not in DUTIES:
        return
    if body.positions_not_there:
        yield _blocker("emergency-position-not-there", positions=_listed(body.positions_not_there), count=body.fixtures)
    if body.place.control_wanted != "none":
        yield _blocker(
            "control-before-emergency",
            control=body.place.control_wanted,
            duty=body.emergency,
            positions=_listed(body.emergency_positions),
        )
    if body.emergency in SECOND_SOURCE and not body.of_group("duty").get("second_source"):
        yield _blocker("second-source-not-named", duty=body.emergency)


def _listed(positions: Iterable[int]) -> str:
    return ", ".join(map(str, positions)) or NOT_SEEN


def _of_decision(body: Body, proposal: Candidate | None) -> Iterator[Found]:
    decision = body.of_group("decision")
    by_name = decision.get("decision") == "convert-with-this-arrangement"
    if by_name and (proposal is None or proposal.name != decision.get("arrangement")):
        yield _blocker("decided-arrangement-not-there", arrangement=decision.get("arrangement", ""))


def _of_kind(body: Body) -> Iterator[Found]:
    feeds = body.of_kind("wiring").get("feeds", NOT_SEEN)
    if feeds == NOT_SEEN:
        yield _blocker("feeds-not-seen")
    elif feeds != "one":
        yield _blocker("two-feeds", feeds=feeds)
    lamps = body.of_kind("lamps")
    if lamps.get("fitted", NOT_SEEN) == NOT_SEEN or not body.rows or "lamps_end_to_end" not in lamps:
        yield _blocker("lamps-not-seen")
    if body.neighbour_leads == NOT_SEEN:
        yield _blocker("neighbour-leads-not-seen")


def _of_pair(body: Body) -> Iterator[Found]:
    """What stands against a pair on one ballast as such; the same at both."""
    if not (body.feeds_neighbour or body.is_fed_by_neighbour):
        return
    if body.unpaired is not None:
        yield body.unpaired.copy()
    there = body.neighbour
    if there is None:
        if body.unpaired is None:
            yield _blocker("fed-not-found" if body.feeds_neighbour else "neighbour-not-found")
        return
    one, other = (body, there) if body.feeds_neighbour else (there, body)
    if one.fixtures != other.fixtures:
        yield _blocker(
            "neighbour-counts",
            feeding=one.fixtures,
            fed=other.fixtures,
            room=name_of_room(one.room),
            marks=[mark_of(one.kind), mark_of(other.kind)],
        )
    if one.rows and other.rows and not alike(one, other):
        lamps = {
            "feeding_rows": one.rows,
            "fed_rows": other.rows,
            "feeding_lamps": one.lamps_each,
            "fed_lamps": other.lamps_each,
        }
        yield _blocker("neighbour-lamps", **lamps)


def _of_partner(body: Body, proposal: Candidate | None) -> Iterator[Found]:
    """What holds back the other body of the pair holds back this one too: neither is converted alone."""
    there = body.neighbour
    if there is None:
        return
    if body.feeds_neighbour:
        theirs = [
            *not_by_this_method.reasons(there),
            *_of_survey(there, proposal),
            *_of_kind(there),
            *_of_decision_there(there, proposal),
        ]
        if proposal is not None:
            theirs += _of_lamp(there, proposal.layout, _fit_there(there, proposal.layout))
    else:
        plan = body.partner.plan if body.partner else None
        theirs = list(plan["blockers"]) if plan else []
    here = [*_of_pair(body), *_of_proposal(body, proposal, 0)]
    for each in theirs:
        told = {"code": each["code"], "facts": each["facts"]}
        if told not in here and not each["code"].startswith(OF_PARTNER):
            yield _blocker("partner", **place_of(there), because=told)


def _of_decision_there(there: Body, proposal: Candidate | None) -> Iterator[Found]:
    """Whether the neighbour was decided on by name, and by another than it would get."""
    decision = there.of_group("decision")
    if decision.get("decision") == "convert-with-this-arrangement":
        theirs = proposal and arrangement(replace(proposal.layout, feeds=0), proposal.driver, proposal.wiring)
        if theirs != decision.get("arrangement"):
            yield _blocker("decided-arrangement-not-there", arrangement=decision.get("arrangement", ""))


def _of_proposal(body: Body, proposal: Candidate | None, rejected: int) -> Iterator[Found]:
    if proposal is None and body.is_fed_by_neighbour and body.partner is not None and followed(body) is None:
        return  # The neighbour's reasons say why.
    if proposal is None:
        yield _blocker("nothing-passes", rejected=rejected) if rejected else _blocker("nothing-judged")
        return
    for check in proposal.checks:
        if check.verdict == CANNOT_TELL:
            yield {"code": check.code, "facts": check.facts}
