"""What is answered about plans: of one group, of a site in short, and the sums over several groups."""

from __future__ import annotations

from typing import NotRequired, TypedDict

from spanwalk.rules.arrangements.plan_types import Instead, Misfits, Part, Plan
from spanwalk.rules.fit.misfit import MisfitCost
from spanwalk.rules.judging.judgement_types import MoreBuys
from spanwalk.rules.money.job_money import JobStep
from spanwalk.rules.money.life_cycle import LifeTold
from spanwalk.rules.money.money import Sensitivity
from spanwalk.rules.ordering.ordering import Bought
from spanwalk.rules.said import Said
from spanwalk.services.planning.room_light import RoomLight


class Risk(TypedDict):
    """What may still go wrong with the bars proposed: see `planning.risk_of`."""

    m: int | None
    could_be_shorter: int | None
    measure_more: int | None
    more_buys: MoreBuys | None
    misfit: MisfitCost | None


class MeanLux(TypedDict):
    """What was measured in a room: mean [lx] and number of points."""

    mean_lux: int
    points: int


class LuxOfRoom(TypedDict):
    """What was measured before and after; None where nothing was."""

    before: MeanLux | None
    after: MeanLux | None


class PlanAnswer(Plan):
    """The plan of one group, with the head and the rules that it holds for."""

    head: int
    rules_version: str
    lux_readings: LuxOfRoom
    room_light: RoomLight
    currency: str
    risk: Risk


class FloorTold(TypedDict):
    """A floor: how many groups it has, how many are ready and of these released, its part of the job's money; None where there is no sum."""

    floor: str | None
    floor_name: str
    groups: int
    ready: int
    released: int
    cost_share: float | None
    rebate_share: float | None
    npv_share: float | None


class ShortPlan(TypedDict):
    """One line about a group; what is proposed and what that comes to only where there is a proposal."""

    group: str
    room: str
    room_name: str
    floor: str | None
    floor_name: str
    kind: str
    mark: str
    note: str
    fixtures: int
    state: str
    blockers: list[Said]
    instead: list[Instead]
    site_values: list[Said]
    arrangement: str | None
    verdict: NotRequired[str]
    watts_now: NotRequired[float | None]
    watts_then: NotRequired[float]
    share_of_today_pct: NotRequired[float | None]
    share_of_all_burning_pct: NotRequired[float | None]
    cost: NotRequired[float | None]
    rebate: NotRequired[float | None]
    saving_year: NotRequired[float | None]
    simple_payback_years: NotRequired[float | None]
    npv: NotRequired[float | None]
    lcc: NotRequired[float | None]
    cost_share: NotRequired[float]
    rebate_share: NotRequired[float]
    npv_share: NotRequired[float | None]


class Page(TypedDict):
    """Some of the plans in short, and where the next page starts; None after the last."""

    groups: list[ShortPlan]
    next: int | None


class PageAnswer(Page):
    """A page with the head it holds for."""

    head: int


class PartsOf(TypedDict):
    """What is bought for a group."""

    parts: list[Part]


class Needs(TypedDict):
    """What a group needs of items: its parts, and what to be ready for."""

    proposal: PartsOf
    misfits: NotRequired[Misfits | None]


class Quantity(TypedDict):
    """An item to order: fitted, spare for breakage, for misfits and together; `why` for how many cavities."""

    item: str
    code: str
    fitted: int
    spare: int
    for_misfits: int
    order: int
    why: Said | None


class QuantityBought(Quantity, Bought):
    """An item to order with what has to be bought for it."""


class MisfitSums(TypedDict):
    """Misfits of several groups together."""

    cavities: int
    expected: float
    accepted: int
    aside: int


class WasteSums(TypedDict):
    """What comes out of several groups: lamps by length, ballasts by suspicion, batteries by what is in them."""

    lamps: dict[str, int]
    ballasts: dict[str, int]
    ballasts_assumed: int
    batteries: dict[str, int]
    lamp_classes: dict[str, int]
    starters: int


class MoneySums(TypedDict):
    """Money of several groups together; None where one lacks the figure."""

    cost: float | None
    rebate: float | None
    net_cost: float | None
    saving_year: float | None
    saving_energy_year: float | None
    first_year_short: float | None
    npv: float | None
    lcc: float | None
    lcc_as_is: float | None


class MoneyTotals(MoneySums):
    """The sums of the job, with what they hang on.

    `alone` is what the groups come to one by one, `steps` what doing them together changes, `days_alone` and `days` the
    days of platform hire. Of what lacks a figure, None or nothing.
    """

    sensitivity: Sensitivity | None
    alone: MoneySums
    steps: list[JobStep]
    days_alone: int | None
    days: int | None
    life: LifeTold | None


class EnergySums(TypedDict):
    """Energy of several groups together; None where one lacks the figure."""

    kwh_now: float | None
    kwh_then: float | None
    kw_saved: float | None
    emission_saved_kg: float | None
    kwh_saved: float | None
    heating_kwh: float | None


class Totals(TypedDict):
    """What groups come to together: see `planning.totals`."""

    groups: int
    fixtures: int
    quantities: list[QuantityBought]
    order_sum: float | None
    without_shorter: Said | None
    energy: EnergySums
    money: MoneyTotals
    minutes: float | None
    waste: WasteSums
    site_values: list[Said]
    from_memory: list[Said]
    mixed_looks: list[Said]


class SiteAnswer(PageAnswer):
    """The plans of a site: floors, the first page of groups, totals."""

    rules_version: str
    floors: list[FloorTold]
    catalogue: str | None
    totals: Totals
