"""Lamps and ballasts that come out of a group: lamps by length, ballasts by what they may hold.

How ballasts are told apart is a rule of the United States (40 CFR 761 and EPA guidance on PCB in
ballasts, from memory); elsewhere the capacitor and its date decide. Local rules always do.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from spanwalk.rules.record_view import Facet
from spanwalk.rules.survey import lamp_name

NOT_SEEN = "not-seen"
NO_PCB_FROM = date(1998, 7, 1)
"""Ballasts made after this day hold no PCB."""
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
    """

    lamps: int
    lamp: str
    ballasts: int
    suspicion: str
    leaking: bool
    batteries: int
    battery: str
    count_assumed: bool


def pcb_suspicion(ballast: str, pcb_mark: str, made: str) -> str:
    """Whether a ballast is to be treated as if it held PCB.

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
    written = re.search(r"\b((?:19|20)\d\d)\b", made)
    if written is None:
        return False
    year, month = int(written[1]), _month(made)
    if year != NO_PCB_FROM.year:
        return year > NO_PCB_FROM.year
    return month is not None and month > NO_PCB_FROM.month


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
        lamp=lamp_name(lamps.get("diameter", NOT_SEEN), lamps.get("nominal_ft", NOT_SEEN)),
        ballasts=fixtures * each,
        suspicion=pcb_suspicion(
            ballast.get("ballast", NOT_SEEN), ballast.get("pcb_mark", NOT_SEEN), ballast.get("made", "")
        ),
        leaking=ballast.get("leaking") == "yes",
        batteries=batteries,
        battery=battery,
        count_assumed=ballasts_each is None,
    )
