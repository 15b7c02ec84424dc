"""Numbers of closed sites: made when a site is closed, if its owner said so; gone when it is opened again or deleted."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from sqlalchemy import delete, insert, select
from sqlalchemy.orm import Session

from spanwalk.reference import tables
from spanwalk.rules.learning.light_pairs import light_pairs
from spanwalk.rules.learning.site_numbers import SiteNumber, numbers_of_site
from spanwalk.rules.survey import Survey, facet
from spanwalk.services.releases.sums import after, releases_of
from spanwalk.services.sync.state import site_records
from spanwalk.storage.tables import LearningNumber


def keep_numbers(session: Session, site_id: str) -> int:
    """Keep what a site that is being closed tells by kind, if it gives its numbers; how many rows.

    Parameters
    ----------
    session : Session
        A writing transaction.
    site_id : str
        The site.
    """
    forget_numbers(session, site_id)
    survey = Survey(site_records(session, site_id))
    if facet(survey.site(), "learning").get("gives") is not True:
        return 0
    numbers = numbers_of_site(survey, tables(), light_pairs(survey, _forecast_lux(survey)))
    if numbers:
        session.execute(insert(LearningNumber), [{"site": site_id, **each} for each in numbers])
    return len(numbers)


def _forecast_lux(survey: Survey) -> dict[str, float]:
    """Group id -> its part of its room's light on day one, as the release in force froze it [lx]."""
    releases = releases_of(survey)
    frozen = after(releases, releases[-1].number) if releases else {}
    told = {group: figures.get("light", {}).get("day_one_lux") for group, figures in frozen.items()}
    return {group: float(lux) for group, lux in told.items() if lux is not None}


def forget_numbers(session: Session, site_id: str) -> None:
    """Take out what is kept of a site: it is open again, or gives no numbers."""
    session.execute(delete(LearningNumber).where(LearningNumber.site == site_id))


def numbers_by_site(session: Session, but: str = "") -> list[Sequence[SiteNumber]]:
    """Numbers of every closed site but one, without saying which is which."""
    query = select(LearningNumber).where(LearningNumber.site != but)
    found = session.execute(query.order_by(LearningNumber.site, LearningNumber.of, LearningNumber.key)).scalars()
    return [[_number(row) for row in rows] for _, rows in groupby(found, key=lambda row: row.site)]


def _number(row: LearningNumber) -> SiteNumber:
    return {
        "of": row.of,
        "key": row.key,
        "n": row.n,
        "total": row.total,
        "squares": row.squares,
        "degrees": row.degrees,
    }


__all__ = ["forget_numbers", "keep_numbers", "numbers_by_site"]
