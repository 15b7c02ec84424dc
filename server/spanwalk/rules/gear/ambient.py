"""Is a room too cold or too hot for an item of the catalogue: a bar, a driver, an emergency pack, a sensor?

An item that does not say its limit is taken to do from 0 to 35 °C and for nothing beyond: nobody can tell.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

from spanwalk.rules.gear.checks import CANNOT_TELL, FAILS, Check, cannot_tell, exact, fails, passes
from spanwalk.rules.record_view import Facet

CHECKS_KEPT = 4096
"""Bars and drivers of one catalogue meet the same few temperatures in every layout and room."""
SILENT_COLDEST_C = 0
"""Coldest air for an item that does not say its own limit (common practice, no source)."""
SILENT_HOTTEST_C = 35
"""Hottest air for an item that does not say its own limit (common practice, no source)."""


def check_cold(item: Facet, coldest_c: object, name: str) -> Check:
    """Does the room stay at or above the least temperature of an item?

    Parameters
    ----------
    item : mapping
        Facet of a catalogue item; `coldest_c` [°C] or silent.
    coldest_c : number or None
        Coldest air around the body [°C]: the room's, else the site's; None where nobody said.
    name : str
        Name of the check: `bar-cold`, `driver.cold`, `pack-cold`, `sensor-cold`.

    Returns
    -------
    Check
        Under `name` where the item says its limit or nobody said how cold it gets; under `<name>-silent` where the item
        is silent: passes from 0 °C up, else cannot be told.

    Examples
    --------
    >>> check_cold({"coldest_c": -20}, -30, "bar-cold").facts["over_by_k"]
    10
    >>> check_cold({}, -30, "bar-cold").code, check_cold({}, 0, "bar-cold").verdict
    ('plan.bar-cold-silent.cannot-tell', 'passes')
    """
    return _check(name, "coldest_c", item.get("coldest_c"), coldest_c, SILENT_COLDEST_C, -1)


def check_heat(item: Facet, hottest_c: object, name: str) -> Check:
    """Does the room stay at or below the most temperature of an item?

    For bars, packs and sensors, whose limit is one of the air around the body; a driver's rise in a closed body is reckoned
    in `driver.check_temperature`.

    Parameters
    ----------
    item : mapping
        Facet of a catalogue item; `hottest_c` [°C] or silent.
    hottest_c : number or None
        Hottest air around the body [°C]: the room's, else the site's; None where nobody said.
    name : str
        Name of the check: `bar-heat`, `pack-heat`, `sensor-heat`.

    Returns
    -------
    Check
        As of `check_cold`; an item that is silent passes up to 35 °C.

    Examples
    --------
    >>> check_heat({"hottest_c": 40}, 40, "bar-heat").verdict, check_heat({"hottest_c": 40}, 40.5, "bar-heat").facts["over_by_k"]
    ('passes', 0.5)
    >>> check_heat({}, 36, "sensor-heat").verdict
    'cannot tell'
    """
    return _check(name, "hottest_c", item.get("hottest_c"), hottest_c, SILENT_HOTTEST_C, 1)


def worst_of(checks: Iterable[Check]) -> Check:
    """Of checks of several items the one that speaks for them all: a failure, else one that cannot be told, else the first.

    Raises
    ------
    IndexError
        There is none.
    """
    every = list(checks)
    by_verdict = {check.verdict: check for check in reversed(every)}
    return by_verdict.get(FAILS) or by_verdict.get(CANNOT_TELL) or every[0]


@lru_cache(maxsize=CHECKS_KEPT, typed=True)
def _check(name: str, which: str, limit_c: object, air_c: object, usual_c: int, sign: int) -> Check:
    """One side of the range: `sign` is 1 where more is worse, -1 where less is."""
    if air_c is None:
        return cannot_tell(name, missing=[which])
    over_k = sign * (exact(air_c) - exact(usual_c if limit_c is None else limit_c))
    if limit_c is None:
        verdict = passes if over_k <= 0 else cannot_tell
        return verdict(f"{name}-silent", air_c=air_c, usual_c=usual_c)
    if over_k <= 0:
        return passes(name, air_c=air_c, limit_c=limit_c)
    return fails(name, air_c=air_c, limit_c=limit_c, over_by_k=over_k)


__all__ = ["SILENT_COLDEST_C", "SILENT_HOTTEST_C", "check_cold", "check_heat", "worst_of"]
