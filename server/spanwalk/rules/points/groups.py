"""Open points of groups: count, supply, duty, positions, what does not go with kind or room. Twin: pwa/rules/points/groups.js."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from spanwalk.rules import constants
from spanwalk.rules.gear.driver_in_body import RANGES_ON_LABELS
from spanwalk.rules.installing.last_word import last_words
from spanwalk.rules.integer_math import ceil_sqrt
from spanwalk.rules.measuring.reading_sense import a_min_ticks, lamp_row
from spanwalk.rules.points.found import Found, Seen, bound_labels, of_group
from spanwalk.rules.record_types import GroupView
from spanwalk.rules.survey import facet, fixtures_of, has, is_position, is_seen, lamps_each


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
    """Groups to be converted whose supply volts nobody has seen, and of which no ballast's label proves a range."""
    for group in seen.survey.groups_to_convert():
        mark = facet(seen.survey.kind_of(group), "ballast").get("volts_mark")
        if not is_seen(facet(group, "supply").get("volts")) and mark not in RANGES_ON_LABELS:
            yield of_group(seen, group)


def emergency_not_seen(seen: Seen) -> Iterator[Found]:
    """Groups to be converted of which nobody has said whether some are emergency fixtures."""
    for group in seen.survey.groups_to_convert():
        if not is_seen(facet(group, "duty").get("emergency")):
            yield of_group(seen, group)


def groups_do_not_differ(seen: Seen) -> Iterator[Found]:
    """Groups of one kind in one room that do not say how they differ; one point for a room and kind."""
    sets: dict[tuple[str, str, str], list[GroupView]] = defaultdict(list)
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


def _positions_in(seen: Seen, group: GroupView) -> list[int]:
    readings = [each for each in seen.survey.children(group, "cavity_reading") if not has(each, "voided")]
    said = [facet(record, "identity").get("position", 0) for record in readings]
    return said + _worked_at(seen, group) + list(facet(group, "duty").get("emergency_positions", []))


def _worked_at(seen: Seen, group: GroupView) -> list[int]:
    """Fixtures at which crews noted something that holds: what they did at one that is gone since, or take back, holds no more."""
    noted = last_words(seen.survey.children(group, "installation"))
    holds = [at for at, each in noted.items() if facet(each, "identity").get("outcome") != constants.TAKEN_BACK]
    tested = [facet(each, "identity").get("position", 0) for each in seen.survey.children(group, "emergency_test")]
    gone = facet(group, "count").get("gone", [])
    return [position for position in holds + tested if position not in gone]


def dark_lamps_above_lamps(seen: Seen) -> Iterator[Found]:
    """Groups with more dark lamps than lamps: the count, the dark ones, or the rows of the kind are wrong."""
    for group in seen.survey.of_type("group"):
        lamps = fixtures_of(group) * lamps_each(seen.survey.kind_of(group))
        dark = facet(group, "count").get("dark_lamps", 0)
        if lamps and dark > lamps:
            yield of_group(seen, group, dark_lamps=dark, lamps=lamps)


def longer_than_room(seen: Seen) -> Iterator[Found]:
    """Groups whose lamps, or a reading of a cavity, are longer than the room is from corner to corner [1/320 mm]."""
    for group in seen.survey.groups_to_convert():
        size = facet(seen.survey.room_of(group), "size")
        longest = max((_lamps_ticks(seen, group), *_lengths_in(seen, group)))
        if "length_ticks" in size and "width_ticks" in size:
            across = ceil_sqrt(size["length_ticks"] ** 2 + size["width_ticks"] ** 2)
            if longest > across:
                yield of_group(seen, group, longest_ticks=longest, across_ticks=across)


def _lamps_ticks(seen: Seen, group: GroupView) -> int:
    """The lamps end to end in a row, as short as they are made; 0 where they are not known."""
    lamps = facet(seen.survey.kind_of(group), "lamps")
    row = lamp_row(lamps, seen.tables) if "lamps" in seen.tables else None
    return 0 if row is None else a_min_ticks(row) * int(lamps.get("lamps_end_to_end", 1))


def _lengths_in(seen: Seen, group: GroupView) -> list[int]:
    return [facet(reading, "identity")["length_ticks"] for reading in seen.survey.readings_of(group)]
