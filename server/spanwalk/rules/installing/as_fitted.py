"""What was fitted in one fixture, item by item, held against what was released for it. Twin: pwa/rules/installing/as_fitted.js."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NotRequired, TypedDict, cast

from spanwalk.rules.record_types import ConversionView, InstallationView
from spanwalk.rules.survey import facet

BAR, DRIVER, ACCESSORY = "bar", "driver", "accessory"
KINDS = (BAR, DRIVER, ACCESSORY)
PACK = "emergency-pack"
Card = Mapping[str, object]
"""What a release froze of a group."""


class FittedItem(TypedDict):
    """An item in one fixture: its code, what kind it is, how many; of a driver its setting [mA], of bars their rows.

    `item` is the catalogue item's id where it is known, `serials` batch or serial numbers, `spare` that it came from
    the spares.
    """

    kind: str
    code: str
    number: int
    item: NotRequired[str]
    rows: NotRequired[list[int]]
    setting_ma: NotRequired[int]
    serials: NotRequired[list[str]]
    spare: NotRequired[bool]


class FittedDifference(TypedDict):
    """An item of which more, fewer or otherwise set ones were fitted than released: numbers, settings [mA]."""

    kind: str
    code: str
    released: int
    fitted: int
    released_ma: int | None
    fitted_ma: int | None


def released_items(card: Card, position: int, fixtures: int) -> list[FittedItem]:
    """What a release wants in one fixture: bars by their codes, the driver, what is fitted beside them.

    Parameters
    ----------
    card : mapping
        The frozen figures of the conversion.
    position : int
        The fixture.
    fixtures : int
        Fixtures of the group, among which accessories are shared out.

    Examples
    --------
    >>> card = {"rows": [{"row": row, "cavities": 2, "bars": [{"name": "B"}]} for row in (1, 3)], "driver": None}
    >>> released_items(card, 1, 4)
    [{'kind': 'bar', 'code': 'B', 'number': 4, 'rows': [1, 3]}]
    """
    return [*_bars(card), *_driver(card), *_accessories(card, position, fixtures)]


def _bars(card: Card) -> list[FittedItem]:
    found: dict[str, FittedItem] = {}
    for row in cast("Sequence[Mapping[str, object]]", card.get("rows") or ()):
        for bar in cast("Sequence[Mapping[str, str]]", row.get("bars") or ()):
            each = found.setdefault(bar["name"], {"kind": BAR, "code": bar["name"], "number": 0, "rows": []})
            each["number"] += cast("int", row.get("cavities", 1))
            if row["row"] not in each["rows"]:
                each["rows"].append(cast("int", row["row"]))
    return list(found.values())


def _driver(card: Card) -> list[FittedItem]:
    driver = cast("Mapping[str, object] | None", card.get("driver"))
    if not driver:
        return []
    number, setting_ma = cast("int", driver.get("number", 1)), cast("int", driver["setting_ma"])
    return [{"kind": DRIVER, "code": str(driver["name"]), "number": number, "setting_ma": setting_ma}]


def _accessories(card: Card, position: int, fixtures: int) -> list[FittedItem]:
    emergency = cast("Mapping[str, list[int]]", card.get("emergency") or {})
    found: list[FittedItem] = []
    for each in cast("Sequence[Mapping[str, object]]", card.get("accessories") or ()):
        packs = emergency.get("positions") if each["purpose"] == PACK else None
        positions = cast("list[int] | None", each.get("positions")) or packs or None
        shared = len(positions) if positions else fixtures
        if positions is None or position in positions:
            number = max(1, cast("int", each.get("in_the_group", 1)) // max(1, shared))
            found.append({"kind": ACCESSORY, "code": str(each["name"]), "number": number})
    return found


def released_at(conversion: ConversionView | None, position: int, counted: int) -> list[FittedItem]:
    """The items that a conversion wants in one fixture; of none, nothing.

    Accessories are shared out among as many fixtures as were released, however many are counted since.

    Parameters
    ----------
    conversion : view record or None
        The conversion.
    position : int
        The fixture.
    counted : int
        Fixtures that the group has now: of a release that froze no count [fixtures].

    Examples
    --------
    >>> clips = {"accessories": [{"name": "CLIP", "purpose": "clip", "in_the_group": 6}]}
    >>> released = {"facets": {"identity": {"frozen": clips, "facts": {"group": {"count": {"count": 3}}}}}}
    >>> released_at(released, 1, 5), released_at(None, 1, 5)
    ([{'kind': 'accessory', 'code': 'CLIP', 'number': 2}], [])
    """
    said = facet(conversion, "identity")
    shared = (said.get("facts") or {}).get("group", {}).get("count", {}).get("count") or counted
    return released_items(cast("Card", said.get("frozen") or {}), position, int(shared))


def fitted_items(installation: InstallationView, released: Sequence[FittedItem]) -> list[FittedItem] | None:
    """What was fitted, as far as it was said: the items told, those released where it is as released, else None.

    What is no item in the list is left out: it came from elsewhere than our phones.

    Parameters
    ----------
    installation : view record
        What was noted.
    released : sequence of FittedItem
        See `released_items`.
    """
    said = facet(installation, "as_fitted")
    if isinstance(said.get("items"), list):
        return [cast("FittedItem", each) for each in cast("list[object]", said["items"]) if is_item(each)]
    return list(released) if said.get("as_released") else None


def is_item(each: object) -> bool:
    """Whether a value is an item as `FittedItem` says.

    >>> is_item({"kind": "bar", "code": "B", "number": 2}), is_item({"kind": "bar", "code": "B", "number": "2"})
    (True, False)
    """
    if not isinstance(each, dict) or each.get("kind") not in KINDS or not isinstance(each.get("code"), str):
        return False
    whole = (each.get("number"), each.get("setting_ma", 0))
    lists = isinstance(each.get("rows", []), list) and isinstance(each.get("serials", []), list)
    return lists and all(type(number) is int and number >= 0 for number in whole)


def differences(released: Iterable[FittedItem], fitted: Iterable[FittedItem]) -> list[FittedDifference]:
    """What was fitted otherwise than released: by kind and code, in the order of the release, what is new last.

    Parameters
    ----------
    released, fitted : iterable of FittedItem
        Of one fixture.

    Examples
    --------
    >>> driver = {"kind": "driver", "code": "D", "number": 1}
    >>> differences([{**driver, "setting_ma": 500}], [{**driver, "setting_ma": 700}])
    [{'kind': 'driver', 'code': 'D', 'released': 1, 'fitted': 1, 'released_ma': 500, 'fitted_ma': 700}]
    """
    wanted, there = _counted(released), _counted(fitted)
    found: list[FittedDifference] = []
    for kind, code in [*wanted, *(key for key in there if key not in wanted)]:
        (before, before_ma), (after, after_ma) = wanted.get((kind, code), (0, None)), there.get((kind, code), (0, None))
        set_otherwise = before > 0 and after > 0 and before_ma != after_ma and after_ma is not None
        if before != after or set_otherwise:
            found.append(
                {
                    "kind": kind,
                    "code": code,
                    "released": before,
                    "fitted": after,
                    "released_ma": before_ma,
                    "fitted_ma": after_ma,
                }
            )
    return found


def _counted(items: Iterable[FittedItem]) -> dict[tuple[str, str], tuple[int, int | None]]:
    """How many of each code, and the setting of the last that names one [mA]."""
    found: dict[tuple[str, str], tuple[int, int | None]] = {}
    for each in items:
        key = (each["kind"], each["code"])
        number, setting_ma = found.get(key, (0, None))
        found[key] = (number + each["number"], each.get("setting_ma", setting_ma))
    return {key: told for key, told in found.items() if told[0] > 0}


def spares_used(installations: Iterable[InstallationView]) -> dict[str, int]:
    """How many of each code were taken from the spares.

    Parameters
    ----------
    installations : iterable of view records
        Those that count: the last word on each fixture.
    """
    found: dict[str, int] = {}
    for installation in installations:
        for each in fitted_items(installation, ()) or ():
            if each.get("spare"):
                found[each["code"]] = found.get(each["code"], 0) + each["number"]
    return dict(sorted(found.items()))


__all__ = [
    "FittedDifference",
    "FittedItem",
    "differences",
    "fitted_items",
    "is_item",
    "released_at",
    "released_items",
    "spares_used",
]
