"""What a hand-over report tells, as values: page, sheet and screen are all made from these, so that no figure differs."""

from __future__ import annotations

from dataclasses import dataclass

from spanwalk.rules.money.job_charges import CostLine

DONE, NOT_NOTED = "done", "not-noted"
"""A fixture that was noted as done; one of which nothing that counts was noted."""


@dataclass(frozen=True)
class FixtureTold:
    """One fixture: what it is now where it is done, else how far it is.

    Parameters
    ----------
    position : int
        Its number in the group.
    state : str
        `done`, `problem`, `skipped`, `not-done-after-all` or `not-noted`.
    code : str
        Its label's code as it is printed; empty: it has none.
    released, fitted : str
        Items as released, and as noted when it was done; `fitted` is empty where that was not said.
    as_released : bool or None
        Whether it was fitted as released; None: not said.
    setting_ma : str
        Set-point of the driver as fitted [mA]; several are told one after another.
    release : int or None
        Release under which it was done; of one that is not done, the release in force.
    day : str
        Day on which it was noted, by the phone's clock.
    emergency : bool
        Whether the release has emergency duty for it.
    """

    position: int
    state: str
    code: str
    released: str
    fitted: str
    as_released: bool | None
    setting_ma: str
    release: int | None
    day: str
    emergency: bool


@dataclass(frozen=True)
class PhotoTold:
    """A photo to be shown: its hash, whether it shows after or before, of which fixture (None: of the kind or group), its day and caption."""

    sha256: str
    after: bool
    position: int | None
    day: str
    caption: str
    arrived: bool


@dataclass(frozen=True)
class EnergyTold:
    """Energy and light of a group as its release froze them; None where it lacks the figure.

    Load today and then [W], energy a year [kWh], hours a year that this rests on [h], load saved [kW], emission saved
    [kg CO2e], light against today's [%], forecast light [lx] with its range: maintained, and on day one, which is what a meter
    finds on handing over; a sentence on which readings of light correct it, None where none does.
    """

    watts_now: float | None
    watts_then: float | None
    kwh_now: float | None
    kwh_then: float | None
    hours_year: float | None
    kw_saved: float | None
    emission_saved_kg: float | None
    share_of_today_pct: float | None
    lux: int | None
    range_lux: tuple[int, int] | None
    day_one_lux: int | None = None
    day_one_range_lux: tuple[int, int] | None = None
    corrected: str | None = None


@dataclass(frozen=True)
class GroupTold:
    """A group of fixtures with its release, energy and photos; `released` is None where no conversion is in force."""

    id: str
    mark: str
    title: str
    note: str
    released: str | None
    release: int | None
    fixtures: tuple[FixtureTold, ...]
    energy: EnergyTold | None
    cost: float | None
    saving_year: float | None
    photos: tuple[PhotoTold, ...]


@dataclass(frozen=True)
class LightTold:
    """Light read at a point of a room [lx]: when (`before` or `after`), where, and the day."""

    point: str
    when: str
    lux: float
    day: str


@dataclass(frozen=True)
class RoomTold:
    """A room in the order of the walk; `task` are sentences on the light on its task area, none where it has none."""

    id: str
    name: str
    floor_name: str
    groups: tuple[GroupTold, ...]
    light: tuple[LightTold, ...]
    task: tuple[str, ...] = ()


@dataclass(frozen=True)
class OpenTold:
    """Something that is open in a room, as a sentence; `what` sorts it."""

    floor_name: str
    room_name: str
    what: str
    text: str


@dataclass(frozen=True)
class ClosedTold:
    """A point that was closed on the walk: its sentence, how, in which words, on which day, and the record that says so."""

    floor_name: str
    room_name: str
    text: str
    how: str
    words: str
    day: str
    record: str
    photos: tuple[PhotoTold, ...] = ()


@dataclass(frozen=True)
class AcceptedTold:
    """A signature: what it covers, whose, when and how, the SHA-256 of what was signed, what it counted, and what changed since.

    `whole` is False where the lines that are kept are not those of which the SHA-256 was signed; `lines` are those lines,
    `was` and `now` what of them is gone and what has come, as sentences.
    """

    id: str
    covers: str
    name: str
    day: str
    how: str
    content: str
    whole: bool
    fixtures: int
    done: int
    open: int
    lines: tuple[str, ...]
    was: tuple[str, ...]
    now: tuple[str, ...]
    signature: PhotoTold | None

    @property
    def holds(self) -> bool:
        """Whether all is as it was signed."""
        return self.whole and not (self.was or self.now)


@dataclass(frozen=True)
class WarrantyTold:
    """An item that was fitted: how many, for how many years its maker answers (None: not entered), from the first to the last day, and until when."""

    code: str
    name: str
    number: int
    years: float | None
    first_day: str
    last_day: str
    first_end: str
    last_end: str


@dataclass(frozen=True)
class SpareTold:
    """How to get an item again: its supplier, the supplier's number, days until it comes, and spares that were ordered and are left."""

    code: str
    name: str
    supplier: str
    supplier_number: str
    lead_days: int | None
    left: int | None


@dataclass(frozen=True)
class ReleaseTold:
    """A release: number, day, groups and fixtures in it, versions, what it froze of money; `withdrawn`: the reason, or empty."""

    number: int
    day: str
    groups: int
    fixtures: int
    rules_version: str
    catalogue: str
    withdrawn: str
    has_sums: bool
    cost: float | None
    rebate: float | None
    npv: float | None


@dataclass(frozen=True)
class WasteTold:
    """What came out of fixtures that are done, by the cards of their releases: counted by lamp, suspicion, battery."""

    lamps: dict[str, int]
    ballasts: dict[str, int]
    batteries: dict[str, int]
    not_told: int
    """Fixtures that are done under no card that says what came out."""


@dataclass(frozen=True)
class ContainerTold:
    """A container for what comes out that a crew checked off as ready: in which room, what for, for how many, on which day."""

    room_name: str
    what: str
    item: str
    number: int
    day: str


@dataclass(frozen=True)
class CollectedTold:
    """Waste that was collected: when, by whom, what, in which and how many containers, how many pieces, of these broken."""

    day: str
    by: str
    what: str
    container: str
    containers: int | None
    number: int | None
    broken: int | None
    note: str


@dataclass(frozen=True)
class SumsTold:
    """Energy of all groups in force together [kWh, kW, kg CO2e]; None as soon as one lacks the figure."""

    fixtures: int
    kwh_now: float | None
    kwh_then: float | None
    kw_saved: float | None
    emission_saved_kg: float | None


@dataclass(frozen=True)
class MoneyTold:
    """Money of what is in force as one job: sums by name in the currency, and what its cost is made of, as customers read it."""

    currency: str
    sums: dict[str, float | None]
    lines: tuple[CostLine, ...] = ()


@dataclass(frozen=True)
class TestsTold:
    """Emergency tests: how many fixtures, how many without a test passed, and the record: names, heads and rows of it."""

    fixtures: int
    open: int
    names: tuple[str, ...]
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class SiteTold:
    """The building, for whom, by whom, where anybody may ask, and its time zone."""

    name: str
    customer: str
    address: str
    firm: str
    call: str
    zone: str = ""


@dataclass(frozen=True)
class Report:
    """All that a hand-over report tells. `sums` and `money` are None for who may not read them, or did not ask."""

    site: SiteTold
    made_on: str
    inches: bool
    releases: tuple[ReleaseTold, ...]
    rooms: tuple[RoomTold, ...]
    groups_left_out: int
    fixtures_left_out: int
    sums: SumsTold | None
    money: MoneyTold | None
    assumptions: tuple[str, ...]
    waste: WasteTold
    containers: tuple[ContainerTold, ...]
    tests: TestsTold
    cautions: tuple[str, ...]
    sources: tuple[str, ...]
    open: tuple[OpenTold, ...]
    closed: tuple[ClosedTold, ...] = ()
    accepted: tuple[AcceptedTold, ...] = ()
    warranties: tuple[WarrantyTold, ...] = ()
    spares: tuple[SpareTold, ...] = ()
    collected: tuple[CollectedTold, ...] = ()

    @property
    def fixtures(self) -> list[FixtureTold]:
        """Every fixture, in the order of the walk."""
        return [each for room in self.rooms for group in room.groups for each in group.fixtures]

    @property
    def photos(self) -> list[PhotoTold]:
        """Every photo, in the order of the walk."""
        return [each for room in self.rooms for group in room.groups for each in group.photos]

    def counted(self) -> dict[str, int]:
        """How many fixtures are in each state, those that occur."""
        found: dict[str, int] = {}
        for each in self.fixtures:
            found[each.state] = found.get(each.state, 0) + 1
        return found
