"""What fits into each group of a site, judged anew by the server from the records it holds."""

from __future__ import annotations

from typing import Any

from sqlalchemy.orm import Session

from spanwalk.rules.judging import RULES_VERSION
from spanwalk.services.planning.completeness import judgements
from spanwalk.services.sync.state import site_head, site_records

Json = Any


def site_fits(session: Session, site_id: str) -> dict[str, Json]:
    """Verdicts of all groups that are to be converted.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.

    Returns
    -------
    dict
        ``groups``: by group id what `rules.judging.judge_group` returns, and ``verdict`` of its best row of bars,
        'cannot tell' where there is none; the ``head`` and ``rules_version`` it holds for.
    """
    records, head = site_records(session, site_id), site_head(session, site_id)
    judged = judgements(site_id, head, records)
    groups = {group: {"verdict": _best(told), **told} for group, told in judged.items()}
    return {"head": head, "rules_version": RULES_VERSION, "groups": groups}


def _best(told: dict[str, Json]) -> str:
    best = told["best"]
    return "cannot tell" if best is None else str(told["fits"][best]["verdict"])
