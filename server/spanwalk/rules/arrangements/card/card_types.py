"""What a crew's card carries, as it is frozen with a release. Lengths: 1/320 mm. No money in it."""

from __future__ import annotations

from typing import NotRequired, TypedDict

from spanwalk.rules.arrangements.card.crew_step import Step
from spanwalk.rules.arrangements.plan_types import EmergencyTold, Partner
from spanwalk.rules.judging.judgement_types import Fit
from spanwalk.rules.said import Said


class WiredBar(TypedDict):
    """A bar on an output: in this body (`here`) or the `neighbour`'s, by row, cavity and place in the cavity."""

    body: str
    row: int
    cavity: int
    place: int
    bar: str


class WiredOutput(TypedDict):
    """An output in use and how its bars are joined: `alone`, `in series` or `in parallel`."""

    output: int
    joined: str
    bars: list[WiredBar]


class WiredDriver(TypedDict):
    """One driver of one body as its card carries it; lengths in ticks of 1/320 mm."""

    driver: str
    number: int
    setting_ma: int
    set_by: str
    hold: str
    lead_ends: str
    lead_gap_ticks: int | None
    length_ticks: int | None
    outputs: list[WiredOutput]
    spare_outputs: list[int]


class Remove(TypedDict):
    """What comes out of one fixture."""

    lamps: int
    lamp: str
    ballasts: int
    ballast: str
    pcb: str
    fitted: NotRequired[str]
    starters: NotRequired[int]
    capacitor: NotRequired[str]


class CardBar(TypedDict):
    """A bar of a row: its code and its lengths."""

    name: str
    length_ticks: int
    lit_ticks: int


class CardRow(TypedDict):
    """A row of a body to scale: its bars in order, the gap at each end, and whether it stays dark."""

    row: int
    cavities: int
    bars: list[CardBar]
    gap_each_end_ticks: int | None
    dark: bool


class CardDriver(TypedDict):
    """The driver that goes in: code, name, how many, how it is set [mA], and the bars on the fullest."""

    name: str
    title: str
    number: int
    setting_ma: int
    bars_on_each: int


class Supply(TypedDict, total=False):
    """The supply as the survey has it."""

    volts: str
    panel: str
    circuit: str
    switching: str


class Control(TypedDict):
    """Control wanted, whether the body has a pair for it, and whether the driver has leads for it."""

    wanted: str
    pair: str
    driver: bool
    signal: NotRequired[str]


class Accessory(TypedDict):
    """What is fitted beside bars and drivers; with the only fixtures that get it."""

    name: str
    purpose: str
    in_the_group: int
    positions: NotRequired[list[int]]


class CheckAt(TypedDict):
    """A check for some fixtures only."""

    check: str
    positions: list[int]


class CardFacts(TypedDict):
    """A card without its steps and stops, which are made from it."""

    arrangement: str
    kind: str
    remove: Remove
    cavity_ticks: int | None
    rows: list[CardRow]
    bars_each: int
    bars_held: str
    fit: Fit
    driver: CardDriver | None
    wiring: list[WiredDriver]
    fed_from_neighbour: bool
    feeds_neighbour: bool
    feeds: str
    supply: Supply
    control: Control
    emergency: EmergencyTold
    accessories: list[Accessory]
    cautions: list[str]
    cautions_at: dict[str, list[int]]
    checks: list[str]
    checks_at: list[CheckAt]
    partner: NotRequired[Partner]
    site_values: NotRequired[list[Said]]


class CrewCard(CardFacts):
    """The frozen figures of a conversion: see `crew_card.crew_card`."""

    steps: list[Step]
    stops: list[Said]
