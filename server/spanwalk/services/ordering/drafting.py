"""What is to be ordered for the newest release: by supplier, only what the orders that stand do not cover, with its prices."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TypedDict, cast

from sqlalchemy.orm import Session

from spanwalk.rules.ordering import ordering
from spanwalk.rules.ordering.fitted_pieces import out_of_orders
from spanwalk.rules.ordering.order_lines import FEWER, NOTHING, Pieces, added, line_of
from spanwalk.rules.record_types import CatalogueItemView
from spanwalk.rules.said import Said
from spanwalk.rules.survey import Survey, facet, has
from spanwalk.services.ordering.fitted import TYPES as FITTED_TYPES
from spanwalk.services.ordering.fitted import fitted_by_floor
from spanwalk.services.ordering.ordered import (
    TYPES,
    FloorPieces,
    Ordered,
    OrderedLine,
    OrderFigures,
    PricedLine,
    came_in_all,
    covered,
    orders_of,
)
from spanwalk.services.planning.plans import PLANNED_FROM
from spanwalk.services.planning.totals import terms_of_items
from spanwalk.services.refusals import NotThere
from spanwalk.services.releases.releasing import RELEASE_TYPES
from spanwalk.services.releases.stopped import StoppedGroup, stopped_groups
from spanwalk.services.releases.sums import Figures, Released, after, needed, releases_of
from spanwalk.services.sync.state import site_records
from spanwalk.sync.canonical import canonical, sha256_of, tidy

READ = tuple(dict.fromkeys((*PLANNED_FROM, *RELEASE_TYPES, *FITTED_TYPES, *TYPES)))
"""What orders are made from, and what tells how released work stands."""
FIRST, CHANGE = "first-order", "change-order"


@dataclass(frozen=True)
class Wanted:
    """When things are wanted: a day for all, and for single floors; days as 2026-03-01, empty where nobody said."""

    on: str
    floors: Mapping[str, str]

    def of(self, floor: str) -> str | None:
        """The day on which things for a floor are wanted."""
        return self.floors.get(floor) or self.on or None


class DraftOrder(TypedDict):
    """What one supplier would get; `against` is the number of the release that was ordered for before, None: of none."""

    supplier: str
    sort: str
    against: int | None
    lines: list[OrderedLine]
    figures: OrderFigures


class Draft(TypedDict):
    """What is to be ordered: see `draft_of`."""

    release: int
    floors: list[str]
    orders: list[DraftOrder]
    over: list[Over]
    cautions: list[Said]
    stopped: list[StoppedGroup]
    content: str


class Over(TypedDict):
    """An item of which more is ordered than is needed and cannot be called off in whole packs any more [pieces]."""

    item: str
    code: str
    pieces: int


@dataclass(frozen=True)
class Basis:
    """What a draft is made from."""

    survey: Survey
    releases: Sequence[Released]
    release: Released
    orders: Sequence[Ordered]
    terms: Mapping[str, ordering.Terms]
    codes: Mapping[str, str]
    currency: str
    today: str


def basis_of(session: Session, site_id: str, today: str) -> Basis:
    """The releases, orders and catalogue of a site.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    today : str
        The day, as 2026-03-01.

    Raises
    ------
    NotThere
        There is no release that stands, or its sums were not kept with it.
    """
    survey = Survey(site_records(session, site_id, types=READ, who=True))
    releases = releases_of(survey)
    standing = [each for each in releases if not each.is_withdrawn]
    if not standing:
        raise NotThere("order-no-release")
    release = standing[-1]
    if not release.whole:
        raise NotThere("release-without-sums", number=release.number)
    orders = orders_of(survey)
    codes = {line["item"]: line["code"] for order in orders for line in order.lines}
    for each in after(releases, release.number).values():
        codes |= {part["item"]: part["code"] for part in each.get("parts", [])}
    return Basis(
        survey,
        releases,
        release,
        orders,
        terms_of_items(codes, survey),
        codes,
        str(release.whole.get("currency", "")),
        today,
    )


def draft_of(found: Basis, wanted: Wanted) -> Draft:
    """What is to be ordered, or called off, so that the newest release can be done.

    What is fitted is used, whether a release has it still or not: none of it is called off, and nothing is ordered for it.

    Parameters
    ----------
    found : Basis
        Releases, orders and catalogue.
    wanted : Wanted
        When things are wanted.

    Returns
    -------
    dict
        ``{"release", "floors", "orders": [DraftOrder], "over": [Over], "cautions", "stopped", "content"}``: `content`
        is a fingerprint of what would be ordered, by which whoever orders says what they saw; `stopped` are groups
        among what is ordered for that must not be converted for now.
    """
    figures = after(found.releases, found.release.number)
    need = _need(figures.values(), float(found.release.whole.get("spare_pct", 0)))
    ordered, came = covered(found.orders), came_in_all(found.orders)
    codes = {**{item: code for item, (code, _) in need.items()}, **found.codes}
    fitted = fitted_by_floor(found.survey, figures, codes)
    lines: dict[str, OrderedLine] = {}
    over: list[Over] = []
    for item in sorted({*need, *ordered}, key=lambda each: (codes.get(each, ""), each)):
        wants = need[item][1] if item in need else NOTHING
        has_now = ordered.get(item, NOTHING)
        wants = added(wants, Pieces(out_of_orders(fitted.get(item, {}), has_now.together)))
        line = _line(found, item, codes.get(item, ""), wants, has_now, came.get(item, 0), wanted)
        if line is not None:
            lines[item] = line
        size = int(found.terms.get(item, ordering.NO_TERMS).supply.get("pack_size", 1))
        more = has_now.together + (line["pieces"] if line else 0) - wants.needed
        if more >= size:
            over.append({"item": item, "code": codes.get(item, ""), "pieces": more})
    orders = [_order(found, supplier, theirs) for supplier, theirs in _by_supplier(found, lines)]
    draft: Draft = {
        "release": found.release.number,
        "floors": sorted({str(each.get("floor_name", "")) for each in figures.values()}),
        "orders": orders,
        "over": over,
        "cautions": [*_cautions(found, figures, orders)],
        "stopped": stopped_groups(found.survey, figures),
        "content": "",
    }
    draft["content"] = fingerprint({"release": draft["release"], "orders": orders})
    return draft


def fingerprint(told: object) -> str:
    """SHA-256 of the canonical text of what is told."""
    return sha256_of(canonical(tidy(told)))


def _need(figures: Iterable[Figures], spare_pct: float) -> dict[str, tuple[str, Pieces]]:
    """Item -> its code and what all conversions in force come to with spares, floor by floor."""
    figures = list(figures)
    floors: dict[str, dict[str, int]] = {}
    for each in figures:
        for part in each.get("parts", []):
            of_item = floors.setdefault(part["item"], {})
            floor = str(each.get("floor_name", ""))
            of_item[floor] = of_item.get(floor, 0) + part["count"]
    return {
        each["item"]: (each["code"], Pieces(floors.get(each["item"], {}), each["spare"], each["for_misfits"]))
        for each in needed(figures, spare_pct)
    }


def _line(
    found: Basis, item: str, code: str, need: Pieces, ordered: Pieces, came: int, wanted: Wanted
) -> OrderedLine | None:
    supply = found.terms.get(item, ordering.NO_TERMS).supply
    told = line_of(need, ordered, came, int(supply.get("pack_size", 1)))
    if told is None:
        return None
    record = cast("CatalogueItemView | None", found.survey.by_id.get(item))
    floors: list[FloorPieces] = [
        {"floor": floor, "pieces": pieces, "wanted_on": wanted.of(floor)} for floor, pieces in told["floors"].items()
    ]
    line: OrderedLine = {
        "item": item,
        "code": code,
        "change": told["change"],
        "pieces": told["pieces"],
        "pack_size": told["pack_size"],
        "packs": told["packs"],
        "floors": floors,
        "spare": told["spare"],
        "for_misfits": told["for_misfits"],
        "left_over": told["left_over"],
    }
    name = facet(record, "identity").get("name")
    if name:
        line["name"] = name
    if supply.get("supplier_number"):
        line["supplier_number"] = supply["supplier_number"]
    if "lead_days" in supply:
        line["lead_days"] = supply["lead_days"]
    days = [each["wanted_on"] for each in floors if each["wanted_on"] and each["pieces"] > 0] or [wanted.on]
    first = min(day or "" for day in days)
    if first and told["change"] != FEWER:
        line["wanted_on"] = first
    return line


def _by_supplier(found: Basis, lines: Mapping[str, OrderedLine]) -> Iterator[tuple[str, list[OrderedLine]]]:
    """Lines by who gets them: fewer by who has the order, more by who the catalogue names; those not said come last."""
    had = {line["item"]: order.supplier for order in found.orders if not order.is_cancelled for line in order.lines}
    grouped: dict[str, list[OrderedLine]] = {}
    for item, line in lines.items():
        named = str(found.terms.get(item, ordering.NO_TERMS).supply.get("supplier", "")).strip()
        grouped.setdefault(had.get(item, named) if line["change"] == FEWER else named, []).append(line)
    yield from sorted(grouped.items(), key=lambda each: (each[0] == "", each[0].casefold(), each[0]))


def _order(found: Basis, supplier: str, lines: list[OrderedLine]) -> DraftOrder:
    theirs = [each for each in found.orders if not each.is_cancelled and each.supplier == supplier]
    against = _release_of(found, theirs[-1]) if theirs else None
    priced = [_priced(found, line) for line in lines]
    sums = [each["sum"] for each in priced]
    whole = None if any(each is None for each in sums) else round(sum(each or 0.0 for each in sums), 2)
    return {
        "supplier": supplier,
        "sort": CHANGE if theirs else FIRST,
        "against": against,
        "lines": lines,
        "figures": {"currency": found.currency, "lines": priced, "sum": whole},
    }


def _release_of(found: Basis, order: Ordered) -> int | None:
    id = facet(order.record, "identity").get("release")
    return next((each.number for each in found.releases if each.record["id"] == id), None)


def _priced(found: Basis, line: OrderedLine) -> PricedLine:
    """More at the price of so many; fewer at the price at which the item was ordered last."""
    if line["change"] == FEWER:
        price = _ordered_at(found, line["item"])
    else:
        price = ordering.price_at(found.terms.get(line["item"], ordering.NO_TERMS).price, line["pieces"])
    return {
        "item": line["item"],
        "price": price,
        "sum": None if price is None else round(price * line["pieces"], 2),
    }


def _ordered_at(found: Basis, item: str) -> float | None:
    prices = [
        each["price"]
        for order in found.orders
        if order.figures is not None and not order.is_cancelled
        for each in order.figures["lines"]
        if each["item"] == item
    ]
    return prices[-1] if prices else None


def _cautions(found: Basis, figures: Mapping[str, Figures], orders: Sequence[DraftOrder]) -> Iterator[Said]:
    """What to know before one orders: what the catalogue does not say, what comes late, what may not be ordered."""
    lines = [line for order in orders for line in order["lines"] if line["change"] != FEWER]
    unpriced = {each["item"] for order in orders for each in order["figures"]["lines"] if each["price"] is None}
    lacking = {
        "supplier": [line["code"] for order in orders if not order["supplier"] for line in order["lines"]],
        "number": [line["code"] for line in lines if "supplier_number" not in line],
        "lead": [line["code"] for line in lines if "lead_days" not in line],
        "price": [line["code"] for line in lines if line["item"] in unpriced],
        "barred": [line["code"] for line in lines if _is_barred(found.survey, line["item"])],
    }
    for name, codes in lacking.items():
        if codes:
            yield {"code": f"orders.caution.{name}", "facts": {"items": codes}}
    late = [f"{line['code']} ({days})" for line in lines if (days := late_days(line, found.today)) > 0]
    if late:
        yield {"code": "orders.caution.late", "facts": {"items": late}}
    without = [id for id, each in figures.items() if not each]
    if without:
        yield {"code": "orders.caution.without-sums", "facts": {"groups": len(without)}}


def _is_barred(survey: Survey, item: str) -> bool:
    """Whether an item was recalled, retired or taken out of the catalogue."""
    record = survey.by_id.get(item)
    if record is None or record["removed"] or has(record, "recall"):
        return True
    return bool(facet(record, "retired").get("retired"))


def late_days(line: OrderedLine, today: str) -> int:
    """By how many days an item comes later than it is wanted, ordered on a day [days]; 0 where nobody can tell."""
    if "lead_days" not in line or not line.get("wanted_on"):
        return 0
    try:
        wanted, comes = date.fromisoformat(line["wanted_on"]), date.fromisoformat(today)
    except ValueError:
        return 0
    return max(0, (comes + timedelta(days=line["lead_days"]) - wanted).days)


__all__ = ["READ", "Basis", "Draft", "DraftOrder", "Wanted", "basis_of", "draft_of", "fingerprint", "late_days"]
