"""Now, as text: the only clock that services read."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta


def now() -> str:
    """This moment in UTC, ISO 8601 with microseconds, so that text order is time order."""
    return later(0)


def later(seconds: float) -> str:
    """The moment so many seconds from now; negative for the past."""
    return _text(datetime.now(UTC) + timedelta(seconds=seconds))


def after(moment: str, seconds: float) -> str:
    """The moment so many seconds after another.

    >>> after("2026-03-01T09:00:00.000000Z", 90)
    '2026-03-01T09:01:30.000000Z'
    """
    return _text(datetime.fromisoformat(moment) + timedelta(seconds=seconds))


def _text(moment: datetime) -> str:
    return moment.isoformat(timespec="microseconds").replace("+00:00", "Z")


def seconds_between(earlier: str, moment: str) -> float:
    """How many seconds lie between two moments as `now` writes them.

    >>> seconds_between("2026-03-01T09:00:00.000000Z", "2026-03-01T09:00:01.500000Z")
    1.5
    """
    return (datetime.fromisoformat(moment) - datetime.fromisoformat(earlier)).total_seconds()
