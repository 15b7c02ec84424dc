"""Does a driver do for some bars in a body? Every check with its number, and with what would do where it fails.

Compared are whole ticks (1/320 mm) and exact fractions, never binary ones.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from spanwalk.rules import constants
from spanwalk.rules.gear.ambient import check_cold
from spanwalk.rules.gear.checks import FAILS, Check, cannot_tell, exact, fails, passes
from spanwalk.rules.record_view import Facet

NOT_SEEN = "not-seen"
MOISTURE = ("dry", "damp", "wet")
RANGES_ON_LABELS = {mark: (int(mark.split("-")[0]), int(mark.split("-")[1])) for mark in constants.RANGES_ON_LABELS}
"""Ranges that the label of a working ballast may prove; the supply is somewhere in it."""


@dataclass(frozen=True)
class Space:
    """The place for drivers: clear length, width and height at the narrowest [1/320 mm]; None where not measured."""

    length_ticks: int | None
    width_ticks: int | None
    height_ticks: int | None

    @property
    def is_known(self) -> bool:
        """Whether all three sides were measured."""
        return None not in (self.length_ticks, self.width_ticks, self.height_ticks)


@dataclass(frozen=True)
class Place:
    """What a driver meets on site.

    Parameters
    ----------
    space : Space
        Ballast space.
    volts : str
        Supply of the group as surveyed: `'277'` and the like [V], `'dc'` or `'not-seen'`.
    volts_mark : str
        Volts on the label of the ballast that works there now, or `'not-seen'`.
    moisture : str
        `dry`, `damp`, `wet` or `'not-seen'`.
    hottest_c, coldest_c : number or None
        Hottest and coldest air around the body [°C].
    dimming : str
        `none`, `0-10-v`, `phase-cut`, `dali-2`, `wireless`, `other` or `'not-seen'`.
    control_pair : str
        Whether a control pair comes into the body: `yes`, `no` or `'not-seen'`.
    control_wanted, control_now : str
        Wanted: `none`, `occupancy`, or one of `DIMS`; now: `switch`, `occupancy`, one of `DIMS`, or `'not-seen'`.
    emergency : str
        `none`, `battery-in-fixture`, `generator-or-inverter`, `central-battery` or `'not-seen'`.
    dc_volts : int or None
        D.c. volts of the supply, or of the central battery in an emergency [V]; None where not seen.
    """

    space: Space
    volts: str = NOT_SEEN
    volts_mark: str = NOT_SEEN
    moisture: str = NOT_SEEN
    hottest_c: object = None
    dimming: str = NOT_SEEN
    control_pair: str = NOT_SEEN
    control_wanted: str = "none"
    emergency: str = NOT_SEEN
    dc_volts: int | None = None
    coldest_c: object = None
    control_now: str = NOT_SEEN


def check_place(driver: Facet, drivers: int, place: Place) -> list[Check]:
    """All checks that do not hang on bars and setting: space, supply, class, moisture, heat, dimming, emergency.

    Parameters
    ----------
    driver : mapping
        `driver` facet of a catalogue item.
    drivers : int
        How many of them go into one body.
    place : Place
        What they meet there.

    Returns
    -------
    list of Check
        One for each question, in the order in which a fitter would ask.
    """
    return [check(driver, *asked) for check, asked in zip(PLACE_CHECKS, asked_of_place(drivers, place), strict=True)]


def asked_of_place(drivers: int, place: Place) -> tuple[tuple[object, ...], ...]:
    """What each of `PLACE_CHECKS` looks at besides the driver: equal parts give equal checks."""
    return (
        (drivers, place.space),
        (place.volts, place.volts_mark, place.dc_volts),
        (),
        (place.moisture,),
        (place.hottest_c,),
        (place.coldest_c,),
        (place.dimming, place.control_pair, place.control_wanted, place.control_now),
        (place.emergency, place.dc_volts),
    )


def check_space(
    driver: Facet, drivers: int, space: Space, pack: tuple[int | None, int | None, int | None] | None = None
) -> Check:
    """Do so many drivers, and an emergency pack if there is one, go into the ballast space, with clearance all round and more where leads leave?

    A driver may be turned about its long axis (width and height change places), never stood on end.
    Several lie end to end, or side by side, and so does a pack with them, with the driver's clearances (common practice, no
    source: a pack's own sheet may ask for more). Room wanted: along, the lengths, a lead gap at each end
    where leads leave and a side gap at an end where none do; across and in height, a side gap on
    both sides and between neighbours.

    Parameters
    ----------
    driver : mapping
        `driver` facet: `length_ticks`, `width_ticks`, `height_ticks`, `side_gap_ticks`, `lead_gap_ticks`
        [1/320 mm], `lead_ends`.
    drivers : int
        Number of drivers in the body.
    space : Space
        Ballast space [1/320 mm].
    pack : tuple or None
        Length, width and height of an emergency pack [1/320 mm], each None where the catalogue does not say.

    Returns
    -------
    Check
        `driver.space`, or `driver.pack-space` where the drivers go in and the pack is what is asked; a failure names the side by which the best way of laying it misses by least.

    Examples
    --------
    280 × 30 × 21 mm, 1 mm all round and 20 mm at both ends, needs 320 × 32 × 23 mm:

    >>> slim = {"length_ticks": 89600, "width_ticks": 9600, "height_ticks": 6720, "side_gap_ticks": 320,
    ...         "lead_gap_ticks": 6400, "lead_ends": "both-ends"}
    >>> check_space(slim, 1, Space(102400, 10240, 7360)).verdict
    'passes'
    >>> check_space(slim, 1, Space(102399, 10240, 7360)).facts["misses_by_ticks"]
    1
    """
    if not space.is_known:
        missing = [side for side in ("length", "width", "height") if getattr(space, f"{side}_ticks") is None]
        return cannot_tell("driver.space", missing=missing)
    alone = _best_way("driver.space", ways_to_lie(driver, drivers), space, drivers)
    if pack is None or alone.verdict == FAILS:
        return alone
    sizes = [each or 0 for each in pack]
    if not all(sizes):
        return cannot_tell("driver.pack-space", missing=["size of the emergency pack"])
    beside = {"length_ticks": sizes[0], "width_ticks": sizes[1], "height_ticks": sizes[2]}
    return _best_way("driver.pack-space", ways_beside(driver, drivers, {**driver, **beside}), space, drivers)


def _best_way(name: str, ways: Sequence[tuple[int, int, int]], space: Space, drivers: int) -> Check:
    """The way of lying that misses by least, as a check."""
    has = (space.length_ticks or 0, space.width_ticks or 0, space.height_ticks or 0)
    misses_by, side, needs, has_side = min((_misses(needs, has) for needs in ways), key=lambda miss: miss[0])
    facts = {"side": side, "needs_ticks": needs, "has_ticks": has_side, "drivers": drivers}
    if misses_by <= 0:
        return passes(name, spare_ticks=-misses_by, **facts)
    return fails(name, misses_by_ticks=misses_by, **facts)


def ways_beside(driver: Facet, drivers: int, pack: Facet) -> list[tuple[int, int, int]]:
    """Length, width and height [1/320 mm] that drivers and a pack need: end to end, or side by side, each turned or not.

    Clearances between two that lie next to each other are kept once, the wider of them.

    Parameters
    ----------
    driver : mapping
        `driver` facet.
    drivers : int
        Number of drivers.
    pack : mapping
        Sizes and clearances of the pack, as a `driver` facet.

    Examples
    --------
    >>> one = {"length_ticks": 100, "width_ticks": 30, "height_ticks": 20, "side_gap_ticks": 2,
    ...        "lead_gap_ticks": 10, "lead_ends": "both-ends"}
    >>> ways_beside(one, 1, {**one, "length_ticks": 60, "width_ticks": 25})[:2]
    [(190, 34, 24), (120, 61, 24)]
    """
    side, lead = driver["side_gap_ticks"], driver["lead_gap_ticks"]
    shared = lead if driver["lead_ends"] == "both-ends" else min(side, lead)
    found = []
    for length, width, height in ways_to_lie(driver, drivers):
        for pack_length, pack_width, pack_height in ways_to_lie(pack, 1):
            high = max(height, pack_height)
            found.append((length + pack_length - shared, max(width, pack_width), high))
            found.append((max(length, pack_length), width + pack_width - side, high))
    return found


def ways_to_lie(driver: Facet, drivers: int) -> list[tuple[int, int, int]]:
    """Length, width and height [1/320 mm] that drivers need, for each way of laying them.

    >>> one = {"length_ticks": 100, "width_ticks": 30, "height_ticks": 20, "side_gap_ticks": 2,
    ...        "lead_gap_ticks": 10, "lead_ends": "both-ends"}
    >>> ways_to_lie(one, 1)
    [(120, 34, 24), (120, 24, 34)]
    >>> ways_to_lie(one, 2)[0], ways_to_lie(one, 2)[2]
    ((230, 34, 24), (120, 66, 24))
    """
    side, lead = driver["side_gap_ticks"], driver["lead_gap_ticks"]
    far_end = lead if driver["lead_ends"] == "both-ends" else side
    one = driver["length_ticks"] + lead + far_end
    row = drivers * driver["length_ticks"] + lead + far_end + (drivers - 1) * max(lead, far_end)
    turned = ((driver["width_ticks"], driver["height_ticks"]), (driver["height_ticks"], driver["width_ticks"]))
    end_to_end = [(row, across + 2 * side, up + 2 * side) for across, up in turned]
    if drivers == 1:
        return end_to_end
    beside = [(one, drivers * across + (drivers + 1) * side, up + 2 * side) for across, up in turned]
    return end_to_end + beside


def _misses(needs: tuple[int, int, int], has: tuple[int, int, int]) -> tuple[int, str, int, int]:
    """By how much one way of lying misses on its worst side, and which side that is; negative where it goes in."""
    over = [need - there for need, there in zip(needs, has, strict=True)]
    at = over.index(max(over))
    return over[at], ("length", "width", "height")[at], needs[at], has[at]


def check_volts(driver: Facet, volts: str, volts_mark: str = NOT_SEEN, dc_volts: int | None = None) -> Check:
    """Is the supply inside the driver's range?

    The label of a ballast that works proves the range on it, not a value: a driver that takes the
    whole of that range will do, another cannot be told.

    Parameters
    ----------
    driver : mapping
        `driver` facet: `volts_min`, `volts_max` [V], `dc`, `dc_v_min`, `dc_v_max` [V].
    volts : str
        Supply [V] as surveyed, `'dc'` or `'not-seen'`.
    volts_mark : str
        What the ballast's label says [V].
    dc_volts : int or None
        D.c. volts where the supply is d.c. [V].

    Returns
    -------
    Check
        `driver.volts`.

    Examples
    --------
    >>> check_volts({"volts_min": 120, "volts_max": 277}, "347").verdict
    'fails'
    >>> check_volts({"volts_min": 120, "volts_max": 277}, "not-seen", "120-277").facts["known_by"]
    'ballast-label'
    """
    low, high = driver["volts_min"], driver["volts_max"]
    facts = {"volts": volts, "from_v": low, "to_v": high}
    if volts == "dc":
        return _direct_current("driver.dc", driver, dc_volts)
    if volts != NOT_SEEN:
        inside = low <= int(volts) <= high
        return passes("driver.volts", known_by="survey", **facts) if inside else fails("driver.volts", **facts)
    proved = RANGES_ON_LABELS.get(volts_mark)
    if proved and low <= proved[0] and proved[1] <= high:
        return passes("driver.volts", known_by="ballast-label", **facts | {"volts": volts_mark})
    return cannot_tell("driver.volts", missing=["volts"], **facts)


def _direct_current(name: str, driver: Facet, dc_volts: int | None) -> Check:
    """Is the driver made for d.c., and for this much of it? Silent is never yes."""
    if not driver.get("dc"):
        return fails(name, made_for="a.c. only")
    low, high = driver.get("dc_v_min"), driver.get("dc_v_max")
    missing = [] if low is not None and high is not None else ["the d.c. volts that the driver takes"]
    missing += [] if dc_volts is not None else ["the d.c. volts of the supply or central battery"]
    if low is None or high is None or dc_volts is None:
        return cannot_tell(name, missing=missing)
    facts = {"made_for": "dc", "dc_v": dc_volts, "from_v": low, "to_v": high}
    return passes(name, **facts) if low <= dc_volts <= high else fails(name.replace("dc", "dc-volts"), **facts)


def check_class(driver: Facet) -> Check:
    """Is the output of class 2 / SELV, so that bars and their leads may be touched? (`driver.class`)

    >>> check_class({"output_class": "not-class-2"}).verdict
    'fails'
    """
    found = driver["output_class"]
    verdict = passes if found == "class-2-selv" else fails
    return verdict("driver.class", output_class=found, wanted="class-2-selv")


def check_moisture(item: Facet, moisture: str, name: str = "driver.moisture") -> Check:
    """Is an item made for surroundings at least as wet as these?

    >>> check_moisture({"moisture": "damp"}, "wet").facts
    {'made_for': 'damp', 'room_is': 'wet'}
    """
    return _moisture(name, item["moisture"], moisture)


@lru_cache(maxsize=256)
def _moisture(name: str, made_for: str, moisture: str) -> Check:
    facts = {"made_for": made_for, "room_is": moisture}
    if moisture == NOT_SEEN:
        sure = made_for == MOISTURE[-1]
        return passes(name, **facts) if sure else cannot_tell(name, missing=["moisture"], **facts)
    good = MOISTURE.index(made_for) >= MOISTURE.index(moisture)
    return passes(name, **facts) if good else fails(name, **facts)


def check_temperature(driver: Facet, hottest_c: object) -> Check:
    """Does the driver stay below its limit: hottest air around the body + rise in a closed body ≤ limit?

    The rise is always reckoned: even in an open body the driver lies under the ballast cover.

    Parameters
    ----------
    driver : mapping
        `driver` facet: `hottest_c` [°C], `rise_k` [K].
    hottest_c : number or None
        Hottest air around the body [°C].

    Returns
    -------
    Check
        `driver.temperature`.

    Examples
    --------
    >>> check_temperature({"hottest_c": 60, "rise_k": 8}, 58).facts["over_by_k"]
    6
    """
    if hottest_c is None:
        return cannot_tell("driver.temperature", missing=["hottest_c"])
    reaches, limit = exact(hottest_c) + exact(driver["rise_k"]), exact(driver["hottest_c"])
    facts = {"air_c": hottest_c, "rise_k": driver["rise_k"], "reaches_c": reaches, "limit_c": driver["hottest_c"]}
    if reaches <= limit:
        return passes("driver.temperature", **facts)
    return fails("driver.temperature", over_by_k=reaches - limit, **facts)


def check_least_temperature(driver: Facet, coldest_c: object) -> Check:
    """Does the driver start in the coldest air around the body? Its own rise is left out: it starts cold. (`driver.cold`)

    >>> check_least_temperature({"coldest_c": -20}, -30).verdict, check_least_temperature({}, 10).verdict
    ('fails', 'passes')
    """
    return check_cold(driver, coldest_c, "driver.cold")


SIGNALS = ("0-10-v", "phase-cut", "dali-2", "wireless")
"""What a driver may be dimmed by; where nothing is there yet, any will do, and 0–10 V is named."""
WITH_LEADS = ("0-10-v", "dali-2")
"""Signals that come to the driver by a pair of leads of their own."""
WITHOUT_A_PAIR = ("phase-cut", "wireless")
"""Signals that come by the supply itself, or by radio."""
IN_THE_SUPPLY = ("phase-cut",)
"""Signals of a dimmer that the supply itself comes through."""
DIMS = tuple(constants.DIMS)
"""Controls that dim, or may."""
SURELY_DIMS = tuple(constants.SURELY_DIMS)
"""Those that are nothing but dimmers."""


def check_dimming(
    driver: Facet, dimming: str, control_pair: str, control_wanted: str, control_now: str = NOT_SEEN
) -> Check:
    """Does the driver dim as what is there, or what is wanted, asks?

    A control that dims needs a driver that takes its signal: what is there tells which, 0–10 V where nobody saw any.
    A driver that dims does where nothing is to be dimmed; where a signal is there, only one that takes that very signal. One
    that does not dim is right where there is no dimming, or where no control pair comes into the body. Where something dims
    today and nobody has said by which signal, no driver can be told to do: a dimmer in the supply has no pair.

    >>> check_dimming({"dimming": "none"}, "0-10-v", "yes", "none").verdict
    'fails'
    >>> check_dimming({"dimming": "0-10-v"}, "dali-2", "yes", "none").verdict
    'fails'
    >>> check_dimming({"dimming": "none"}, "not-seen", "not-seen", "none").verdict
    'cannot tell'
    >>> check_dimming({"dimming": "0-10-v"}, "not-seen", "no", "none", "dimming").code
    'plan.driver.dimmer.cannot-tell'
    """
    if control_now in (DIMS if dimming == NOT_SEEN else SURELY_DIMS) and dimming in (NOT_SEEN, "none"):
        return cannot_tell("driver.dimmer", missing=["dimming"], control=control_now)
    takes, wanted = driver["dimming"], dimming
    if control_wanted in DIMS and dimming not in SIGNALS:
        wanted = SIGNALS[0] if takes == "none" else takes
    facts = {"driver_dims": takes, "wanted": wanted}
    if wanted == "other":
        return fails("driver.dimming", **facts)
    if wanted == "none" or takes == wanted or (takes != "none" and wanted == NOT_SEEN):
        return passes("driver.dimming", **facts)
    if wanted == NOT_SEEN:
        if control_pair == "no":
            return passes("driver.dimming", **facts)
        return cannot_tell("driver.dimming", missing=["dimming"], **facts)
    return fails("driver.dimming", **facts)


def check_emergency(driver: Facet, emergency: str, dc_volts: int | None = None) -> Check:
    """Does the driver suit the emergency duty of the group?

    A battery in the fixture needs a driver to which a pack can be added; a central battery is taken to be d.c. and needs
    a driver made for its volts; a generator or an inverter gives a.c. and asks nothing more.

    Parameters
    ----------
    driver : mapping
        `driver` facet: `emergency`, `dc`, `dc_v_min`, `dc_v_max` [V].
    emergency : str
        Duty of the group, or `'not-seen'`.
    dc_volts : int or None
        D.c. volts of the central battery [V].

    >>> check_emergency({"emergency": "none"}, "battery-in-fixture").verdict
    'fails'
    """
    facts = {"duty": emergency, "driver_takes": driver["emergency"]}
    if emergency == NOT_SEEN:
        return cannot_tell("driver.emergency", missing=["emergency"], **facts)
    if emergency == "battery-in-fixture":
        good = driver["emergency"] == "battery-pack-can-be-added"
    elif emergency == "central-battery":
        return _direct_current("driver.dc-emergency", driver, dc_volts)
    else:
        good = True
    return passes("driver.emergency", **facts) if good else fails("driver.emergency", **facts)


PLACE_CHECKS: tuple[Callable[..., Check], ...] = (
    check_space,
    check_volts,
    check_class,
    check_moisture,
    check_temperature,
    check_least_temperature,
    check_dimming,
    check_emergency,
)
"""Checks that do not hang on bars and setting, in the order in which a fitter would ask."""
