"""Numbers as they are read on paper: thousands marked, never rounded to another figure than the release has."""

from __future__ import annotations

from spanwalk.services.text.read_as import marked


def number(value: float | None, digits: int = 0) -> str:
    """A number with so many digits behind the point, marked as its reader does; '–' where there is none.

    >>> number(12345.67), number(0.5333, 2), number(None)
    ('12,346', '0.53', '–')
    """
    return "–" if value is None else marked(f"{value:,.{digits}f}")


DIGITS = {
    "watts_now": 0,
    "watts_then": 0,
    "kwh_now": 1,
    "kwh_then": 1,
    "hours_year": 0,
    "kw_saved": 2,
    "emission_saved_kg": 1,
    "share_of_today_pct": 0,
}
"""Digits behind the point by figure of energy."""
MONEY_DIGITS = 2
