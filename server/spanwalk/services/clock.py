"""Now, as text: the only clock that services read."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta


def now() -> str:
    """This moment in UTC, ISO 8601 with microseconds, so that text order is time order."""
    return later(0)


def later(seconds: float) -> str:
    """The moment so many seconds from now; negative for the past."""
    moment = datetime.now(UTC) + timedelta(seconds=seconds)
    return moment.isoformat(timespec="microseconds").replace("+00:00", "Z")
