"""Measured light against what was forecast when it was released, room by room, for what closed sites tell of kinds."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from spanwalk.rules.installing.outcomes import newest_outcomes
from spanwalk.rules.learning.site_numbers import LightPair
from spanwalk.rules.record_types import GroupView, RoomView
from spanwalk.rules.survey import Survey, facet, fixtures_of

AFTER, DONE, LEFT_OUT = "after", "done", "not-excluded"


def light_pairs(survey: Survey, forecast_lux: Mapping[str, float]) -> Iterator[LightPair]:
    """Kind id, forecast and measured light [lx] of each room that tells something of one kind alone.

    Such a room's groups are all of one kind, all were released with a forecast, and every fixture is noted as done: light of
    another kind, or of fixtures that are still as they were, would be taken for the kind's. Measured is the mean of the
    room's points after the work, each by its newest reading; not under one fixture, and without daylight.

    Parameters
    ----------
    survey : Survey
        The site's records.
    forecast_lux : mapping
        Group id -> its part of the room's light on day one, as it was released [lx].
    """
    for room in survey.of_type("room"):
        groups = survey.children(room, "group")
        kinds = {kind["id"]: kind for kind in map(survey.kind_of, groups) if kind is not None}
        measured = _measured(survey, room)
        if len(kinds) != 1 or measured is None:
            continue
        if all(each["id"] in forecast_lux and _is_done(survey, each) for each in groups):
            (kind,) = kinds
            yield kind, sum(forecast_lux[each["id"]] for each in groups), measured


def _is_done(survey: Survey, group: GroupView) -> bool:
    """Whether each fixture of a group is noted as done."""
    outcomes = [facet(each, "identity").get("outcome") for each in newest_outcomes(survey, group).values()]
    return outcomes.count(DONE) == fixtures_of(group) > 0


def _measured(survey: Survey, room: RoomView) -> float | None:
    """Mean of the room's points after the work [lx]; None where nothing was read that counts."""
    told = [facet(each, "identity") for each in survey.children(room, "lux_reading")]
    count = [
        each
        for each in sorted(told, key=lambda each: str(each.get("read_at") or ""))
        if each.get("when") == AFTER and "lux" in each and not each.get("group") and each.get("daylight") != LEFT_OUT
    ]
    points = {str(each.get("point")): float(each["lux"]) for each in count}
    return sum(points.values()) / len(points) if points else None


__all__ = ["light_pairs"]
