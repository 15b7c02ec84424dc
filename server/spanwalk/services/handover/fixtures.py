"""What each fixture of a group is now: by the last word on it, and by the card of the release under which it was done."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from spanwalk.rules.codes import spaced
from spanwalk.rules.installing.as_fitted import FittedItem, fitted_items, released_at
from spanwalk.rules.installing.noted import Noted, emergency_positions
from spanwalk.rules.installing.punch_list import state_of
from spanwalk.rules.record_types import GroupView, LabelView
from spanwalk.rules.since_release.standing import number_of
from spanwalk.rules.since_release.work import further_fixtures
from spanwalk.rules.survey import facet
from spanwalk.services.days import day_of
from spanwalk.services.handover.told import FixtureTold
from spanwalk.services.labels.labels import Binding
from spanwalk.words import say


def fixtures_told(
    group: GroupView, noted: Mapping[int, Noted], labels: Mapping[Binding, LabelView], zone: str
) -> Iterator[FixtureTold]:
    """Each fixture of a group, by its number, of a site in a time zone; of one that no release has, nothing was released."""
    newest = next((each.conversion for each in noted.values() if each.done is None), None)
    further = further_fixtures(group, facet(newest, "identity").get("facts") or {})
    for position, here in noted.items():
        if here.done is None and position in further:
            here = replace(here, conversion=None)
        label = labels.get((group["id"], position))
        code = spaced(str(facet(label, "identity")["code"])).strip() if label is not None else ""
        yield _fixture(position, code, here, len(noted), zone)


def _fixture(position: int, code: str, here: Noted, fixtures: int, zone: str) -> FixtureTold:
    released = released_at(here.conversion, position, fixtures)
    fitted = fitted_items(here.done, released) if here.done is not None else None
    said = facet(here.done, "identity")
    in_words = str(said.get("fitted") or "") if fitted is None else items_text(fitted)
    as_released = facet(here.done, "as_fitted").get("as_released") if here.done is not None else None
    return FixtureTold(
        position=position,
        state=state_of(here),
        code=code,
        released=items_text(released),
        fitted=in_words,
        as_released=as_released if isinstance(as_released, bool) else None,
        setting_ma=", ".join(str(each["setting_ma"]) for each in fitted or () if "setting_ma" in each),
        release=number_of(here.conversion) if here.conversion is not None else None,
        day=day_of(said.get("noted_at"), zone),
        emergency=position in emergency_positions(here.card),
    )


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
