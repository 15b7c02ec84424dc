"""Days of moments: the day that it was at the building, not in Greenwich, for papers and for what is counted in days."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import lru_cache
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from sqlalchemy.orm import Session

from spanwalk.rules.record_types import SiteView
from spanwalk.rules.survey import Survey, facet
from spanwalk.services.clock import now
from spanwalk.services.sync.state import site_records

DAY_LETTERS, MINUTE_LETTERS = len("2026-03-01"), len("2026-03-01T08:15")
"""Of a moment in ISO 8601; no zone begins a day within a minute."""
KEPT_MINUTES = 4096


def zone_of(site: SiteView) -> str:
    """The time zone of a building, as the IANA database names it; empty where nobody said it."""
    return str(facet(site, "settings").get("time_zone", ""))


@lru_cache(KEPT_MINUTES)
def is_known_zone(zone: str) -> bool:
    """Whether the IANA database of this server has a time zone.

    >>> is_known_zone("America/Denver"), is_known_zone("America/Denvr")
    (True, False)
    """
    try:
        ZoneInfo(zone)
    except (ValueError, OSError, ZoneInfoNotFoundError):
        return False
    return True


def zone_at(session: Session, site_id: str) -> str:
    """The same of a site whose record is not at hand."""
    return zone_of(Survey(site_records(session, site_id, types=("site",))).site())


def today_at(session: Session, site_id: str) -> str:
    """The day that it is now at a site."""
    return today_in(zone_at(session, site_id))


def day_of(moment: object, zone: str) -> str:
    """The day of a moment in a time zone, ISO 8601; in UTC where the zone is not said or not known here, empty of no moment.

    >>> day_of("2026-12-01T01:30:00.000Z", "America/Denver"), day_of("2026-12-01T01:30:00.000Z", "")
    ('2026-11-30', '2026-12-01')
    """
    return minute_of(moment, zone)[:DAY_LETTERS]


def minute_of(moment: object, zone: str) -> str:
    """The same with hour and minute, as people read it.

    >>> minute_of("2026-12-01T01:30:00.000Z", "America/Denver")
    '2026-11-30 18:30'
    """
    minute = str(moment or "")[:MINUTE_LETTERS]
    if zone and len(minute) == MINUTE_LETTERS:
        minute = _minute_there(minute, zone) or minute
    return minute.replace("T", " ")


def today_in(zone: str) -> str:
    """The day that it is now in a time zone."""
    return day_of(now(), zone)


@lru_cache(KEPT_MINUTES)
def _minute_there(minute: str, zone: str) -> str | None:
    """None: the zone, or what stands in place of the minute, is not known here."""
    try:
        return (
            datetime.fromisoformat(minute).replace(tzinfo=UTC).astimezone(ZoneInfo(zone)).isoformat()[:MINUTE_LETTERS]
        )
    except (ValueError, OSError, ZoneInfoNotFoundError):
        return None
