"""What the firm's closed sites say together, as the owner sees it, and how an open site takes it."""

from __future__ import annotations

from typing import TypedDict

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk.reference import tables
from spanwalk.rules.learning.priors import LEAST_SITES, spread_priors
from spanwalk.rules.learning.table import LearnRow, learning_table
from spanwalk.rules.record_types import SiteView
from spanwalk.rules.record_view import Facet
from spanwalk.rules.survey import Survey, facet
from spanwalk.services.clock import now
from spanwalk.services.learning.kept import numbers_by_site
from spanwalk.services.refusals import InTheWay, NotThere
from spanwalk.services.sync.server_operations import server_push
from spanwalk.services.sync.state import site_records
from spanwalk.storage.tables import Site

BUILDING = "building"


class Learnt(TypedDict):
    """The learning table, and how this site stands to it: whether it gives and takes, since when it has its numbers, and
    whether closed sites say otherwise by now.
    """

    closed_sites: int
    least_sites: int
    rows: list[LearnRow]
    gives: bool
    takes: bool
    taken_at: str | None
    kinds_taken: int
    is_newer: bool


def learnt(session: Session, site_id: str) -> Learnt:
    """The learning table of all closed sites that give their numbers, as it stands for one site.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site from which the owner looks.

    Raises
    ------
    NotThere
        No such building.
    """
    site = _building(session, site_id)
    sites = numbers_by_site(session, but=site_id)
    chosen, taken = facet(site, "learning"), facet(site, "learnt")
    here = _spreads(taken)
    return {
        "closed_sites": len(sites),
        "least_sites": LEAST_SITES,
        "rows": learning_table(sites, tables()["prediction"]),
        "gives": chosen.get("gives") is True,
        "takes": chosen.get("takes") is True,
        "taken_at": taken.get("made_at"),
        "kinds_taken": len(here),
        "is_newer": here != _priors(session, site_id),
    }


def take(session: Session, site_id: str, by: str) -> int:
    """Put what closed sites say by now into a site's record, from where phones judge with it; of how many kinds.

    Parameters
    ----------
    session : Session
        A writing transaction.
    site_id : str
        The site.
    by : str
        The owner who takes them.

    Raises
    ------
    NotThere
        No such building.
    InTheWay
        The site is closed, or its owner has not chosen to judge with the firm's numbers.
    """
    site = _building(session, site_id)
    if session.execute(select(Site.archived_at).where(Site.id == site_id)).scalar_one() is not None:
        raise InTheWay("learning-site-closed")
    if facet(site, "learning").get("takes") is not True:
        raise InTheWay("learning-not-chosen")
    spreads = _priors(session, site_id)
    to = {"numbers": {"spread": spreads}, "made_at": now()}
    server_push(session, site_id, [{"record": site_id, "type": "site", "facet": "learnt", "to": to}], by=by)
    return len(spreads)


def _priors(session: Session, site_id: str) -> dict[str, Facet]:
    """The spread by kind, as the site's record keeps it."""
    found = spread_priors(numbers_by_site(session, but=site_id))
    return {
        key: {
            "squares_ticks2": each.firm.squares_ticks2,
            "degrees": each.firm.degrees,
            "sites": each.firm.sites,
            "readings": each.firm.readings,
        }
        for key, each in found.items()
    }


def _spreads(taken: Facet) -> dict[str, Facet]:
    return dict((taken.get("numbers") or {}).get("spread", {}))


def _building(session: Session, site_id: str) -> SiteView:
    kind = session.execute(select(Site.kind).where(Site.id == site_id)).scalar_one_or_none()
    if kind != BUILDING:
        raise NotThere("site-unknown")
    return Survey(site_records(session, site_id, types=("site",))).site()


__all__ = ["Learnt", "learnt", "take"]
