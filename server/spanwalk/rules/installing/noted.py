"""What counts of all that was noted on the fixtures of a group. Twin: pwa/rules/installing/noted.js."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import cast

from spanwalk.rules.constants import ENDS_VISITS
from spanwalk.rules.installing.last_word import last_words
from spanwalk.rules.record_types import ConversionView, GroupView, InstallationView
from spanwalk.rules.since_release.standing import newest_of
from spanwalk.rules.survey import Survey, facet, has, is_position, newest_conversions, positions_of

DONE = "done"
Card = Mapping[str, object]
"""What a release froze of a group."""


@dataclass(frozen=True)
class Noted:
    """The last word on a fixture, the last that says whether it is converted, and the conversion that it was done under."""

    last: InstallationView | None
    done: InstallationView | None
    conversion: ConversionView | None

    @property
    def card(self) -> Card:
        """The card of the release that counts here; empty where there is none."""
        return cast("Card", facet(self.conversion, "identity").get("frozen") or {})


def noted_in(survey: Survey, group: GroupView, newest: ConversionView | None) -> dict[int, Noted]:
    """Position -> what was noted there, of every fixture that the group has, and of those that are converted beyond its count.

    A problem that is noted afterwards makes a converted fixture none for lamps again: `done` is the last word among those
    that say whether it is converted.
    """
    last, ending = _words(survey, group)
    return {
        position: _noted(survey, last, ending, position, newest)
        for position in [*positions_of(group), *_beyond_count(group, ending)]
    }


def gone_since(survey: Survey, group: GroupView, newest: ConversionView | None) -> dict[int, Noted]:
    """Position -> what was noted there, of fixtures that were converted and are gone since: what came out of them came out."""
    last, ending = _words(survey, group)
    gone = facet(group, "count").get("gone", [])
    found = {
        position: _noted(survey, last, ending, position, newest) for position in sorted(ending) if position in gone
    }
    return {position: each for position, each in found.items() if each.done is not None}


def every_converted(survey: Survey, group: GroupView) -> dict[int, Noted]:
    """Position -> what was noted there, of every fixture that is done, whatever the count of its group says since."""
    newest = newest_of(survey, group)
    noted = {**noted_in(survey, group, newest), **gone_since(survey, group, newest)}
    return {position: each for position, each in noted.items() if each.done is not None}


def converted_in_removed(survey: Survey) -> Iterator[tuple[GroupView, dict[int, Noted]]]:
    """Groups that were removed, by themselves or with what they stood in, after some of their fixtures were converted."""
    for group in (cast("GroupView", each) for each in survey.all if each["type"] == "group"):
        if not survey.is_live(group) and (converted := every_converted(survey, group)):
            yield group, converted


def _words(survey: Survey, group: GroupView) -> tuple[Mapping[int, InstallationView], Mapping[int, InstallationView]]:
    """The last words on each fixture of a group, and the last that say whether it is converted."""
    installations = survey.children(group, "installation")
    ending = last_words(each for each in installations if facet(each, "identity").get("outcome") in ENDS_VISITS)
    return last_words(installations), ending


def converted_beyond_count(survey: Survey, group: GroupView) -> list[int]:
    """Fixtures of a group that are noted as done, and of which its count has none: it was lowered since, or is wrong.

    They are converted, whatever the count says: an open point asks for one of the two to be corrected. One that is gone
    since was taken away with what was fitted in it.
    """
    return _beyond_count(group, _words(survey, group)[1])


def _beyond_count(group: GroupView, ending: Mapping[int, InstallationView]) -> list[int]:
    gone = facet(group, "count").get("gone", [])
    return sorted(
        position
        for position, each in ending.items()
        if facet(each, "identity").get("outcome") == DONE and position not in gone and not is_position(group, position)
    )


def _noted(
    survey: Survey,
    last: Mapping[int, InstallationView],
    ending: Mapping[int, InstallationView],
    position: int,
    newest: ConversionView | None,
) -> Noted:
    ended = ending.get(position)
    if ended is None or facet(ended, "identity").get("outcome") != DONE:
        return Noted(last.get(position), None, newest)
    named = facet(ended, "identity").get("conversion")
    conversion = cast("ConversionView | None", survey.by_id.get(str(named))) if named else newest
    return Noted(last.get(position), ended, conversion)


def is_withdrawn(survey: Survey, conversion: ConversionView) -> bool:
    """Whether a manager withdrew it, or its release."""
    release = survey.by_id.get(str(facet(conversion, "identity").get("release", "")))
    return has(conversion, "withdrawn") or (release is not None and has(release, "withdrawn"))


def in_force(survey: Survey) -> dict[str, ConversionView]:
    """Group id -> the conversion of its newest release, where that was not withdrawn."""
    return {group: each for group, each in newest_conversions(survey).items() if not is_withdrawn(survey, each)}


def emergency_positions(card: Card) -> set[int]:
    """Fixtures with an emergency duty, as a card has it."""
    emergency = cast("Mapping[str, object]", card.get("emergency") or {})
    positions = cast("list[int]", emergency.get("positions") or [])
    return set(positions) if emergency.get("duty", "none") != "none" else set()


__all__ = [
    "DONE",
    "Card",
    "Noted",
    "converted_beyond_count",
    "converted_in_removed",
    "emergency_positions",
    "every_converted",
    "gone_since",
    "in_force",
    "is_withdrawn",
    "noted_in",
]
