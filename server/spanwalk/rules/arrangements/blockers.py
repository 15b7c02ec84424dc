"""What keeps a group from being released."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.candidate import Candidate
from spanwalk.rules.checks import CANNOT_TELL
from spanwalk.rules.driver import NOT_SEEN

Json = Any
Found = dict[str, Json]


def found(
    body: Body, proposal: Candidate | None, rejected: int, against: list[Found]
) -> list[Found]:
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
    blockers = [*_of_survey(body), *_of_kind(body), *_of_decision(body, proposal), *_of_proposal(proposal, rejected)]
    told: list[Found] = []
    for each in blockers:
        if each not in told:
            told.append(each)
    return told


def _blocker(name: str, **facts: Json) -> Found:
    return {"code": f"plan.blocked.{name}", "facts": facts}


def _of_survey(body: Body) -> Iterator[Found]:
    decision = body.of_group("decision").get("decision")
    if decision in ("leave as is", "defer"):
        yield _blocker("decided-otherwise", decision=decision)
    if not body.fixtures:
        yield _blocker("no-count")
    if body.group["conflicts"] or body.kind["conflicts"]:
        yield _blocker("conflict")
    for doubt in body.doubts:
        yield _blocker("reading-questioned", **doubt)
    if body.of_group("supply").get("volts", NOT_SEEN) == NOT_SEEN:
        yield _blocker("no-volts")
    if body.emergency == NOT_SEEN:
        yield _blocker("emergency-not-seen")
    if body.of_room("surroundings").get("hazardous", NOT_SEEN) == NOT_SEEN:
        yield _blocker("hazardous-not-seen")


def _of_decision(body: Body, proposal: Candidate | None) -> Iterator[Found]:
    decision = body.of_group("decision")
    by_name = decision.get("decision") == "convert with this arrangement"
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
    if body.is_fed_by_neighbour:
        plan = (body.partner or {}).get("plan")
        if plan is None:
            yield _blocker("neighbour-not-found")
        elif plan["state"] != "ready":
            yield _blocker("neighbour-not-ready")


def _of_proposal(proposal: Candidate | None, rejected: int) -> Iterator[Found]:
    if proposal is None:
        yield _blocker("nothing-passes", rejected=rejected) if rejected else _blocker("nothing-judged")
        return
    for check in proposal.checks:
        if check.verdict == CANNOT_TELL:
            yield {"code": check.code, "facts": check.facts}
