"""Open points of groups whose plan is not ready, for reasons that no other rule tells. Twin: pwa/rules/points/planned.js.

Whatever keeps a group from being released is an open point: of what is told by a rule of its own nothing is said here,
as long as that rule found something; these rules come last, so that they see what the others found.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from spanwalk.rules import constants
from spanwalk.rules.points.found import Found, NotReady, RoomFacts, Seen, held_by, of_group
from spanwalk.rules.record_types import GroupView
from spanwalk.rules.said import Said
from spanwalk.rules.survey import facet

BY_SURVEY = frozenset(constants.BY_SURVEY)
"""Codes of what a surveyor can say or see."""
SAID_BY_RULES = frozenset(constants.SAID_BY_RULES)
"""Codes of what other rules of open points tell of a group, its kind or its room."""


def held_by_survey(seen: Seen) -> Iterator[Found]:
    """Groups that lack something in their plan that a surveyor can say."""
    for group, because in _held(seen):
        if because["code"] in BY_SURVEY:
            yield of_group(seen, group, because=because)


def held_by_plan(seen: Seen) -> Iterator[Found]:
    """Groups whose plan is not ready, which the manager decides on."""
    for group, because in _held(seen):
        if because["code"] not in BY_SURVEY:
            yield of_group(seen, group, because=because)


def light_disagrees(seen: Seen) -> Iterator[Found]:
    """Rooms in which readings of light lie outside the range that was reckoned."""
    yield from _of_rooms(seen, seen.lights_off)


def mixed_looks(seen: Seen) -> Iterator[Found]:
    """Rooms in which bars of more than one colour temperature or colour rendering are proposed."""
    yield from _of_rooms(seen, seen.looks_mixed)


def _of_rooms(seen: Seen, told: Sequence[RoomFacts]) -> Iterator[Found]:
    by_room = {each["room"]: each["facts"] for each in told}
    for room in seen.survey.of_type("room"):
        if room["id"] in by_room:
            yield Found(room["id"], room, by_room[room["id"]])


def _held(seen: Seen) -> Iterator[tuple[GroupView, Said]]:
    """Each group whose plan is not ready, once, with what is told of it: first what a surveyor can say."""
    by_id = {each["group"]: each for each in seen.not_ready}
    told = _told(seen)
    for group in seen.survey.groups_to_convert():
        found = by_id.get(group["id"])
        if found is None or facet(group, "decision").get("decision") == "defer":
            continue
        kind = facet(group, "identity").get("kind", "")
        because = _because(found, is_told=not told.isdisjoint({group["id"], kind, group["parent"]}))
        if because is not None:
            yield group, because


def _told(seen: Seen) -> set[str | None]:
    """Groups, kinds and rooms of which other rules found something."""
    found: set[str | None] = set()
    for record, room in seen.told:
        held = held_by(seen.survey, seen.survey.by_id.get(record))
        found.add(room if held is None else held["id"])
    return found


def _because(found: NotReady, *, is_told: bool) -> Said | None:
    """The reason to tell; None where other rules tell all of them."""
    untold = [each for each in found["because"] if each["code"] not in SAID_BY_RULES]
    if not untold and not is_told:
        untold = found["because"]
    first = [each for each in untold if each["code"] in BY_SURVEY] or untold
    return first[0] if first else None
