"""What a judgement says: of the cavities of a group, of each row of bars, and of what reading more would buy. Lengths: 1/320 mm."""

from __future__ import annotations

from typing import NotRequired, TypedDict

from spanwalk.rules.said import Said


class Limit(TypedDict):
    """The lower prediction limit, part by part."""

    mean_ticks: int
    spread_ticks: int
    degrees: int
    factor_thousandths: int
    below_ticks: int
    systematic_ticks: int
    limit_ticks: int


class CavityTerms(TypedDict, total=False):
    """Numbers shown beside a trusted cavity; those that there are, among them those of its `Limit`."""

    lamp_ticks: int
    spring_back_ticks: int
    shortest_ticks: int
    shortest_trusted_ticks: int
    mean_ticks: int
    spread_ticks: int
    degrees: int
    factor_thousandths: int
    below_ticks: int
    systematic_ticks: int
    limit_ticks: int
    gap_ticks: int


class Trusted(TypedDict):
    """The length that every cavity of a group has at 95 %, and what it rests on: see `cavity.trusted_cavity`."""

    status: str
    trusted_ticks: int | None
    basis: str | None
    read_ticks: int | None
    read_basis: str | None
    spring_back: str | None
    n: int
    m: int | None
    population: int | None
    terms: CavityTerms
    reasons: list[Said]
    could_be_shorter: int | None


class FitTerms(TypedDict):
    """What a row of bars needs of a cavity, part by part and in all, and what that is held against."""

    bars_ticks: int
    tolerance_ticks: int
    joints_ticks: int
    change_ticks: int
    end_gaps_ticks: int
    needed_ticks: int
    nominal_clearance_ticks: NotRequired[int]
    trusted_ticks: NotRequired[int]


class RowVerdict(TypedDict):
    """Verdict on bars end to end in one cavity: see `fit.fit_row`."""

    verdict: str
    clearance_ticks: int | None
    terms: FitTerms
    reasons: list[Said]


class TrialTold(TypedDict):
    """What trials of one row of bars come to: see `trials.with_trials`."""

    tried: int
    left: int | None
    could_refuse: int | None
    close: int
    next: list[int] | None
    settles: bool


class TriedRow(RowVerdict):
    """A verdict on a row of bars by their ids, with what stands against it beside its length, and what trials say of it."""

    bars: list[str]
    lit_ticks: int
    dark_ticks: int | None
    unsuited: list[Said]
    unsure: list[Said]
    trial: NotRequired[TrialTold]
    refused: NotRequired[bool]


class Fit(TriedRow):
    """A judged row of bars; `basis` is what a 'fits' rests on."""

    basis: str | None


class Bought(TypedDict):
    """What reading more cavities buys: see `cavity.bought_by`."""

    trusted_ticks: int | None
    m: int
    could_be_shorter: int | None


class MoreBuys(Bought):
    """What it buys, with the row of bars that would fit then."""

    bars: list[str]


class ToSettle(TypedDict):
    """In how many cavities each way would settle a tight row of bars: see `degree.to_settle`."""

    by_tape: int | None
    by_gauge: int | None
    by_trial: int | None
    needed_ticks: int


class NextStep(ToSettle):
    """The strongest next step, with the row of bars to try; `by_lamp` where it is a fit by the lamp that wants a witness."""

    bars: list[str]
    by_lamp: bool


class Degree(TypedDict):
    """How sure a verdict is: see `degree.degree_of`."""

    degree: str
    releasable: bool
    held_by: list[Said]
    n: int
    of: int | None
    next: NextStep | None


class FirmEffect(TypedDict):
    """What the firm's closed sites change in a group: see `firm_effect.firm_effect`; `verdict_without` them on the best row of bars."""

    state: str
    sites: int
    readings: int
    readings_with: int | None
    readings_without: int | None
    verdict_without: NotRequired[str]


class Judgement(TypedDict, total=False):
    """What `judging.judge_group` says of a group; empty where it was not judged, since its neighbour's plan says it all."""

    rules_version: str
    trusted: Trusted
    questions: dict[str, list[Said]]
    fits: list[Fit]
    best: int | None
    measure_more: int | None
    more_buys: MoreBuys | None
    held_by: list[Said]
    to_settle: ToSettle | None
    firm: FirmEffect
