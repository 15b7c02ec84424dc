"""What a release comes to, frozen with it where crews do not read: parts and prices, money, light, and what it orders."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import NotRequired, TypedDict, cast

from spanwalk.rules.arrangements.plan_types import (
    EnergyTold,
    LightTold,
    Misfits,
    MoneyTold,
    Part,
    PlanInShort,
    proposal_of,
)
from spanwalk.rules.money.job_money import JobStep, JobTerms, Limits
from spanwalk.rules.money.life_cycle import LifeTerms
from spanwalk.rules.ordering import ordering
from spanwalk.rules.record_types import ConversionView, GroupView, KindView, ReleaseView, RoomView
from spanwalk.rules.record_view import Facet
from spanwalk.rules.said import Said
from spanwalk.rules.survey import Survey, facet, has, mark_of, name_of_room
from spanwalk.services.planning.job_sums import FrozenBasis, JobBasis, JobSums, OfGroup, job_sums, thawed, together
from spanwalk.services.planning.plan_answers import Quantity
from spanwalk.services.planning.plans import SitePlan
from spanwalk.services.planning.totals import quantities, route_of

Sums = dict[str, float | None]
"""Figures of money by the names in `SUMMED`; what was not frozen by a name yet is missing."""


class Figures(TypedDict, total=False):
    """What is frozen of one group: how many, what is fitted, at which prices, what it comes to in money, light and energy.

    Of releases made before there were any figures, nothing; a figure that came later is missing in earlier ones.
    """

    floor_name: str
    room_name: str
    mark: str
    note: str
    fixtures: int
    gone: list[int]
    arrangement: str
    summary: str
    parts: list[Part]
    setting_ma: int
    watts_now: float | None
    watts_then: float
    light: LightTold
    energy: EnergyTold
    money: Sums
    job: JobTerms | None
    life: LifeTerms | None
    floor: str
    minutes: float
    misfits: Misfits | None


class DoneBefore(TypedDict):
    """Fixtures of a group that were noted as done under a release."""

    group: str
    release: int
    positions: list[int]


class Price(TypedDict, total=False):
    """An item's price [money], minutes to fit it, and the sequence of the price's record; empty where it has none."""

    each: float
    fit_minutes: float
    seq: int


class SoldAs(TypedDict):
    """How an item was sold at the release: `ordering.Terms` as JSON."""

    supply: Facet
    price: Facet


class Whole(TypedDict, total=False):
    """What is frozen of a release as a whole; empty of releases made before there were sums."""

    order: list[OrderLine]
    spare_pct: float
    currency: str
    money: Sums
    rebate_most: float | None
    alone: Sums
    steps: list[JobStep]
    basis: FrozenBasis
    sold: dict[str, SoldAs]
    prices: dict[str, Price]
    floors: list[str]
    without_order: list[int]
    done: list[DoneBefore]
    rules_version: str
    from_memory: list[Said]


class OrderLine(TypedDict):
    """One item of an order.

    `need` is what all conversions in force come to with spares, `before` what earlier releases ordered, `of_withdrawn` the
    part of it that was ordered under releases withdrawn since, `order` what this release orders, in whole packs, `over`
    what was ordered and is not needed. `pack_size`, `packs`, `left_over` (of what this release orders), `price` of one,
    `sum` and `lead_days` are as in `ordering.Bought`; releases made before they were frozen lack them.
    """

    item: str
    code: str
    fitted: int
    spare: int
    for_misfits: int
    why: Said | None
    need: int
    before: int
    of_withdrawn: int
    order: int
    over: int
    pack_size: NotRequired[int]
    packs: NotRequired[int]
    left_over: NotRequired[int]
    price: NotRequired[float | None]
    sum: NotRequired[float | None]
    lead_days: NotRequired[int | None]


@dataclass(frozen=True)
class Released:
    """A release with its frozen sums.

    Parameters
    ----------
    record : view record
        The release.
    groups : mapping
        Group id -> its conversion in this release.
    figures : mapping
        Group id -> what was frozen of it; of releases made before there were any, nothing.
    whole : mapping
        What was frozen of the release as a whole; empty as above.
    """

    record: ReleaseView
    groups: Mapping[str, ConversionView]
    figures: Mapping[str, Figures]
    whole: Whole

    @property
    def number(self) -> int:
        """Its number."""
        return int(facet(self.record, "identity").get("number", 0))

    @property
    def is_withdrawn(self) -> bool:
        """Whether a manager withdrew it."""
        return has(self.record, "withdrawn")


def releases_of(survey: Survey) -> list[Released]:
    """Every release with what was frozen with it, by number; needs releases, conversions and their sums."""
    conversions: dict[str, dict[str, ConversionView]] = {}
    for each in survey.of_type("conversion"):
        conversions.setdefault(facet(each, "identity").get("release", ""), {})[each["parent"]] = each
    return sorted(
        (_released(survey, each, conversions.get(each["id"], {})) for each in survey.of_type("release")),
        key=lambda each: each.number,
    )


def _released(survey: Survey, release: ReleaseView, groups: Mapping[str, ConversionView]) -> Released:
    figures: dict[str, Figures] = {}
    whole: Whole = {}
    for sums in survey.children(release, "release_sums"):
        identity = facet(sums, "identity")
        if "group" in identity:
            figures[identity["group"]] = cast("Figures", identity["figures"])
        else:
            whole = cast("Whole", identity["figures"])
    return Released(release, groups, figures, whole)


def after(releases: Iterable[Released], number: int) -> dict[str, Figures]:
    """Group id -> figures of the conversion that is in force once the release of a number is out.

    A conversion that was withdrawn since, or whose release was, is left out.
    """
    found: dict[str, tuple[Released, ConversionView]] = {}
    for release in releases:
        if release.number <= number:
            found |= {group: (release, conversion) for group, conversion in release.groups.items()}
    return {
        group: release.figures.get(group, {})
        for group, (release, conversion) in found.items()
        if not (release.is_withdrawn or has(conversion, "withdrawn"))
    }


def figures_of(found: SitePlan, plan: PlanInShort, summary: str) -> Figures:
    """What is frozen of one group: how many, what is fitted, at which prices, what it comes to in money, light and energy."""
    survey, proposal = found.survey, proposal_of(plan)
    group, room = cast("GroupView", survey.by_id[plan["group"]]), cast("RoomView", survey.by_id[plan["room"]])
    count = facet(group, "count")
    return {
        "floor_name": facet(survey.floor_of(room), "identity").get("name", ""),
        "floor": route_of(survey, room),
        "room_name": name_of_room(room),
        "mark": mark_of(cast("KindView", survey.by_id[plan["kind"]])),
        "note": facet(group, "identity").get("note", ""),
        "fixtures": plan["fixtures"],
        "gone": list(count.get("gone", [])),
        "arrangement": proposal["arrangement"],
        "summary": summary,
        "parts": [part.copy() for part in proposal["parts"]],
        "setting_ma": proposal["setting_ma"],
        "watts_now": plan["now"]["watts"],
        "watts_then": proposal["watts"],
        "light": proposal["light"],
        "energy": proposal["energy"],
        "money": _frozen(proposal["money"]),
        "job": proposal["money"].get("job"),
        "life": proposal["money"].get("life"),
        "minutes": proposal["minutes"],
        "misfits": plan.get("misfits"),
    }


def needed(figures: Iterable[Figures], spare_pct: float) -> list[Quantity]:
    """Items that groups need together, with spares: see `planning.quantities`."""
    return quantities(
        [{"proposal": {"parts": each.get("parts", [])}, "misfits": each.get("misfits")} for each in figures], spare_pct
    )


def items_ordered(need: Iterable[Quantity], earlier: Iterable[Released]) -> set[str]:
    """Ids of all items that an order tells of: what is needed, and what was ordered before."""
    return {each["item"] for each in need} | {
        line["item"] for release in earlier for line in release.whole.get("order", [])
    }


def order_lines(
    need: Iterable[Quantity], earlier: Iterable[Released], terms: Mapping[str, ordering.Terms]
) -> list[OrderLine]:
    """What is to be ordered beside what earlier releases ordered, by code, in whole packs; `terms` by item id.

    Examples
    --------
    >>> first = Released({"id": "r", "facets": {"identity": {"number": 1}}}, {}, {}, {"order": [{"item": "b", "code": "B", "order": 42}]})
    >>> [line] = order_lines([{"item": "b", "code": "B", "fitted": 48, "spare": 2, "for_misfits": 0, "why": None, "order": 50}], [first], {"b": ordering.Terms({"pack_size": 10}, {"each": 3.0})})
    >>> line["before"], line["order"], line["left_over"], line["sum"], line["over"]
    (42, 10, 2, 30.0, 0)
    """
    before: dict[str, int] = {}
    of_withdrawn: dict[str, int] = {}
    codes: dict[str, str] = {}
    for release in earlier:
        for line in release.whole.get("order", []):
            codes[line["item"]] = line["code"]
            before[line["item"]] = before.get(line["item"], 0) + line["order"]
            if release.is_withdrawn:
                of_withdrawn[line["item"]] = of_withdrawn.get(line["item"], 0) + line["order"]
    lines = {each["item"]: each for each in need}
    for item, code in codes.items():
        lines.setdefault(
            item, {"item": item, "code": code, "fitted": 0, "spare": 0, "for_misfits": 0, "why": None, "order": 0}
        )
    return [
        _line(lines[item], before.get(item, 0), of_withdrawn.get(item, 0), terms.get(item, ordering.NO_TERMS))
        for item in sorted(lines, key=lambda item: (lines[item]["code"], item))
    ]


def _line(need: Quantity, before: int, of_withdrawn: int, terms: ordering.Terms) -> OrderLine:
    wanted = need["order"]
    buys = ordering.bought(max(wanted - before, 0), terms)
    return {
        "item": need["item"],
        "code": need["code"],
        "fitted": need["fitted"],
        "spare": need["spare"],
        "for_misfits": need["for_misfits"],
        "why": need["why"],
        "need": wanted,
        "before": before,
        "of_withdrawn": of_withdrawn,
        "order": buys["bought"],
        "over": max(before - wanted, 0),
        "pack_size": buys["pack_size"],
        "packs": buys["packs"],
        "left_over": buys["left_over"],
        "price": buys["price"],
        "sum": buys["sum"],
        "lead_days": buys["lead_days"],
    }


def sums(
    figures: Mapping[str, Figures], basis: JobBasis, sold: Mapping[str, ordering.Terms], spare_pct: float
) -> JobSums:
    """Money of several groups done as one job; None where one of them lacks the figure, so that no total hides a gap.

    Parameters
    ----------
    figures : mapping
        Group id -> what was frozen of it.
    basis : JobBasis
        What holds for the job as a whole.
    sold : mapping
        Item id -> in which packs and at which prices it is sold; where one is missing, spares and packs are left out.
    spare_pct : float
        Spares for breakage [%].
    """
    groups = {
        id: OfGroup(
            each.get("floor", each.get("floor_name", "")), each.get("money", {}), each.get("job"), each.get("life")
        )
        for id, each in figures.items()
    }
    need = needed(figures.values(), spare_pct)
    known = all(each["item"] in sold for each in need)
    goods = together(ordering.bought(each["order"], sold[each["item"]])["sum"] for each in need) if known else None
    return job_sums(groups, basis, goods)


def basis_frozen(release: Released) -> JobBasis:
    """What held for the job at a release; of one made before it was frozen, the limit of one application alone."""
    whole = release.whole
    if "basis" in whole:
        return thawed(whole["basis"])
    return JobBasis(Limits(most=whole.get("rebate_most")), 0.0)


def sold_frozen(releases: Iterable[Released], number: int) -> dict[str, ordering.Terms]:
    """Item id -> how it was sold at the release of a number and those before it, the newest word of each."""
    frozen: dict[str, ordering.Terms] = {}
    for release in releases:
        if release.number <= number:
            frozen |= {
                id: ordering.Terms(each["supply"], each["price"]) for id, each in release.whole.get("sold", {}).items()
            }
    return frozen


def _frozen(money: MoneyTold) -> Sums:
    return {
        "cost": money["cost"],
        "rebate": money["rebate"],
        "net_cost": money.get("net_cost"),
        "saving_year": money.get("saving_year"),
        "saving_energy_year": money["saving_energy_year"],
        "first_year_short": money["first_year_short"],
        "npv": money["npv"],
        "lcc": money["lcc"],
        "lcc_as_is": money.get("lcc_as_is"),
    }


__all__ = [
    "Figures",
    "OrderLine",
    "Released",
    "after",
    "basis_frozen",
    "figures_of",
    "needed",
    "order_lines",
    "releases_of",
    "sold_frozen",
    "sums",
]
