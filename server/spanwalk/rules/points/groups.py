"""Open points of groups: count, supply, duty, positions. Twin: pwa/rules/points/groups.js."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from spanwalk.rules.points.found import Found, Seen, bound_labels, of_group
from spanwalk.rules.survey import Record, facet, fixtures_of, has, is_position, is_seen


def no_count(seen: Seen) -> Iterator[Found]:
    """Groups that nobody has counted."""
    for group in seen.survey.of_type("group"):
        if not fixtures_of(group):
            yield of_group(seen, group)


def doubtful_count(seen: Seen) -> Iterator[Found]:
    """Groups whose count was marked doubtful."""
    for group in seen.survey.of_type("group"):
        if facet(group, "count").get("sure") == "doubtful":
            yield of_group(seen, group, count=fixtures_of(group))


def no_volts(seen: Seen) -> Iterator[Found]:
    """Groups to be converted whose supply volts nobody has seen."""
    for group in seen.survey.groups_to_convert():
        if not is_seen(facet(group, "supply").get("volts")):
            yield of_group(seen, group)


def emergency_not_seen(seen: Seen) -> Iterator[Found]:
    """Groups to be converted of which nobody has said whether some are emergency fixtures."""
    for group in seen.survey.groups_to_convert():
        if not is_seen(facet(group, "duty").get("emergency")):
            yield of_group(seen, group)


def groups_do_not_differ(seen: Seen) -> Iterator[Found]:
    """Groups of one kind in one room that do not say how they differ; one point for a room and kind."""
    sets: dict[tuple[str, str, str], list[Record]] = defaultdict(list)
    for group in seen.survey.of_type("group"):
        identity = facet(group, "identity")
        said = str(identity.get("note") or facet(group, "differs").get("note") or "").strip().lower()
        sets[str(group["parent"]), str(identity.get("kind", "")), said].append(group)
    for groups in sets.values():
        if len(groups) > 1:
            yield of_group(seen, groups[0], groups=len(groups))


def position_above_count(seen: Seen) -> Iterator[Found]:
    """Groups in which something is said of a fixture that they do not have; one point for a group."""
    labels: dict[str, list[int]] = defaultdict(list)
    for label in bound_labels(seen):
        labels[facet(label, "binding")["group"]].append(facet(label, "binding")["position"])
    for group in seen.survey.of_type("group"):
        said = labels[group["id"]] + _positions_in(seen, group)
        beyond = sorted({position for position in said if not is_position(group, position)})
        if beyond and fixtures_of(group):
            yield of_group(seen, group, positions=", ".join(map(str, beyond)), count=fixtures_of(group))


def _positions_in(seen: Seen, group: Record) -> list[int]:
    readings = [each for each in seen.survey.children(group, "cavity_reading") if not has(each, "voided")]
    records = readings + seen.survey.children(group, "installation")
    said = [facet(record, "identity").get("position", 0) for record in records]
    return said + list(facet(group, "duty").get("emergency_positions", []))
