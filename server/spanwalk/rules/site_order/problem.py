"""What may be chosen for the groups of a site, as plain numbers: handed to a process of its own, and back as a choice."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from functools import cached_property
from typing import cast

from spanwalk.rules.money.job_charges import NO_CHARGES, Charges, SharedCost
from spanwalk.rules.money.job_money import Limits
from spanwalk.rules.ordering import ordering
from spanwalk.rules.record_view import Facet

LEFT = ""
"""Name of the alternative that leaves a group as it is."""
NUMBERS = ("spare_pct", "hire_per_day", "demand_kw_month", "discount_share")
"""Fields of a problem that are plain numbers."""
Choice = tuple[int, ...]
"""For each unit, in order, the place of its alternative."""


@dataclass(frozen=True)
class Short:
    """Bars to be ready with for cavities that turn out too short: see `spares.misfits_of`.

    Parameters
    ----------
    item : str
        The shorter bar.
    count : int
        Bars that one misfit takes.
    expected : float
        Misfits on average.
    sure : int
        Those that lie ready whatever the chance: accepted on a trial, or set aside.
    """

    item: str
    count: int
    expected: float
    sure: int


@dataclass(frozen=True)
class Alternative:
    """One way to convert a unit, or to leave it.

    Parameters
    ----------
    names : tuple of str
        The arrangement of each group of the unit; empty texts where they are left as they are.
    rest : float
        Life-cycle cost without cost, rebate and what the first year lacks [currency].
    work : float
        Cost without items and hire of a platform, before what is charged on the job [currency].
    minutes : float
        Minutes of work from an access platform [min]; 0 where it needs none.
    rebate_asked : float
        Rebate before any limit [currency].
    peak_kw, peak_saved_kw : float
        Load at the meter's peak, and what is saved of it [kW].
    parts : tuple of (str, int)
        Items and how many of each, by id.
    short : tuple of Short
        What lies ready for misfits.
    light_pct : float or None
        Light as a share of today's, the least of its groups [%]; None where it is not known.
    look : int
        How it looks, 0 the best: see `look.look_of`.
    colour : str
        Colour temperature of its bars; empty where no bar says it.
    outer, inner : str
        What must be the same in a room, and beside it among groups of one kind there, where the same look is wanted.
    barred : bool
        Whether a rule keeps it from being chosen, though it is what is proposed today.
    bars_each : tuple of int
        Bars in one fixture of each group.
    disposal : float
        Of `work`, disposal by the piece [currency].
    shared : tuple of (str, float)
        What it needs of what groups share: see `job_money.JobTerms`.
    """

    names: tuple[str, ...]
    rest: float
    work: float = 0.0
    minutes: float = 0.0
    rebate_asked: float = 0.0
    peak_kw: float = 0.0
    peak_saved_kw: float = 0.0
    parts: tuple[tuple[str, int], ...] = ()
    short: tuple[Short, ...] = ()
    light_pct: float | None = None
    look: int = 0
    colour: str = ""
    outer: str = ""
    inner: str = ""
    barred: bool = False
    bars_each: tuple[int, ...] = ()
    disposal: float = 0.0
    shared: tuple[tuple[str, float], ...] = ()

    @property
    def is_left(self) -> bool:
        """Whether the groups stay as they are."""
        return not any(self.names)


@dataclass(frozen=True)
class Unit:
    """Groups that are decided together: one, or a pair on one ballast.

    Parameters
    ----------
    groups : tuple of str
        Their ids, the feeding one first.
    room, kind, route : str
        Ids; what one platform serves.
    alternatives : tuple of Alternative
        In the order of their names.
    today : int
        Place of what is proposed or decided today.
    """

    groups: tuple[str, ...]
    room: str
    kind: str
    route: str
    alternatives: tuple[Alternative, ...]
    today: int


@dataclass(frozen=True)
class Rules:
    """What a choice has to keep to.

    Parameters
    ----------
    each_item : float
        What each different item costs beside its price: to order, to store, to keep spares of [currency].
    budget : float or None
        Most that the job may cost before rebates [currency]; groups may then be left as they are.
    same_look : bool
        In one room the same colour temperature, all rows lit or none; and groups of one kind there alike.
    one_colour : bool
        One colour temperature on the whole site.
    """

    each_item: float = 0.0
    budget: float | None = None
    same_look: bool = False
    one_colour: bool = False


@dataclass(frozen=True)
class Problem:
    """Units with their alternatives, and what the job's money hangs on.

    Parameters
    ----------
    units : tuple of Unit
        By the ids of their groups.
    items : mapping
        Item id -> how it is sold.
    spare_pct : float
        Spares for breakage [%].
    hire_per_day : float
        Hire of a platform [currency a day].
    demand_kw_month : float
        Price of demand [currency per kW and month].
    limits : Limits
        What holds for the job as a whole.
    discount_share : float
        Discount rate a year.
    rules : Rules
        What a choice has to keep to.
    charges : Charges
        What is charged on the job: days of travel, containers, permit and tax hang on the choice; what is paid once does not,
        as long as anything is converted.
    """

    units: tuple[Unit, ...]
    items: Mapping[str, ordering.Terms]
    spare_pct: float
    hire_per_day: float
    demand_kw_month: float
    limits: Limits
    discount_share: float
    rules: Rules
    charges: Charges = NO_CHARGES

    @cached_property
    def today(self) -> Choice:
        """What is proposed or decided today."""
        return tuple(unit.today for unit in self.units)


def problem(
    units: Iterable[Unit],
    items: Mapping[str, ordering.Terms],
    spare_pct: float,
    hire_per_day: float,
    demand_kw_month: float,
    limits: Limits,
    discount_share: float,
    rules: Rules,
    charges: Charges = NO_CHARGES,
) -> Problem:
    """A problem whose units and alternatives stand in one order, whatever order they came in.

    Parameters
    ----------
    units, items, limits, rules, charges
        See `Problem`.
    spare_pct : float
        Spares for breakage [%].
    hire_per_day : float
        Hire of a platform [currency a day].
    demand_kw_month : float
        Price of demand [currency per kW and month].
    discount_share : float
        Discount rate a year.
    """
    ordered = tuple(sorted((_ordered(each) for each in units), key=lambda unit: unit.groups))
    return Problem(ordered, items, spare_pct, hire_per_day, demand_kw_month, limits, discount_share, rules, charges)


def _ordered(unit: Unit) -> Unit:
    today = unit.alternatives[unit.today]
    alternatives = tuple(sorted(unit.alternatives, key=lambda each: each.names))
    return replace(unit, alternatives=alternatives, today=alternatives.index(today))


def pruned(unit: Unit, keep_outer: bool, limits: Limits, demand_short: float) -> Unit:
    """A unit without the alternatives that another of the same items, work, looks and risks beats, or equals by an earlier name.

    Nothing that could be best is lost: the two differ in what they run for, in the rebate that is asked and in the load that is
    saved alone. No limit of a rebate makes more of it worth less, and no meter takes back more of a load saved than its price of
    the months of the ratchet. What is proposed today stays.

    Parameters
    ----------
    unit : Unit
        Its alternatives in the order in which the first of equal ones stays.
    keep_outer : bool
        Whether what must look the same tells alternatives apart.
    limits : Limits
        What holds for the job as a whole.
    demand_short : float
        What the first year lacks at most for a load saved, at today's worth [currency per kW].
    """
    is_limited = limits.cap_share is not None or limits.most is not None
    is_billed_by_peak = limits.ratchet_share is not None

    def comes_to(place: int) -> float:
        each = unit.alternatives[place]
        return each.rest - (0.0 if is_limited else each.rebate_asked)

    def beats(one: int, other: int) -> bool:
        first, second = unit.alternatives[one], unit.alternatives[other]
        lacks = max(0.0, first.peak_saved_kw - second.peak_saved_kw) * demand_short if is_billed_by_peak else 0.0
        asks_less = is_limited and first.rebate_asked < second.rebate_asked
        return not asks_less and comes_to(one) + lacks <= comes_to(other)

    kept: dict[tuple[object, ...], list[int]] = defaultdict(list)
    for place in sorted(range(len(unit.alternatives)), key=lambda place: (comes_to(place), place)):
        alike = kept[_apart_from_running(unit.alternatives[place], keep_outer, is_billed_by_peak)]
        if not any(beats(held, place) for held in alike):
            alike.append(place)
    every = sorted({place for places in kept.values() for place in places} | {unit.today})
    return replace(unit, alternatives=tuple(unit.alternatives[place] for place in every), today=every.index(unit.today))


def _apart_from_running(each: Alternative, keep_outer: bool, is_billed_by_peak: bool) -> tuple[object, ...]:
    """What must be the same of two alternatives of which one beats the other."""
    return (
        each.is_left,
        each.barred,
        each.parts,
        each.short,
        each.minutes,
        each.work,
        each.disposal,
        each.shared,
        each.peak_kw if is_billed_by_peak else 0.0,
        each.look,
        each.colour,
        *((each.outer, each.inner) if keep_outer else ()),
    )


def to_json(given: Problem) -> dict[str, object]:
    """A problem as JSON; what it holds is not copied, for a large site has a million numbers."""
    items = {id: vars(terms) for id, terms in given.items.items()}
    parts = {"limits": asdict(given.limits), "rules": asdict(given.rules), "charges": asdict(given.charges)}
    units = [{**vars(unit), "alternatives": [_told(each) for each in unit.alternatives]} for unit in given.units]
    numbers = {name: vars(given)[name] for name in NUMBERS}
    return {**numbers, **parts, "units": units, "items": items}


def _told(each: Alternative) -> dict[str, object]:
    return {**vars(each), "short": [vars(short) for short in each.short]}


def from_json(told: Mapping[str, object]) -> Problem:
    """A problem that was told as JSON."""
    units = tuple(_unit(each) for each in cast("Sequence[Mapping[str, object]]", told["units"]))
    items = cast("Mapping[str, Mapping[str, Facet]]", told["items"])
    return Problem(
        units,
        {id: ordering.Terms(each["supply"], each["price"]) for id, each in items.items()},
        cast("float", told["spare_pct"]),
        cast("float", told["hire_per_day"]),
        cast("float", told["demand_kw_month"]),
        Limits(**cast("dict[str, float | None]", told["limits"])),
        cast("float", told["discount_share"]),
        Rules(**cast("dict[str, float]", told["rules"])),  # type: ignore[arg-type]
        _charges(cast("Mapping[str, object]", told["charges"])),
    )


def _charges(told: Mapping[str, object]) -> Charges:
    shared = cast("Mapping[str, Mapping[str, float]]", told["shared"])
    return Charges(**{**told, "shared": {name: SharedCost(**each) for name, each in shared.items()}})  # type: ignore[arg-type]


def _unit(told: Mapping[str, object]) -> Unit:
    alternatives = cast("Sequence[dict[str, object]]", told["alternatives"])
    return Unit(
        tuple(cast("list[str]", told["groups"])),
        cast("str", told["room"]),
        cast("str", told["kind"]),
        cast("str", told["route"]),
        tuple(_alternative(each) for each in alternatives),
        cast("int", told["today"]),
    )


def _alternative(told: dict[str, object]) -> Alternative:
    parts = cast("Sequence[tuple[str, int]]", told["parts"])
    short = cast("Sequence[Mapping[str, object]]", told["short"])
    given = told | {
        "names": tuple(cast("list[str]", told["names"])),
        "parts": tuple((item, count) for item, count in parts),
        "short": tuple(Short(**each) for each in short),  # type: ignore[arg-type]
        "bars_each": tuple(cast("list[int]", told["bars_each"])),
        "shared": tuple((name, amount) for name, amount in cast("Sequence[tuple[str, float]]", told["shared"])),
    }
    return Alternative(**given)  # type: ignore[arg-type]


__all__ = ["Alternative", "Choice", "Problem", "Rules", "Short", "Unit", "from_json", "problem", "pruned", "to_json"]
