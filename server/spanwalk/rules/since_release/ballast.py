"""The old ballast, judged by what may be dangerous in it and was not when it was released. Twin: pwa/rules/since_release/ballast.js.

A card has the caution of PCB and the step for a capacitor, or has not: it is frozen. Where the survey says later that there
may be what the card says nothing of, the work stops until somebody has answered, or it is released again.
"""

from __future__ import annotations

from collections.abc import Iterator

from spanwalk.rules import constants
from spanwalk.rules.gear.waste import year_written
from spanwalk.rules.record_view import Facet
from spanwalk.rules.since_release.seen import LOOK, STOP, Change, Seen, change, said_by

NOT_SEEN = "not-seen"
OF_PCB = frozenset({"old", "old-capacitor"})
"""Dangers that decide in which container a ballast goes."""
JUDGED = constants.JUDGED_OF_BALLASTS
"""What of a ballast says whether it, or a capacitor beside it, is dangerous."""


def ballast(seen: Seen) -> Iterator[Change]:
    """Another kind of ballast, mark, date or capacitor: it stops where it may hold what the card does not warn of."""
    before = {field: seen.before("kind", "ballast", field) for field in JUDGED}
    now = {field: seen.now("kind", "ballast", field) for field in JUDGED}
    weight = STOP if dangers_of(now) - dangers_of(before) else LOOK
    for field in JUDGED:
        if before[field] != now[field]:
            fact = f"kind.ballast.{field}"
            yield change(fact, weight, before[field], now[field], said_by(seen.kind, "ballast"))


def dangers_of(ballast: Facet) -> frozenset[str]:
    """What may be dangerous about a ballast, whatever the region: each of it has its caution, step or container.

    Parameters
    ----------
    ballast : mapping
        The kind's ballast; what nobody said is None or missing.

    Returns
    -------
    frozenset of str
        Of `no-mark` (magnetic or not seen, without a 'No PCBs' mark), `old` (such a one, not surely made later than PCB),
        `capacitor` and `old-capacitor`.

    Examples
    --------
    >>> sorted(dangers_of({"ballast": "magnetic", "pcb_mark": "marked", "capacitor": "none"}))
    []
    >>> sorted(dangers_of({"ballast": "magnetic", "made": "2001", "capacitor": "none"})), sorted(dangers_of({"capacitor": "seen"}))
    (['no-mark'], ['capacitor', 'no-mark', 'old', 'old-capacitor'])
    """
    gear, capacitor = ballast.get("ballast") or NOT_SEEN, ballast.get("capacitor")
    made = year_written(ballast.get("made") or "")
    unmarked = gear in ("magnetic", NOT_SEEN) and ballast.get("pcb_mark") != "marked"
    has_capacitor = capacitor == "seen" or (capacitor != "none" and gear == "magnetic")
    capacitor_made = year_written(ballast.get("capacitor_made") or "") or made
    found = {
        "no-mark": unmarked,
        "old": unmarked and (made is None or made <= constants.PCB_UNTIL_YEAR),
        "capacitor": has_capacitor,
        "old-capacitor": has_capacitor and (capacitor_made is None or capacitor_made < constants.CLEAR_CAPACITOR_FROM),
    }
    return frozenset(name for name, holds in found.items() if holds)


def is_suspect_since(released: Facet, now: Facet) -> bool:
    """Whether ballasts may hold PCB by what is known now, and did not by what was known when they were released.

    >>> is_suspect_since({"ballast": "electronic"}, {"ballast": "magnetic", "pcb_mark": "no-mark"})
    True
    >>> is_suspect_since({"ballast": "magnetic"}, {"ballast": "magnetic", "made": "1974"})
    False
    """
    return bool((dangers_of(now) - dangers_of(released)) & OF_PCB)
