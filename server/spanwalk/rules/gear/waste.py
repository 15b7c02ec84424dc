"""Lamps and ballasts that come out of a group: lamps by length, ballasts by what they may hold.

How ballasts are told apart hangs on the region. In the United States and Canada the mark and the date on the ballast decide
(EPA fact sheet 530-F-20-005, July 2020: marks between 1 July 1978 and 1 July 1998; 40 CFR 761). In Europe the capacitor and
its date do: small capacitors of fittings made from the 1950s to the 1980s may hold PCB (UK guidance on equipment with small
amounts of PCBs, March 2002, on Directive 96/59/EC). Where the region is not known, both must clear it. Local rules always
decide.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

from spanwalk.rules import constants
from spanwalk.rules.fit.not_converted import LED_TUBES
from spanwalk.rules.gear.mains import Hertz
from spanwalk.rules.record_view import Facet
from spanwalk.rules.survey import lamp_name

NOT_SEEN = "not-seen"
NO_PCB_FROM = date(constants.PCB_UNTIL_YEAR, 7, 1)
"""Ballasts made after this day hold no PCB."""
CLEAR_CAPACITOR_FROM = constants.CLEAR_CAPACITOR_FROM
"""Capacitors dated in this year or later hold no PCB: the first year after the 1980s, in which they still may."""
MARK_AND_DATE, CAPACITOR_AND_DATE, BOTH = "mark-and-date", "capacitor-and-date", "both"
RULES_OF_REGIONS = {
    "united-states-or-canada": MARK_AND_DATE,
    "european-union-or-uk": CAPACITOR_AND_DATE,
    "elsewhere": BOTH,
}
CLASS_OF_CAP = {"U-bend": "u-bend", "circular": "circular", "compact": "compact"}
LONGEST_SHORT_FT = 4.0
"""Straight lamps up to this length go into the recycler's box for short ones (common practice, no source)."""
SUSPECT = "suspect"
NOT_SUSPECT = "not suspect"
NOT_KNOWN = "not known"


@dataclass(frozen=True)
class Waste:
    """What comes out of a group.

    Parameters
    ----------
    lamps : int
        Lamps, dark ones too.
    lamp : str
        What they are: `T8 4 ft`; parts not seen are said to be.
    ballasts : int
        Ballasts.
    suspicion : str
        `suspect`, `not suspect` or `not known`.
    leaking : bool
        One was seen leaking: the work stops.
    batteries : int
        Emergency batteries.
    battery : str
        What is in them: `nickel-cadmium`, `sealed-lead` … or `not-seen`; it says where they go.
    count_assumed : bool
        Nobody counted the ballasts.
    rule : str
        Whose rule the suspicion goes by: `mark-and-date`, `capacitor-and-date` or `both`.
    lamp_class : str
        The recycler's class: see `recycler_class`.
    starters : int
        Starters that come out with the lamps: one each on a choke at 230 V.
    """

    lamps: int
    lamp: str
    ballasts: int
    suspicion: str
    leaking: bool
    batteries: int
    battery: str
    count_assumed: bool
    rule: str = MARK_AND_DATE
    lamp_class: str = NOT_SEEN
    starters: int = 0


def pcb_rule(region: str, hertz: Hertz | None) -> str:
    """Whose rule tells ballasts apart: the region's, else that of the world whose mains they hang on.

    >>> pcb_rule("not-said", 60), pcb_rule("not-said", 50), pcb_rule("elsewhere", 60), pcb_rule("not-said", None)
    ('mark-and-date', 'capacitor-and-date', 'both', 'both')
    """
    of_mains = {60: MARK_AND_DATE, 50: CAPACITOR_AND_DATE}
    return RULES_OF_REGIONS.get(region) or (BOTH if hertz is None else of_mains[hertz])


def suspicion_of(ballast: Facet, rule: str) -> str:
    """Whether a ballast, with the capacitor beside it, is to be treated as if it held PCB by a region's rule.

    A 'No PCBs' mark on the ballast never clears a capacitor that is a part of its own; one that was seen is judged by its own
    date under every rule, from 1990 on as in Europe (stricter than 2 July 1979 of 40 CFR 761.2, from memory).

    Parameters
    ----------
    ballast : mapping
        The kind's ballast: `ballast`, `pcb_mark`, `made`, `capacitor`, `capacitor_made`.
    rule : str
        See `pcb_rule`.

    Returns
    -------
    str
        `suspect`, `not suspect` or `not known`.

    Examples
    --------
    >>> choke = {"ballast": "magnetic", "made": "1985"}
    >>> suspicion_of(choke, "capacitor-and-date"), suspicion_of({**choke, "capacitor": "none"}, "capacitor-and-date")
    ('suspect', 'not suspect')
    >>> suspicion_of({"ballast": "magnetic", "made": "1994"}, "both"), suspicion_of({"ballast": "electronic"}, "both")
    ('suspect', 'not suspect')
    """
    found = [check(ballast) for check in _CHECKS[rule]]
    return next((each for each in (SUSPECT, NOT_KNOWN) if each in found), NOT_SUSPECT)


def _by_mark(ballast: Facet) -> str:
    """By the mark and the date of the ballast; a capacitor that was seen beside it bears a date of its own."""
    if ballast.get("capacitor") == "seen" and _is_old_capacitor(ballast):
        return SUSPECT
    return pcb_suspicion(ballast.get("ballast", NOT_SEEN), ballast.get("pcb_mark", NOT_SEEN), ballast.get("made", ""))


def _by_capacitor(ballast: Facet) -> str:
    """By the capacitor: a mark on the ballast says nothing of it, nor does the kind of ballast where it was seen."""
    capacitor, gear = ballast.get("capacitor", NOT_SEEN), ballast.get("ballast", NOT_SEEN)
    if capacitor == "seen":
        return SUSPECT if _is_old_capacitor(ballast) else NOT_SUSPECT
    if gear == NOT_SEEN:
        return NOT_KNOWN
    return SUSPECT if gear == "magnetic" and capacitor != "none" and _is_old_capacitor(ballast) else NOT_SUSPECT


def _is_old_capacitor(ballast: Facet) -> bool:
    """Whether a capacitor may be of the years of PCB: by its own date, else by the ballast's; without either it may."""
    year = year_written(ballast.get("capacitor_made", "")) or year_written(ballast.get("made", ""))
    return year is None or year < CLEAR_CAPACITOR_FROM


_CHECKS: dict[str, tuple[Callable[[Facet], str], ...]] = {
    MARK_AND_DATE: (_by_mark,),
    CAPACITOR_AND_DATE: (_by_capacitor,),
    BOTH: (_by_mark, _by_capacitor),
}


def recycler_class(lamps: Facet) -> str:
    """The class in which a recycler counts lamps: straight by length, U-bend, circular, compact; LED tubes are no lamps with mercury.

    >>> recycler_class({"cap": "G13", "nominal_ft": "5-ft"}), recycler_class({"cap": "U-bend", "nominal_ft": "2-ft"})
    ('straight-over-4-ft', 'u-bend')
    >>> recycler_class({"fitted": "led-tube-on-mains", "nominal_ft": "4-ft"}), recycler_class({})
    ('led-tube', 'not-seen')
    """
    if lamps.get("fitted") in LED_TUBES:
        return "led-tube"
    shaped = CLASS_OF_CAP.get(lamps.get("cap", NOT_SEEN))
    length = str(lamps.get("nominal_ft", NOT_SEEN))
    if shaped is not None or length == NOT_SEEN:
        return shaped or NOT_SEEN
    return "straight-to-4-ft" if float(length.removesuffix("-ft")) <= LONGEST_SHORT_FT else "straight-over-4-ft"


def lamp_called(lamps: Facet) -> str:
    """What comes out, by name: a U-bend is not the straight lamp of its length, and an LED tube is no lamp with mercury.

    >>> lamp_called({"diameter": "T8", "nominal_ft": "2-ft", "cap": "U-bend"}), lamp_called({"diameter": "T8", "nominal_ft": "2-ft"})
    ('T8 2 ft U-bend', 'T8 2 ft')
    """
    name = lamp_name(lamps.get("diameter", NOT_SEEN), lamps.get("nominal_ft", NOT_SEEN))
    if lamps.get("fitted") in LED_TUBES:
        return f"LED tube {name}"
    return f"{name} {lamps['cap']}" if lamps.get("cap") in CLASS_OF_CAP else name


def pcb_suspicion(ballast: str, pcb_mark: str, made: str) -> str:
    """Whether a ballast is to be treated as if it held PCB by its mark and date, as in the United States and Canada.

    Electronic ones are not; magnetic ones are unless they bear a 'No PCBs' mark or a date after
    1 July 1998; where nobody saw what kind it is, nothing is known.

    Parameters
    ----------
    ballast : str
        `magnetic`, `electronic`, `electronic-dimming`, `none` or `not-seen`.
    pcb_mark : str
        `marked`, `no-mark` or `not-seen`.
    made : str
        Date on it as written down, or empty.

    Returns
    -------
    str
        `suspect`, `not suspect` or `not known`.

    Examples
    --------
    >>> pcb_suspicion("magnetic", "no-mark", ""), pcb_suspicion("magnetic", "no-mark", "1999")
    ('suspect', 'not suspect')
    >>> pcb_suspicion("magnetic", "no-mark", "1998"), pcb_suspicion("not-seen", "not-seen", "")
    ('suspect', 'not known')
    """
    if ballast == NOT_SEEN:
        return NOT_KNOWN
    if ballast != "magnetic" or pcb_mark == "marked" or is_after_pcb(made):
        return NOT_SUSPECT
    return SUSPECT


def is_after_pcb(made: str) -> bool:
    """Whether a date as written down is surely after 1 July 1998: a year from 1999, or a year and month from 1998-08.

    >>> is_after_pcb("1998-08"), is_after_pcb("1998-07"), is_after_pcb("about 1999?"), is_after_pcb("12/1998")
    (True, False, True, True)
    """
    year, month = year_written(made), _month(made)
    if year is None:
        return False
    if year != NO_PCB_FROM.year:
        return year > NO_PCB_FROM.year
    return month is not None and month > NO_PCB_FROM.month


def year_written(text: str) -> int | None:
    """The year in a date as written down; None where there is none.

    >>> year_written("12/1998"), year_written("about 2004?"), year_written("FE 04")
    (1998, 2004, None)
    """
    found = re.search(r"(?<!\d)((?:19|20)\d\d)(?!\d)", text)
    return int(found[1]) if found else None


def _month(made: str) -> int | None:
    found = re.search(r"\b(?:19|20)\d\d[-/. ](\d{1,2})\b|\b(\d{1,2})[-/. ](?:19|20)\d\d\b", made)
    month = int(found[1] or found[2]) if found else 0
    return month if 1 <= month <= 12 else None


def waste_of(
    fixtures: int,
    lamps_each: int,
    lamps: Facet,
    ballast: Facet,
    ballasts_each: int | None,
    batteries: int,
    ballasts_taken: int,
    battery: str = NOT_SEEN,
    rule: str = MARK_AND_DATE,
    hertz: Hertz | None = None,
) -> Waste:
    """What comes out of a group of fixtures.

    Parameters
    ----------
    fixtures : int
        Fixtures in the group.
    lamps_each : int
        Lamps in one.
    lamps, ballast : mapping
        Facets of the kind.
    ballasts_each : int or None
        Ballasts in one as counted; None where nobody did.
    batteries : int
        Emergency batteries that come out.
    ballasts_taken : int
        Ballasts taken for one where nobody counted.
    battery : str
        What is in the batteries, or `not-seen`.
    rule : str
        Whose rule tells ballasts apart: see `pcb_rule`.
    hertz : int or None
        The mains [Hz]: a choke at 50 Hz has a starter for each lamp.

    Returns
    -------
    Waste

    Examples
    --------
    >>> found = waste_of(10, 2, {"diameter": "T12", "nominal_ft": "8-ft"}, {"ballast": "magnetic", "pcb_mark": "no-mark"}, 1, 0, 1)
    >>> found.lamps, found.lamp, found.ballasts, found.suspicion
    (20, 'T12 8 ft', 10, 'suspect')
    """
    each = ballasts_taken if ballasts_each is None else ballasts_each
    return Waste(
        lamps=fixtures * lamps_each,
        lamp=lamp_called(lamps),
        ballasts=fixtures * each,
        suspicion=suspicion_of(ballast, rule),
        leaking=ballast.get("leaking") == "yes",
        batteries=batteries,
        battery=battery,
        count_assumed=ballasts_each is None,
        rule=rule,
        lamp_class=recycler_class(lamps),
        starters=fixtures * lamps_each if has_starters(lamps, ballast, hertz) else 0,
    )


def has_starters(lamps: Facet, ballast: Facet, hertz: Hertz | None) -> bool:
    """Whether each lamp has a starter beside it, or a bridge in its place: lamps or LED tubes on chokes at 50 Hz (common practice)."""
    on_choke = lamps.get("fitted", "fluorescent") in ("fluorescent", "led-tube-on-the-ballast")
    return hertz == 50 and ballast.get("ballast") == "magnetic" and on_choke
