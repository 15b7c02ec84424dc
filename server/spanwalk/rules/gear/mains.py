"""Which mains does a fixture hang on, and can its lamps' watts be told without the etch? Twin: pwa/rules/gear/mains.js."""

from __future__ import annotations

from typing import Literal

from spanwalk.rules import constants
from spanwalk.rules.record_view import Facet

Hertz = Literal[50, 60]
NOT_SEEN = constants.NOT_SEEN
VOLTS_60 = tuple(constants.VOLTS_60_HZ)
"""Supplies and label ranges of North America [V]."""
VOLTS_50 = tuple(constants.VOLTS_50_HZ)
"""Supplies of Europe, and of most of the world besides [V]; 240 V alone tells nothing: both worlds have it."""
REGIONS: dict[str, Hertz] = {"united-states-or-canada": 60, "european-union-or-uk": 50}
NO_GEAR = (NOT_SEEN, "none")


def mains_hz(supply: Facet, ballast: Facet, settings: Facet) -> Hertz | None:
    """The mains a group hangs on: by its supply, else its ballast's label, else the site's region, else its usual supply.

    Parameters
    ----------
    supply : mapping
        The group's supply, with `volts`.
    ballast : mapping
        The kind's ballast, with `volts_mark`.
    settings : mapping
        The site's settings, with `region` and `supply_volts`.

    Returns
    -------
    int or None
        50 or 60 [Hz]; None where nobody has seen enough to tell, and no world is taken for another.

    Examples
    --------
    >>> mains_hz({"volts": "277"}, {}, {"region": "european-union-or-uk"}), mains_hz({}, {"volts_mark": "230"}, {})
    (60, 50)
    >>> mains_hz({"volts": "240"}, {}, {}), mains_hz({"volts": "240"}, {}, {"region": "european-union-or-uk"})
    (None, 50)
    """
    region = REGIONS.get(settings.get("region", ""))
    seen = (supply.get("volts"), ballast.get("volts_mark"))
    return (
        next((hertz for volts in seen if (hertz := _of_volts(volts)) is not None), None)
        or region
        or _of_volts(settings.get("supply_volts"))
    )


def lamp_watts_doubt(lamps: Facet, ballast: str, hertz: Hertz | None) -> str | None:
    """Why the watts of lamps whose etch nobody read cannot be taken; None where they were read, or leave little doubt.

    A T5 of one length is made for two outputs. A length of T8 or T12 is another lamp in each world. Gear that nobody saw,
    or that is unusual for the lamp, may mean another one.

    Parameters
    ----------
    lamps : mapping
        The kind's lamps.
    ballast : str
        The ballast that lights them, or 'not-seen'.
    hertz : int or None
        The mains [Hz]; None where not known.

    Returns
    -------
    str or None
        `two-outputs`, `supply-not-seen`, `gear-not-seen` or `gear-unusual`.

    Examples
    --------
    >>> lamp_watts_doubt({"diameter": "T8"}, "electronic", 60), lamp_watts_doubt({"diameter": "T8"}, "magnetic", 60)
    (None, 'gear-unusual')
    >>> lamp_watts_doubt({"diameter": "T8", "lamp_w": 36}, "not-seen", None) is None
    True
    """
    if lamps.get("lamp_w") is not None or lamps.get("fitted", NOT_SEEN) not in (NOT_SEEN, "fluorescent"):
        return None
    if lamps.get("diameter") == "T5":
        return "two-outputs"
    if hertz is None:
        return "supply-not-seen"
    if ballast in NO_GEAR:
        return "gear-not-seen"
    return "gear-unusual" if (lamps.get("diameter"), ballast, hertz) == ("T8", "magnetic", 60) else None


def _of_volts(volts: object) -> Hertz | None:
    if volts in VOLTS_60:
        return 60
    return 50 if volts in VOLTS_50 else None


__all__ = ["Hertz", "lamp_watts_doubt", "mains_hz"]
