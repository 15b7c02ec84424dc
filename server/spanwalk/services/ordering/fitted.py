"""Pieces that are fitted and that no release in force orders, floor by floor: counted down since, gone, withdrawn, removed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from typing import cast

from spanwalk.rules.installing.as_fitted import fitted_items, released_at
from spanwalk.rules.installing.noted import Noted, every_converted
from spanwalk.rules.ordering.fitted_pieces import fitted_beside
from spanwalk.rules.record_types import GroupView
from spanwalk.rules.survey import Survey, facet, fixtures_of, is_position
from spanwalk.services.releases.sums import Figures

TYPES = ("floor", "room", "group", "conversion", "installation")


def fitted_by_floor(
    survey: Survey, figures: Mapping[str, Figures], codes: Mapping[str, str]
) -> dict[str, dict[str, int]]:
    """Item -> floor -> pieces that are fitted there and that no release in force orders.

    Parameters
    ----------
    survey : Survey
        Needs records of `TYPES`; groups that are removed count as well, what was fitted in them is used.
    figures : mapping
        Group id -> figures of the conversion in force.
    codes : mapping
        Item -> its code, of all items that were ordered or are released.
    """
    items = {code: item for item, code in codes.items()}
    found: dict[str, dict[str, int]] = {}
    for group in (cast("GroupView", each) for each in survey.all if each["type"] == "group"):
        converted = every_converted(survey, group)
        if not converted:
            continue
        floor, told = _floor_of(survey, group), figures.get(group["id"])
        for item, pieces in _beside(group, converted, told, items).items():
            of_item = found.setdefault(item, {})
            name = floor if told is None else str(told.get("floor_name", floor))
            of_item[name] = of_item.get(name, 0) + pieces
    return found


def _beside(
    group: GroupView, converted: Mapping[int, Noted], told: Figures | None, items: Mapping[str, str]
) -> dict[str, int]:
    released = {part["item"]: part["count"] for part in (told or {}).get("parts", [])}
    within = {position: each for position, each in converted.items() if _is_released(told, position)}
    outside = {position: each for position, each in converted.items() if position not in within}
    return fitted_beside(released, _pieces(group, within.items(), items), _pieces(group, outside.items(), items))


def _is_released(told: Figures | None, position: int) -> bool:
    """Whether the release in force has a fixture; of a release that kept no count it has all."""
    if told is None or "fixtures" not in told:
        return told is not None
    count = {"count": told["fixtures"], "gone": told.get("gone", [])}
    return is_position(cast("GroupView", {"facets": {"count": count}}), position)


def _pieces(group: GroupView, converted: Iterable[tuple[int, Noted]], items: Mapping[str, str]) -> Counter[str]:
    """Item -> what went into fixtures: as it was said, else as it was released [pieces]."""
    found = Counter[str]()
    for position, here in converted:
        for code, number in _fitted_in(group, position, here):
            if code in items:
                found[items[code]] += number
    return found


def _fitted_in(group: GroupView, position: int, here: Noted) -> Iterator[tuple[str, int]]:
    released = released_at(here.conversion, position, fixtures_of(group))
    fitted = fitted_items(here.done, released) if here.done is not None else None
    for each in released if fitted is None else fitted:
        yield each["code"], each["number"]


def _floor_of(survey: Survey, group: GroupView) -> str:
    room = survey.room_of(group)
    return str(facet(survey.floor_of(room), "identity").get("name", "")) if room is not None else ""


__all__ = ["TYPES", "fitted_by_floor"]
