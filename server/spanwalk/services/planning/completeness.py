"""How complete a site is, and what is open in it: gathered from records, photos and devices, judged when asked."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping
from typing import Any

from sqlalchemy.orm import Session

from spanwalk.reference import tables
from spanwalk.rules.completeness import completeness
from spanwalk.rules.judged import judge_groups
from spanwalk.rules.judging import RULES_VERSION
from spanwalk.rules.open_points import open_points
from spanwalk.rules.survey import Survey
from spanwalk.services.photos.photos import photos_arrived
from spanwalk.services.planning.figures import figures_not_used
from spanwalk.services.sync.devices import list_devices
from spanwalk.services.sync.state import site_head, site_records

Json = Any
KEPT_SITES = 8
_judgements: OrderedDict[tuple[str, int, str], Mapping[str, Json]] = OrderedDict()


def site_completeness(session: Session, site_id: str) -> dict[str, Json]:
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
    records, head = site_records(session, site_id), site_head(session, site_id)
    judged = judgements(site_id, head, records)
    facts = {
        "photos_arrived": photos_arrived(session, site_id),
        "devices": _devices(session, site_id),
        "judgements": judged,
        "figures_not_used": figures_not_used(session, site_id),
    }
    points = open_points(records, facts, tables())
    return completeness(records, points) | {"open_points": points, "head": head}


def _devices(session: Session, site_id: str) -> list[dict[str, Json]]:
    """The devices that are in use, each with the name of who holds it."""
    devices = list_devices(session, site_id)
    return [device | {"person": device["name"]} for device in devices if device["revoked_at"] is None]


def judgements(site_id: str, head: int, records: list[dict[str, Json]]) -> Mapping[str, Json]:
    """Judgements of a site's groups, by group id; they hold as long as its head and the rules stay what they are."""
    key = (site_id, head, RULES_VERSION)
    if key not in _judgements:
        _judgements[key] = judge_groups(Survey(records), tables())
        while len(_judgements) > KEPT_SITES:
            _judgements.popitem(last=False)
    return _judgements[key]
