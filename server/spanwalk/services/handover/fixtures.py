"""What each fixture of a group is now: by the last word on it, and by the card of the release under which it was done."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import cast

from spanwalk.rules.as_fitted import FittedItem, fitted_items, released_items
from spanwalk.rules.codes import spaced
from spanwalk.rules.constants import ENDS_VISITS
from spanwalk.rules.last_word import last_words
from spanwalk.rules.record_types import ConversionView, GroupView, InstallationView, LabelView
from spanwalk.rules.standing import number_of
from spanwalk.rules.survey import Survey, facet, has, positions_of
from spanwalk.services.handover.told import DONE, NOT_NOTED, FixtureTold
from spanwalk.services.labels.labels import Binding
from spanwalk.words import say

DAY_LETTERS = len("2026-03-01")
Card = Mapping[str, object]


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
    """Position -> what was noted there, of every fixture that the group has.

    A problem that is noted afterwards makes a converted fixture none for lamps again: `done` is the last word among those
    that say whether it is converted.
    """
    installations = survey.children(group, "installation")
    last = last_words(installations)
    ending = last_words(each for each in installations if facet(each, "identity").get("outcome") in ENDS_VISITS)
    return {position: _noted(survey, last, ending, position, newest) for position in positions_of(group)}


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


def fixtures_told(
    group: GroupView, noted: Mapping[int, Noted], labels: Mapping[Binding, LabelView]
) -> Iterator[FixtureTold]:
    """Each fixture of a group, by its number."""
    for position, here in noted.items():
        label = labels.get((group["id"], position))
        code = spaced(str(facet(label, "identity")["code"])).strip() if label is not None else ""
        yield _fixture(position, code, here, len(noted))


def _fixture(position: int, code: str, here: Noted, fixtures: int) -> FixtureTold:
    released = released_items(here.card, position, fixtures)
    fitted = fitted_items(here.done, released) if here.done is not None else None
    said = facet(here.done, "identity")
    in_words = str(said.get("fitted") or "") if fitted is None else items_text(fitted)
    as_released = facet(here.done, "as_fitted").get("as_released") if here.done is not None else None
    return FixtureTold(
        position=position,
        state=DONE if here.done is not None else _state(here.last),
        code=code,
        released=items_text(released),
        fitted=in_words,
        as_released=as_released if isinstance(as_released, bool) else None,
        setting_ma=", ".join(str(each["setting_ma"]) for each in fitted or () if "setting_ma" in each),
        release=number_of(here.conversion) if here.conversion is not None else None,
        day=str(said.get("noted_at") or "")[:DAY_LETTERS],
        emergency=position in emergency_positions(here.card),
    )


def _state(last: InstallationView | None) -> str:
    return str(facet(last, "identity").get("outcome") or NOT_NOTED)


def emergency_positions(card: Card) -> set[int]:
    """Fixtures with an emergency duty, as a card has it."""
    emergency = cast("Mapping[str, object]", card.get("emergency") or {})
    positions = cast("Sequence[int]", emergency.get("positions") or ())
    return set(positions) if emergency.get("duty", "none") != "none" else set()


def items_text(items: Sequence[FittedItem]) -> str:
    """Items of one fixture in a line: how many of which, settings and batch or serial numbers with them."""
    return "; ".join(_item(each) for each in items)


def _item(item: FittedItem) -> str:
    text = f"{item['number']} × {item['code']}"
    if "setting_ma" in item:
        text = f"{text}, {item['setting_ma']} mA"
    if item.get("serials"):
        text = say("handover-report.with-serials", {"item": text, "serials": item["serials"]})
    return text


def is_withdrawn(survey: Survey, conversion: ConversionView) -> bool:
    """Whether a manager withdrew it, or its release."""
    release = survey.by_id.get(str(facet(conversion, "identity").get("release", "")))
    return has(conversion, "withdrawn") or (release is not None and has(release, "withdrawn"))
