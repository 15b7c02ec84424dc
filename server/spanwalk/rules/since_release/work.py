"""What is to be done and where: emergency units, positions, decisions, progress. Twin: pwa/rules/since_release/work.js."""

from __future__ import annotations

from collections.abc import Iterator
from typing import cast

from spanwalk.rules import constants
from spanwalk.rules.record_types import GroupView
from spanwalk.rules.record_view import Facet
from spanwalk.rules.since_release.seen import LOOK, STOP, Change, Seen, change, said_by
from spanwalk.rules.survey import is_position, positions_of

NO_DECISION = (None, "convert-as-recommended")
BY_NAME = constants.BY_NAME
ACCEPTED = tuple(constants.ACCEPTED)
"""What a manager accepts by a check box, and with a reason: without one nothing was accepted."""


def emergency_time(seen: Seen) -> Iterator[Change]:
    """A site that asks for more minutes than a released pack lasts."""
    before, now = seen.before("site", "settings", "emergency_min"), seen.now("site", "settings", "emergency_min")
    lasts = [seen.item(each).get("duration_min") for each in seen.items("packs")]
    if before != now and now is not None and any(each is not None and each < now for each in lasts):
        yield change("site.settings.emergency_min", STOP, before, now, said_by(seen.site, "settings"))


def emergency_positions(seen: Seen) -> Iterator[Change]:
    """Emergency units that hang elsewhere than was released."""
    before = seen.before("group", "duty", "emergency_positions") or []
    now = seen.now("group", "duty", "emergency_positions") or []
    differing = set(before) ^ set(now)
    if differing:
        concerns = seen.position is None or seen.position in differing
        yield change(
            "group.duty.emergency_positions",
            STOP if concerns else LOOK,
            sorted(before),
            sorted(now),
            said_by(seen.group, "duty"),
        )


def position(seen: Seen) -> Iterator[Change]:
    """A fixture that is there no more stops where it hung; that others are gone is looked at."""
    said = said_by(seen.group, "count")
    before, now = seen.before("group", "count", "gone") or [], seen.now("group", "count", "gone") or []
    if seen.position is not None and not is_position(seen.group, seen.position):
        yield change("position", STOP, seen.position, None, said)
    elif sorted(before) != sorted(now):
        yield change("group.count.gone", LOOK, sorted(before), sorted(now), said)


def further_fixtures(group: GroupView, facts: Facet) -> list[int]:
    """Fixtures of a group that were not among those released: no card was frozen for them.

    Where a release froze no count nobody can tell, and there are none.

    Examples
    --------
    >>> group = {"facets": {"count": {"count": 3, "gone": [2]}}}
    >>> further_fixtures(group, {"group": {"count": {"count": 3}}})
    [4]
    """
    counted = facts.get("group", {}).get("count", {})
    if counted.get("count") is None:
        return []
    released = cast("GroupView", {"facets": {"count": counted}})
    return [each for each in positions_of(group) if not is_position(released, each)]


def not_in_release(seen: Seen) -> Iterator[Change]:
    """A fixture that was not among those released stops by itself; that there are some is looked at."""
    further = further_fixtures(seen.group, seen.facts)
    if seen.position is None and further:
        yield change("not-in-release", LOOK, None, further, said_by(seen.group, "count"))
    elif seen.position in further:
        yield change("not-in-release", STOP, None, [seen.position], said_by(seen.group, "count"))


def decision(seen: Seen) -> Iterator[Change]:
    """A decision that is no longer to convert as released."""
    said = said_by(seen.group, "decision")
    before, now = seen.before("group", "decision", "decision"), seen.now("group", "decision", "decision")
    name = seen.now("group", "decision", "arrangement")
    if now == BY_NAME and name != seen.facts.get("arrangement"):
        yield change("group.decision.arrangement", STOP, seen.facts.get("arrangement"), name, said)
    elif now not in (*NO_DECISION, BY_NAME):
        yield change("group.decision.decision", STOP, before, now, said)
    reason = seen.now("group", "decision", "reason")
    for accepted in ACCEPTED:
        if not seen.before("group", "decision", accepted):
            continue
        if not seen.now("group", "decision", accepted):
            yield change(f"group.decision.{accepted}", STOP, True, None, said)
        elif reason is None or not str(reason).strip():
            yield change(f"group.decision.{accepted}", STOP, True, "without-a-reason", said)


def progress(seen: Seen) -> Iterator[Change]:
    """A room that turned out to have nothing to convert, or that nobody gets into."""
    before, now = seen.before("room", "progress", "progress"), seen.now("room", "progress", "progress")
    weight = {"nothing-to-convert": STOP, "no-access": LOOK}.get(now)
    if weight and before != now:
        yield change("room.progress.progress", weight, before, now, said_by(seen.room, "progress"))
