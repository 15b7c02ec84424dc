"""What was checked off at a fixture and counts now, and by whom. Twin: pwa/rules/installing/checked_off.js.

What is checked off stands in visits (their facet `ticks`, which has no lengths in it): a visit is written by one person
on one phone, so checks merge as a set and none is ever in conflict with another. What was proved (isolated, dead, earthed: the checks before 'done', and the steps that prove)
counts only for the person who saw it, only on the day of the visit, only for so long after it began, and not past
anything that was noted of the fixture since: proof of the state of a circuit is as old as the moment in which it was
made. Other steps only remember how far the work is, for everybody, until the fixture is done or is not done after all.

That proof is made anew after an interruption and by each person who works: common practice, no source for the minutes
(`PROOF_HOLDS_MINUTES`, about the time from one break to the next). Local code and the site's rules come before it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TypedDict, cast

from spanwalk.rules import constants
from spanwalk.rules.installing.last_word import place_of
from spanwalk.rules.record_types import InstallationView, VisitView
from spanwalk.rules.survey import facet

CHECKS_OF_ALL = constants.CHECKS_OF_ALL
"""Checks where a card names none: those of every fixture."""
PROOF_HOLDS = timedelta(minutes=constants.PROOF_HOLDS_MINUTES)


@dataclass(frozen=True)
class Moment:
    """Who looks at which fixture, under which conversion, on which day of the phone's calendar and when (ISO 8601)."""

    position: int
    conversion: str
    person: str
    day: str
    at: str


class CheckBy(TypedDict):
    """A check and the persons of whom it counts now."""

    check: str
    by: list[str]


class StepBy(TypedDict):
    """A step by its place in the card's whole list, from 1, and the persons who checked it off and still count."""

    place: int
    by: list[str]


class CheckedOff(TypedDict):
    """What counts now; `lapsed` are checks that this person had made and that count no more."""

    checks: list[CheckBy]
    steps: list[StepBy]
    lapsed: list[str]


def wanted_checks(frozen: Mapping[str, object], position: int) -> list[str]:
    """The checks without which a fixture is not done.

    Parameters
    ----------
    frozen : mapping
        What the release froze: `checks`, and `checks_at` for some fixtures only.
    position : int
        The fixture.

    Examples
    --------
    >>> wanted_checks({"checks": ["label-on"], "checks_at": [{"check": "pack-charges", "positions": [3]}]}, 3)
    ['label-on', 'pack-charges']
    >>> wanted_checks({}, 1) == list(CHECKS_OF_ALL)
    True
    """
    if "checks" not in frozen:
        return list(CHECKS_OF_ALL)
    own = cast("Sequence[Mapping[str, object]]", frozen.get("checks_at") or ())
    here = [str(each["check"]) for each in own if position in cast("list[int]", each["positions"])]
    return [*cast("list[str]", frozen["checks"]), *here]


def missing_checks(frozen: Mapping[str, object], position: int, made: Iterable[str]) -> list[str]:
    """The wanted checks that were not made; parameters as of `wanted_checks`.

    >>> missing_checks({"checks": ["label-on", "earth-checked"]}, 1, ["label-on"])
    ['earth-checked']
    """
    there = set(made)
    return [each for each in wanted_checks(frozen, position) if each not in there]


def checked_off_at(
    visits: Iterable[VisitView], installations: Iterable[InstallationView], steps: Sequence[str], now: Moment
) -> CheckedOff:
    """What was checked off at one fixture and counts at one moment.

    Parameters
    ----------
    visits, installations : iterable of view records
        Those of the group, live ones, with who wrote them and in which order.
    steps : sequence of str
        Codes of the card's steps, in the order of the whole list.
    now : Moment
        Which fixture, for whom, when.

    Returns
    -------
    CheckedOff
        In the order of the steps; checks and persons by name.
    """
    here = [each for each in visits if _is_of(each, now)]
    noted = [each for each in installations if facet(each, "identity").get("position") == now.position]
    alive = [each for each in here if not _ended(each, noted)]
    proving = [each for each in alive if _proves(each, noted, now)]
    checks = _by(proving, "checks")
    placed = _by(alive, "steps")
    proved = _by(proving, "steps")
    told = {place: (proved if _is_proof(steps, place) else placed).get(place, set()) for place in placed}
    mine = {check for each in here if _person(each) == now.person for check in facet(each, "ticks").get("checks", ())}
    return {
        "checks": [{"check": str(check), "by": sorted(checks[check])} for check in sorted(checks, key=str)],
        "steps": [{"place": int(place), "by": sorted(told[place])} for place in sorted(told, key=int) if told[place]],
        "lapsed": sorted(check for check in mine if now.person not in checks.get(check, ())),
    }


def may_go_on(visit: VisitView, installations: Iterable[InstallationView], phone: str, now: Moment) -> bool:
    """Whether this person goes on checking off in a visit: it is theirs, of this phone, and its proofs still count.

    Parameters
    ----------
    visit : view record
        The visit.
    installations : iterable of view records
        Those of the group.
    phone : str
        This phone.
    now : Moment
        Which fixture, for whom, when.
    """
    noted = [each for each in installations if facet(each, "identity").get("position") == now.position]
    own = _is_of(visit, now) and _person(visit) == now.person and facet(visit, "identity").get("phone") == phone
    return own and not _ended(visit, noted) and _proves(visit, noted, now)


def _is_of(visit: VisitView, now: Moment) -> bool:
    said = facet(visit, "identity")
    return said.get("position") == now.position and said.get("conversion") == now.conversion


def _person(visit: VisitView) -> str:
    return str(visit.get("by", {}).get("identity", ""))


def _by(visits: Iterable[VisitView], name: str) -> dict[str | int, set[str]]:
    """Who checked off what: all visits together, as a set."""
    found: dict[str | int, set[str]] = {}
    for visit in visits:
        for each in cast("Mapping[str, list[str | int]]", facet(visit, "ticks")).get(name, ()):
            found.setdefault(each, set()).add(_person(visit))
    return found


def _is_proof(steps: Sequence[str], place: int | str) -> bool:
    return 0 < int(place) <= len(steps) and steps[int(place) - 1] in constants.PROVING_STEPS


def _ended(visit: VisitView, noted: Iterable[InstallationView]) -> bool:
    """Whether the fixture was done since, or was not done after all: the work begins anew."""
    return any(
        facet(each, "identity").get("outcome") in constants.ENDS_VISITS and _is_since(each, visit) for each in noted
    )


def _is_since(noted: InstallationView, visit: VisitView) -> bool:
    """Whether something was noted after a visit began: by the server's order, or by the phones' clocks. Either ends it."""
    when, begun = _time(facet(noted, "identity").get("noted_at")), _time(facet(visit, "identity").get("begun_at"))
    return place_of(noted) > place_of(visit) or (when is not None and begun is not None and when > begun)


def _proves(visit: VisitView, noted: Iterable[InstallationView], now: Moment) -> bool:
    """Whether what was proved in a visit still counts: the same day, not long ago, nothing noted since."""
    said = facet(visit, "identity")
    begun, at = _time(said.get("begun_at")), _time(now.at)
    if said.get("day") != now.day or begun is None or at is None or not timedelta() <= at - begun <= PROOF_HOLDS:
        return False
    return not any(_is_since(each, visit) for each in noted)


def _time(text: object) -> datetime | None:
    """A time of ISO 8601 in UTC, as phones write it; None where it is none."""
    try:
        return datetime.strptime(str(text)[:19] + "Z", "%Y-%m-%dT%H:%M:%SZ")
    except ValueError:
        return None


__all__ = [
    "CheckBy",
    "CheckedOff",
    "Moment",
    "StepBy",
    "checked_off_at",
    "may_go_on",
    "missing_checks",
    "wanted_checks",
]
