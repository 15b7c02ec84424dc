"""When may a room be worked in during a shift? By the days and hours that the customer allows, past midnight too."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from spanwalk.rules.record_view import Facet

DAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
MINUTES_A_DAY = 1440


def minutes_of(clock: str) -> int:
    """A time of day in minutes after midnight [min].

    >>> minutes_of("17:30")
    1050
    """
    hours, minutes = clock.split(":")
    return int(hours) * 60 + int(minutes)


def clock_of(minutes: int) -> str:
    """Minutes after midnight as a time of day, also of the next days.

    >>> clock_of(1050), clock_of(1500)
    ('17:30', '01:00')
    """
    return f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"


def open_in_shift(hours: Facet, weekday: int, begins_min: int, shift_minutes: int) -> tuple[int, int]:
    """From when to when a room may be worked in during a shift: the longest such time, as minutes after the shift's beginning.

    Parameters
    ----------
    hours : mapping
        `work_hours` of the room: `days` (none: any day), `begins` (none: midnight), `ends` (none: midnight; at or before
        `begins`: on the next day). Empty: at any time.
    weekday : int
        Day of the week on which the shift begins [1 to 7, Monday to Sunday].
    begins_min : int
        When it begins [min after midnight].
    shift_minutes : int
        How long it is [min].

    Returns
    -------
    tuple of (int, int)
        From and to [min]; the same number twice: not at all.

    Examples
    --------
    A shift from 16:00 to midnight; evenings from 17:30. One from 22:00 to 06:00 on a Friday; nights before working days only.

    >>> open_in_shift({"begins": "17:30"}, 2, 960, 480)
    (90, 480)
    >>> nights = {"days": ["sunday", "monday"], "begins": "22:00", "ends": "05:00"}
    >>> open_in_shift(nights, 7, 1320, 480), open_in_shift(nights, 5, 1320, 480)
    ((0, 420), (0, 0))
    """
    within = [
        (max(0, opens - begins_min), min(shift_minutes, closes - begins_min))
        for opens, closes in _joined(sorted(_times(hours, weekday)))
    ]
    return max(
        ((opens, closes) for opens, closes in within if closes > opens),
        key=lambda time: (time[1] - time[0], -time[0]),
        default=(0, 0),
    )


def _times(hours: Facet, weekday: int) -> Iterator[tuple[int, int]]:
    """Times of the day before, of the day and of the next two, in minutes after the day's midnight."""
    days = hours.get("days") or DAYS
    opens, closes = minutes_of(hours.get("begins") or "00:00"), minutes_of(hours.get("ends") or "00:00")
    if closes <= opens:
        closes += MINUTES_A_DAY
    for later in (-1, 0, 1, 2):
        if DAYS[(weekday - 1 + later) % len(DAYS)] in days:
            yield opens + later * MINUTES_A_DAY, closes + later * MINUTES_A_DAY


def _joined(times: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Times of which one begins when the other ends, as one."""
    found = times[:1]
    for (_, before), (opens, closes) in pairwise(times):
        if opens <= before:
            found[-1] = (found[-1][0], closes)
        else:
            found.append((opens, closes))
    return found


__all__ = ["DAYS", "clock_of", "minutes_of", "open_in_shift"]
