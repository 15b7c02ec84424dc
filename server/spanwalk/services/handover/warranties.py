"""For how long the makers answer for what was fitted, and how to get each item again."""

from __future__ import annotations

import calendar
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from spanwalk.rules.installing.as_fitted import fitted_items, released_at
from spanwalk.rules.installing.noted import Noted
from spanwalk.rules.installing.replaced import by_code
from spanwalk.rules.record_types import CatalogueItemView
from spanwalk.rules.survey import Survey, facet
from spanwalk.services.days import day_of
from spanwalk.services.handover.told import SpareTold, WarrantyTold
from spanwalk.services.releases.sums import Released

MONTHS = 12


@dataclass
class Fitted:
    """How many of an item were fitted and on which days, as noted."""

    number: int = 0
    days: list[str] = field(default_factory=list)
    spare: int = 0


def fitted_of(noted: Iterable[tuple[int, Noted, int]], zone: str) -> dict[str, Fitted]:
    """Code -> what was fitted of it, in fixtures that are done.

    Parameters
    ----------
    noted : iterable
        Position, what was noted there, and fixtures of the group.
    zone : str
        The building's time zone.
    """
    found: dict[str, Fitted] = {}
    for position, here, fixtures in noted:
        if here.done is None:
            continue
        day = day_of(facet(here.done, "identity").get("noted_at"), zone)
        for item in fitted_items(here.done, released_at(here.conversion, position, fixtures)) or ():
            each = found.setdefault(item["code"], Fitted())
            each.number += item["number"]
            each.spare += item["number"] if item.get("spare") else 0
            if day:
                each.days.append(day)
    return found


def warranties_of(survey: Survey, fitted: Mapping[str, Fitted]) -> tuple[WarrantyTold, ...]:
    """Each item that was fitted with the years of its warranty, counted from the day on which its fixture was noted as done."""
    items = by_code(survey.of_type("catalogue_item"))
    return tuple(_warranty(code, each, items.get(code)) for code, each in sorted(fitted.items()))


def _warranty(code: str, fitted: Fitted, item: CatalogueItemView | None) -> WarrantyTold:
    years = facet(item, "supply").get("warranty_years")
    first, last = min(fitted.days, default=""), max(fitted.days, default="")
    return WarrantyTold(
        code=code,
        name=str(facet(item, "identity").get("name") or ""),
        number=fitted.number,
        years=None if years is None else float(years),
        first_day=first,
        last_day=last,
        first_end=end_of(first, years),
        last_end=end_of(last, years),
    )


def end_of(day: str, years: float | None) -> str:
    """The last day of so many years from a day on; empty where either is not known.

    >>> end_of("2024-02-29", 5), end_of("2026-04-02", 2.5), end_of("", 5), end_of("no day", 5)
    ('2029-02-28', '2028-10-02', '', '')
    """
    if years is None:
        return ""
    try:
        begun = date.fromisoformat(day)
    except ValueError:
        return ""
    month = begun.year * MONTHS + begun.month - 1 + round(years * MONTHS)
    year, place = divmod(month, MONTHS)
    if year > date.max.year:
        return ""
    return date(year, place + 1, min(begun.day, calendar.monthrange(year, place + 1)[1])).isoformat()


def spares_of(survey: Survey, releases: Sequence[Released], fitted: Mapping[str, Fitted]) -> tuple[SpareTold, ...]:
    """How to get each item again that was fitted, and how many of what was ordered are not fitted."""
    items, ordered = by_code(survey.of_type("catalogue_item")), Counter[str]()
    for release in releases:
        for line in release.whole.get("order", []):
            ordered[line["code"]] += line["order"]
    told = []
    for code, each in sorted(fitted.items()):
        supply = facet(items.get(code), "supply")
        left = max(0, ordered[code] - each.number) if code in ordered else None
        supplier, number = str(supply.get("supplier") or ""), str(supply.get("supplier_number") or "")
        name = str(facet(items.get(code), "identity").get("name") or "")
        told.append(SpareTold(code, name, supplier, number, supply.get("lead_days"), left))
    return tuple(told)
