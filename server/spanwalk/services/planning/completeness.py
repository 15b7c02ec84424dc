"""How complete a site is, and what is open in it: gathered from records, photos and devices, judged when asked."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping, Sequence

from sqlalchemy.orm import Session

from spanwalk.reference import tables
from spanwalk.rules.completeness import Completeness, completeness
from spanwalk.rules.judged import judge_groups
from spanwalk.rules.judgement_types import Judgement
from spanwalk.rules.judging import RULES_VERSION
from spanwalk.rules.open_points import SiteFacts, open_points
from spanwalk.rules.points.found import NotReady, OpenPoint
from spanwalk.rules.record_view import Record
from spanwalk.rules.survey import Survey
from spanwalk.services.photos.photos import photos_arrived
from spanwalk.services.planning.figures import figures_not_used
from spanwalk.services.planning.plans import site_plan
from spanwalk.services.sync.devices import DeviceSeen, list_devices
from spanwalk.services.sync.state import site_head, site_records

KEPT_SITES = 8
ORDERED = ("installation", "problem_answer", "problem_reply", "difference_answer", "picking")
"""Types that are only added to: of several records the one that the server took last counts."""
_judgements: OrderedDict[tuple[str, int, str], Mapping[str, Judgement]] = OrderedDict()


class SiteCompleteness(Completeness):
    """How much of a site is done, with the points that are open, and the head that it holds for."""

    open_points: list[OpenPoint]
    head: int


def site_completeness(session: Session, site_id: str) -> SiteCompleteness:
    """Shares complete by floor and room, and every open point with who can close it and where.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.

    Returns
    -------
    dict
        What `rules.completeness.completeness` returns, with ``"open_points"`` and the ``"head"`` it holds for.
    """
    records, head = _records(session, site_id), site_head(session, site_id)
    judged = judgements(site_id, head, records)
    facts: SiteFacts = {
        "photos_arrived": photos_arrived(session, site_id),
        "devices": _devices(session, site_id),
        "judgements": judged,
        "figures_not_used": figures_not_used(session, site_id),
        "not_ready": _not_ready(session, site_id),
    }
    points = open_points(records, facts, tables())
    return {**completeness(records, points), "open_points": points, "head": head}


def _records(session: Session, site_id: str) -> list[Record]:
    """All records; those of which the newest counts also say at which sequence they came."""
    ordered = {each["id"]: each for each in site_records(session, site_id, types=ORDERED, who=True)}
    return [ordered.get(each["id"], each) for each in site_records(session, site_id)]


def _not_ready(session: Session, site_id: str) -> list[NotReady]:
    """Groups whose plan is not ready, with everything that keeps it from being so."""
    plans = site_plan(session, site_id).plans
    return [{"group": group, "because": plan["blockers"]} for group, plan in plans.items() if plan["state"] != "ready"]


def _devices(session: Session, site_id: str) -> list[DeviceSeen]:
    """The devices that are in use, each with the name of who holds it."""
    devices = list_devices(session, site_id)
    return [{**device, "person": device["name"]} for device in devices if device["revoked_at"] is None]


def judgements(site_id: str, head: int, records: Sequence[Record]) -> Mapping[str, Judgement]:
    """Judgements of a site's groups, by group id; they hold as long as its head and the rules stay what they are."""
    key = (site_id, head, RULES_VERSION)
    if key not in _judgements:
        _judgements[key] = judge_groups(Survey(records), tables())
        while len(_judgements) > KEPT_SITES:
            _judgements.popitem(last=False)
    return _judgements[key]
