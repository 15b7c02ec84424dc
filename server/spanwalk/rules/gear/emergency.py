"""Does an emergency pack go with a bar, a driver and a place? Every check with its number; a silent catalogue never passes.

A pack stands between one output of the driver and one bar: while its unswitched feed is live the driver's current
passes through it, and when that feed fails it drives the bar from its battery, at a power of its own. So what it gives is
held against the bar (volts, current), against the place (supply, space, cold and heat) and against how long the site
wants the light. That a pack feeds one bar is common practice, no source. How long and how much light is wanted is said by
the local code and the authority having jurisdiction, never by this module.
"""

from __future__ import annotations

from dataclasses import dataclass

from spanwalk.rules import constants
from spanwalk.rules.gear import driver_in_body as driver_rules
from spanwalk.rules.gear.checks import Check, cannot_tell, exact, fails, passes
from spanwalk.rules.gear.driver_in_body import NOT_SEEN, RANGES_ON_LABELS, Space
from spanwalk.rules.record_view import Facet

BATTERY = "battery-in-fixture"
CENTRAL = "central-battery"
SECOND_SOURCE = constants.SECOND_SOURCE
"""Duties whose fixtures stay live from elsewhere when the named circuit is off."""
DUTIES = (BATTERY, *SECOND_SOURCE)
"""What makes a group an emergency group."""
SIDES = ("length_ticks", "width_ticks", "height_ticks")


@dataclass(frozen=True)
class PackPlace:
    """What a pack meets on site.

    Parameters
    ----------
    space : Space
        Ballast space.
    volts, volts_mark : str
        Supply as surveyed [V], and what the label of the working ballast proves, or `'not-seen'`.
    coldest_c, hottest_c : number or None
        Coldest and hottest air around the body [°C].
    wanted_min : int or None
        How long emergency light must last on this site [min]; None where nobody said.
    unswitched_feed : str
        Whether an unswitched feed comes into the body: `yes`, `no` or `'not-seen'`.
    """

    space: Space
    volts: str = NOT_SEEN
    volts_mark: str = NOT_SEEN
    coldest_c: object = None
    hottest_c: object = None
    wanted_min: int | None = None
    unswitched_feed: str = NOT_SEEN


def check_pack(pack: Facet, bar: Facet, driver: Facet, drivers: int, place: PackPlace) -> list[Check]:
    """All checks of a pack with the bar that it feeds, the drivers beside it and the place.

    Parameters
    ----------
    pack, bar, driver : mapping
        `accessory`, `bar` and `driver` facets of catalogue items.
    drivers : int
        Drivers in the body.
    place : PackPlace
        What the pack meets there.
    """
    return [
        check_voltage(pack, bar),
        check_current(pack, bar),
        check_duration(pack, place.wanted_min),
        check_supply(pack, place.volts, place.volts_mark),
        check_space(pack, driver, drivers, place.space),
        check_cold(pack, place.coldest_c),
        check_heat(pack, place.hottest_c, driver["rise_k"]),
        check_feed(pack, place.unswitched_feed),
    ]


def check_voltage(pack: Facet, bar: Facet) -> Check:
    """Does the bar's voltage lie inside what the pack gives? (`pack.voltage`)

    Taken is the bar's voltage at its rated current; at the pack's lesser current it is a little lower (common practice,
    no source), so a bar at the very bottom of the range wants a look at the pack's own sheet.

    Parameters
    ----------
    pack : mapping
        `accessory` facet: `out_v_min`, `out_v_max` [V].
    bar : mapping
        `bar` facet: `forward_v` [V].

    Examples
    --------
    >>> check_voltage({"out_v_min": 20, "out_v_max": 60}, {"forward_v": 60.5}).verdict
    'fails'
    >>> check_voltage({"out_v_min": 20}, {"forward_v": 36}).facts["missing"]
    ['emergency output voltage']
    """
    low, high = pack.get("out_v_min"), pack.get("out_v_max")
    if low is None or high is None:
        return cannot_tell("pack.voltage", missing=["emergency output voltage"])
    facts = {"bar_v": bar["forward_v"], "from_v": low, "to_v": high}
    inside = exact(low) <= exact(bar["forward_v"]) <= exact(high)
    return passes("pack.voltage", **facts) if inside else fails("pack.voltage", **facts)


def check_current(pack: Facet, bar: Facet) -> Check:
    """Does the bar bear the current that the pack's power makes in it? (`pack.current`)

    Current = power / voltage of the bar: 10 W into 36 V is 278 mA.

    Parameters
    ----------
    pack : mapping
        `accessory` facet: `output_w` [W].
    bar : mapping
        `bar` facet: `forward_v` [V], `most_ma` [mA].

    Examples
    --------
    >>> check_current({"output_w": 10}, {"forward_v": 36, "most_ma": 550}).facts["each_ma"]
    277.7778
    >>> check_current({"output_w": 18.1}, {"forward_v": 36, "most_ma": 500}).verdict
    'fails'
    """
    power = pack.get("output_w")
    if power is None:
        return cannot_tell("pack.current", missing=["emergency output power"])
    each = exact(power) / exact(bar["forward_v"]) * 1000
    facts = {"output_w": power, "bar_v": bar["forward_v"], "each_ma": each, "most_ma": bar["most_ma"]}
    if each <= bar["most_ma"]:
        return passes("pack.current", **facts)
    return fails("pack.current", over_by_ma=each - bar["most_ma"], **facts)


def check_duration(pack: Facet, wanted_min: int | None) -> Check:
    """Does the pack last as long as the site wants? (`pack.duration`)

    Parameters
    ----------
    pack : mapping
        `accessory` facet: `duration_min` [min].
    wanted_min : int or None
        How long it must last [min].

    Examples
    --------
    >>> [check_duration({"duration_min": minutes}, 90).verdict for minutes in (89, 90)]
    ['fails', 'passes']
    >>> check_duration({"duration_min": 90}, None).facts["missing"]
    ['how long emergency light must last on this site']

    References
    ----------
    .. [1] NFPA 101, 7.9.2.1: 1 1/2 hours (from memory).
    .. [2] EN 50172 and BS 5266-1: by the risk, 1 hour or 3 hours (from memory).
    """
    lasts = pack.get("duration_min")
    missing = [
        *(["emergency duration of the pack"] if lasts is None else []),
        *(["how long emergency light must last on this site"] if wanted_min is None else []),
    ]
    if lasts is None or wanted_min is None:
        return cannot_tell("pack.duration", missing=missing)
    facts = {"lasts_min": lasts, "wanted_min": wanted_min}
    if lasts >= wanted_min:
        return passes("pack.duration", **facts)
    return fails("pack.duration", short_by_min=wanted_min - lasts, **facts)


def check_supply(pack: Facet, volts: str, volts_mark: str = NOT_SEEN) -> Check:
    """Is the supply inside what the pack's charger takes? (`pack.supply`)

    A charger made for a.c. does not charge from d.c. As for a driver, the label of a working ballast proves a range.

    Parameters
    ----------
    pack : mapping
        `accessory` facet: `volts_min`, `volts_max` [V].
    volts, volts_mark : str
        Supply as surveyed [V], and what the ballast's label says.

    Examples
    --------
    >>> check_supply({"volts_min": 120, "volts_max": 277}, "347").verdict
    'fails'
    >>> check_supply({"volts_min": 120, "volts_max": 277}, "not-seen", "120-277").verdict
    'passes'
    """
    low, high = pack.get("volts_min"), pack.get("volts_max")
    if low is None or high is None:
        return cannot_tell("pack.supply", missing=["supply voltage of the emergency pack"])
    facts = {"volts": volts, "from_v": low, "to_v": high}
    if volts == "dc":
        return fails("pack.supply", **facts)
    if volts != NOT_SEEN:
        return passes("pack.supply", **facts) if low <= int(volts) <= high else fails("pack.supply", **facts)
    proved = RANGES_ON_LABELS.get(volts_mark)
    if proved and low <= proved[0] and proved[1] <= high:
        return passes("pack.supply", **facts | {"volts": volts_mark})
    return cannot_tell("pack.supply", missing=["the supply's volts"])


def check_space(pack: Facet, driver: Facet, drivers: int, space: Space) -> Check:
    """Does the pack go into the ballast space beside the drivers? (`driver.pack-space`)

    Parameters
    ----------
    pack, driver : mapping
        `accessory` and `driver` facets.
    drivers : int
        Drivers in the body.
    space : Space
        Ballast space [1/320 mm].
    """
    length, width, height = (pack.get(side) for side in SIDES)
    return driver_rules.check_space(driver, drivers, space, (length, width, height))


def check_cold(pack: Facet, coldest_c: object) -> Check:
    """Is the coldest air around the body within what the pack bears? Its battery gives less when cold. (`pack.cold`)

    No rise is taken into account: after a night without light everything is as cold as the room.

    Parameters
    ----------
    pack : mapping
        `accessory` facet: `coldest_c` [°C].
    coldest_c : number or None
        Coldest air around the body [°C].

    Examples
    --------
    >>> [check_cold({"coldest_c": 0}, air).verdict for air in (-0.1, 0)]
    ['fails', 'passes']
    """
    limit = pack.get("coldest_c")
    if limit is None:
        return cannot_tell("pack.cold", missing=["coldest surroundings of the emergency pack"])
    if coldest_c is None:
        return cannot_tell("pack.cold", missing=["the coldest temperature of the room and the site"])
    facts = {"air_c": coldest_c, "limit_c": limit}
    if exact(coldest_c) >= exact(limit):
        return passes("pack.cold", **facts)
    return fails("pack.cold", under_by_k=exact(limit) - exact(coldest_c), **facts)


def check_heat(pack: Facet, hottest_c: object, rise_k: object) -> Check:
    """Does the pack stay below its limit beside the driver: hottest air + the driver's rise in a closed body? (`pack.heat`)

    The pack lies under the same cover as the driver, so the air about it is taken to be as warm (common practice, no source).

    Parameters
    ----------
    pack : mapping
        `accessory` facet: `hottest_c` [°C].
    hottest_c : number or None
        Hottest air around the body [°C].
    rise_k : number
        Rise of the driver in a closed body [K].

    Examples
    --------
    >>> [check_heat({"hottest_c": 50}, air, 8).verdict for air in (42, 42.1)]
    ['passes', 'fails']
    """
    limit = pack.get("hottest_c")
    if limit is None:
        return cannot_tell("pack.heat", missing=["hottest surroundings of the emergency pack"])
    if hottest_c is None:
        return cannot_tell("pack.heat", missing=["the hottest temperature of the room and the site"])
    reaches = exact(hottest_c) + exact(rise_k)
    facts = {"air_c": hottest_c, "rise_k": rise_k, "reaches_c": reaches, "limit_c": limit}
    if reaches <= exact(limit):
        return passes("pack.heat", **facts)
    return fails("pack.heat", over_by_k=reaches - exact(limit), **facts)


def needs_unswitched_feed(pack: Facet) -> bool:
    """Whether a pack needs a feed that no switch or sensor breaks; yes where the catalogue does not say (common practice).

    >>> needs_unswitched_feed({}), needs_unswitched_feed({"unswitched_feed": False})
    (True, False)
    """
    return bool(pack.get("unswitched_feed", True))


def check_feed(pack: Facet, unswitched_feed: str) -> Check:
    """Is there an unswitched feed where the pack needs one? (`pack.feed`)

    A fixture that has a battery today had one to charge it, so one that nobody saw holds nothing back and is said; one that
    was looked for and is not there has to be brought first.

    Parameters
    ----------
    pack : mapping
        `accessory` facet.
    unswitched_feed : str
        `yes`, `no` or `'not-seen'`.

    Examples
    --------
    >>> check_feed({"unswitched_feed": True}, "no").verdict, check_feed({"unswitched_feed": False}, "no").verdict
    ('fails', 'passes')
    """
    needed = needs_unswitched_feed(pack)
    facts = {"needed": "an unswitched feed" if needed else "no unswitched feed", "seen": unswitched_feed}
    return fails("pack.feed", **facts) if needed and unswitched_feed == "no" else passes("pack.feed", **facts)
