"""Open points of emergency fixtures: which they are, what is in the old battery, what second source feeds them. Twin: pwa/rules/points/emergency.js."""

from __future__ import annotations

from collections.abc import Iterator

from spanwalk.rules.gear.emergency import BATTERY, DUTIES, SECOND_SOURCE
from spanwalk.rules.points.found import Found, Seen, of_group
from spanwalk.rules.record_types import GroupView
from spanwalk.rules.survey import facet, is_seen


def positions_not_said(seen: Seen) -> Iterator[Found]:
    """Emergency groups to be converted of which nobody has said which fixtures are the emergency ones."""
    for group, duty in _groups(seen, DUTIES):
        if not facet(group, "duty").get("emergency_positions"):
            yield of_group(seen, group, duty=duty)


def battery_not_seen(seen: Seen) -> Iterator[Found]:
    """Groups to be converted with batteries in their fixtures of which nobody has seen what is in them."""
    for group, _ in _groups(seen, (BATTERY,)):
        if not is_seen(facet(group, "duty").get("battery")):
            yield of_group(seen, group)


def second_source_not_named(seen: Seen) -> Iterator[Found]:
    """Groups to be converted that stay live from a second source which nobody has named."""
    for group, duty in _groups(seen, SECOND_SOURCE):
        if not facet(group, "duty").get("second_source"):
            yield of_group(seen, group, duty=duty)


def _groups(seen: Seen, duties: tuple[str, ...]) -> Iterator[tuple[GroupView, str]]:
    """Groups to be converted that have one of these duties, with it."""
    for group in seen.survey.groups_to_convert():
        duty = facet(group, "duty").get("emergency")
        if duty in duties:
            yield group, duty
