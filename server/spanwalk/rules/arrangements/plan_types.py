"""What a plan tells, as JSON: the group, its proposal with wiring, light, energy and money, and what was decided against."""

from __future__ import annotations

from typing import NotRequired, TypedDict

from spanwalk.rules.gear.checks import CheckTold
from spanwalk.rules.judging.judgement_types import Fit
from spanwalk.rules.money.job_money import JobTerms
from spanwalk.rules.money.life_cycle import LifeTerms, LifeTold
from spanwalk.rules.money.money import Sensitivity
from spanwalk.rules.said import Said

# -- wiring


class BarTold(TypedDict):
    """A bar on an output: body (`here` or `neighbour`), row, cavity and place from 1; code, item id, its current [mA]."""

    body: str
    row: int
    cavity: int
    place: int
    bar: str
    item: str
    ma: float


class OutputTold(TypedDict):
    """An output that is used: its number, how its bars are joined, and they in order."""

    output: int
    joined: str
    bars: list[BarTold]


class DriverTold(TypedDict):
    """One driver of one fixture with what hangs on it."""

    driver: str
    item: str
    number: int
    setting_ma: int
    set_by: str
    current: str
    outputs: list[OutputTold]
    spare_outputs: list[int]
    bars_w: float
    mains_w: float


class Wired(TypedDict):
    """Which drivers feed a body's bars: its own (`here`), or the `neighbour`'s, whose wiring is then told."""

    wired_by: str
    wiring: list[DriverTold]
    neighbour_wiring: NotRequired[list[DriverTold]]


# -- emergency


class PackFacts(TypedDict):
    """What is said of an emergency pack: see `packs.told_of`."""

    pack: str
    pack_item: str
    bar: str
    battery: str
    output_w: float | None
    lasts_min: int | None
    wanted_min: int | None
    unswitched_feed: bool
    then_lm: int | None
    today_lm: int | None


class PackTold(PackFacts):
    """A pack with the bar that it feeds: row and place in the row."""

    row: int
    place: int


class EmergencyTold(TypedDict):
    """What the emergency duty of a group comes to, for plan and card; of `none` only duty and positions."""

    duty: str
    positions: list[int]
    wanted_min: NotRequired[int | None]
    old_battery: NotRequired[str]
    old_pack: NotRequired[str]
    unswitched_feed_seen: NotRequired[str]
    second_source: NotRequired[str]
    dc_volts: NotRequired[float | None]
    pack: NotRequired[PackTold | None]


# -- a candidate


class Part(TypedDict):
    """An item that is bought for a group, with number and price of one."""

    item: str
    code: str
    count: int
    each: float | None


class EnergyTold(TypedDict):
    """Energy of a year [kWh], load saved [kW] and emission saved [kg]; None where it cannot be told.

    `kwh_now` and `kwh_then` are of the lights alone; `kwh_saved`, `kw_saved` and `emission_saved_kg` hold what cooling makes
    of it, the emissions also `heating_kwh`, the fuel that heating takes more.
    """

    kwh_now: float | None
    kwh_then: float | None
    kw_saved: float | None
    emission_saved_kg: float | None
    kwh_saved: NotRequired[float | None]
    heating_kwh: NotRequired[float | None]


class LifeOnly(TypedDict):
    """The figures of the years looked at, each with its terms."""

    life_told: LifeTold
    airr_share: float | None


class MoneyTold(TypedDict):
    """What a candidate costs and saves, in the site's currency; figures that cannot be reckoned are None or left out."""

    cost: float | None
    rebate: float | None
    saving_energy_year: float | None
    first_year_short: float | None
    missing: list[str]
    lcc: float | None
    npv: float | None
    net_cost: NotRequired[float | None]
    saving_year: NotRequired[float | None]
    lcc_as_is: NotRequired[float | None]
    simple_payback_years: NotRequired[float | None]
    sir: NotRequired[float | None]
    irr_share: NotRequired[float | None]
    discounted_payback_years: NotRequired[float | None]
    sensitivity: NotRequired[Sensitivity]
    job: NotRequired[JobTerms]
    life: NotRequired[LifeTerms]
    life_told: NotRequired[LifeTold]
    airr_share: NotRequired[float | None]


class LightTold(TypedDict, total=False):
    """Light of the group then.

    `then_lm`, `range_lm`, `lux` and `range_lux` are maintained, at the horizon of `years`; those of `day_one` are on the day of
    handing over. Shares [%] are of the mean over the years, since today's lamps are reckoned at their mean too: of today
    as found, and of today with all lamps burning; `day_one_of_found_pct` is what a meter would find. `corrected` says which
    readings of light correct it, where some do.
    """

    then_lm: int | None
    range_lm: list[int]
    years: int
    mean_lm: int
    day_one_lm: int
    day_one_range_lm: list[int]
    share_of_today_pct: float
    share_of_all_burning_pct: float
    day_one_of_found_pct: float
    lux: int
    range_lux: list[int]
    day_one_lux: int
    day_one_range_lux: list[int]
    corrected: Said


class LightTerm(TypedDict):
    """A term of a light: its code, value, source, and how it is known; `source` is empty where that says it all."""

    term: str
    value: float
    source: str
    how_known: str


class DarkAndLit(TypedDict, total=False):
    """How much of a cavity is lit, and how long its dark ends are [1/320 mm]; empty where the cavity is not known."""

    cavity_ticks: int
    gap_each_end_ticks: int
    lit_share: float
    dark_end_ticks: int


class Weighed(TypedDict):
    """What of a candidate hangs on money, hours or the size of the group."""

    watts: float
    parts: list[Part]
    minutes: float
    light: LightTold
    energy: EnergyTold
    money: MoneyTold


class Proposal(Wired, DarkAndLit, Weighed):
    """A candidate in short: what is fitted and how it is set, what it draws, costs and saves: see `telling.in_short`."""

    arrangement: str
    kind: str
    verdict: str
    rows: list[int]
    fill: list[str]
    fill_items: list[str]
    bars_each: int
    feeds: int
    partner: Partner | None
    driver: str
    driver_item: str
    drivers_each: int
    setting_ma: int
    bars_on_one: int
    shared: bool
    efficiency_pct: float
    emergency: EmergencyTold | None
    fit: Fit


class ProposalWhole(Proposal):
    """A candidate with every check and all that money tells: see `telling.told`."""

    each_ma: float
    bars_w_each: float
    watts_each: float
    checks: list[CheckTold]


class RejectedTold(CheckTold):
    """A candidate that was rejected, with the check that it failed."""

    arrangement: str


# -- a plan


class Place(TypedDict):
    """Room and kind mark of a group, to be read."""

    room: str
    mark: str


class Partner(Place):
    """The group with which another is planned, released and converted."""

    group: str


class Instead(Said):
    """A reason against the method, with the code of what to do instead."""

    instead: str


class SpareBars(TypedDict):
    """What one misfit takes beside the bars that did not go in."""

    item: str
    code: str
    count: int


class Misfits(TypedDict):
    """What to be ready for: see `spares.misfits_of`."""

    cavities: int
    expected: float
    accepted: int
    aside: int
    spare: list[SpareBars]


class WasteTold(TypedDict):
    """What comes out of a group: see `waste.Waste`."""

    lamps: int
    lamp: str
    ballasts: int
    suspicion: str
    leaking: bool
    batteries: int
    battery: str
    count_assumed: bool
    rule: str
    lamp_class: str
    starters: int


class WattsNow(TypedDict):
    """Mains watts of the group today [W]."""

    watts: float | None


class NowTold(WattsNow):
    """The group as it is: see `room_light.light_today`."""

    fixtures: int
    lamps: int
    dark_lamps: int
    watts_each: float | None
    hours_year: int | None
    lumens: int | None
    all_burning_lm: int | None
    all_burning_clean_lm: int | None
    assumed: list[str]
    missing: list[str]
    sources: list[dict[str, str | None]]
    kwh_year: NotRequired[float]
    cavity_ratio: NotRequired[float]
    utilisation: NotRequired[float]
    lux: NotRequired[int]
    range_lux: NotRequired[list[int]]
    all_burning_lux: NotRequired[int]
    all_burning_range_lux: NotRequired[list[int]]


class TargetFacts(TypedDict):
    """The target of a space, by whose standard, and where that stands."""

    target_lux: float
    standard: str
    standard_row: str
    how_known: str
    source: str
    edition: str


class WantedFacts(TypedDict):
    """The light wanted of a group: by a target, as a share of today's, or what is missing."""

    policy: str
    ceiling_pct: float
    assumed: list[str]
    missing: NotRequired[list[str]]
    keep_pct: NotRequired[float]
    kept: NotRequired[str]
    target_lux: NotRequired[float]
    standard: NotRequired[str]
    standard_row: NotRequired[str]
    how_known: NotRequired[str]
    source: NotRequired[str]
    edition: NotRequired[str]


class WantedTold(WantedFacts):
    """The same with the code of its sentence."""

    code: str


class Density(TypedDict):
    """Power density of a room [W/ft²] against the limit of the code chosen, with the limit's source."""

    w_ft2: float
    limit_w_ft2: float
    verdict: str
    code: str
    source: str
    edition: str
    how_known: str
    name: str
    w_m2: float
    limit_w_m2: float
    alteration_pct: float
    alteration_of: str
    section: str
    alteration_how_known: str


class Leni(TypedDict):
    """Lighting energy of a room over its floor [kWh/m² a year], its power density [W/m²] and the hours it is reckoned with."""

    kwh_m2_year: float
    w_m2: float
    hours_year: int


class SideBySide(TypedDict, total=False):
    """Names of candidates to compare; empty where none is feasible."""

    recommended: list[str]
    one_bar_per_lamp: list[str]
    brightest: list[str]
    dimmest: list[str]


class ReadTold(TypedDict):
    """In how many fixtures of the kind a cavity was read, and whether that is enough for a fit by the lamp."""

    fixtures: int
    is_enough: bool


class PlanBasis(TypedDict):
    """What both plans of a group, whole and in short, tell alike: see `plan.plan_in_short`."""

    group: str
    kind: str
    room: str
    fixtures: int
    partner: Partner | None
    state: str
    blockers: list[Said]
    instead: list[Instead]
    site_values: list[Said]
    from_memory: list[Said]
    cautions: list[str]
    waste: WasteTold
    misfits: Misfits | None


class PlanInShort(PlanBasis):
    """The plan of a group, as much of it as lists, sums, releases and neighbours need."""

    now: WattsNow
    proposal: Proposal | None


class LightTerms(TypedDict):
    """Terms of the light of a group today and with what is proposed."""

    today: list[LightTerm]
    new: list[LightTerm]


class Plan(PlanBasis):
    """The plan of a group, whole: see `plan.plan_group`."""

    light_terms: LightTerms
    now: NowTold
    proposal: ProposalWhole | None
    wiring_told: list[Said]
    side_by_side: SideBySide
    feasible: list[ProposalWhole]
    feasible_count: int
    rejected: list[RejectedTold]
    why: list[Said]
    wanted: WantedTold
    corrected: Said | None
    density: Density | None
    leni: Leni | None
    uncounted: list[str]
    money_told: list[Said]
    trial: str | None
    read_of_kind: ReadTold


def proposal_of(plan: PlanInShort) -> Proposal:
    """The proposal of a plan that has one, as every ready plan does.

    Raises
    ------
    ValueError
        Nothing is proposed.
    """
    proposal = plan["proposal"]
    if proposal is None:
        raise ValueError(f"nothing is proposed for group {plan['group']}")
    return proposal
