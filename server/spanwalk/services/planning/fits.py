"""What fits into each group of a site, judged anew by the server from the records it holds."""

from __future__ import annotations

from typing import TypedDict

from sqlalchemy.orm import Session

from spanwalk.rules.judging.judged import degrees
from spanwalk.rules.judging.judgement_types import Degree, Judgement
from spanwalk.rules.judging.judging import RULES_VERSION
from spanwalk.rules.survey import Survey
from spanwalk.services.planning.completeness import judgements
from spanwalk.services.sync.state import site_head, site_records


class GroupFit(Judgement):
    """A judgement with the verdict of its best row of bars, and how sure that is."""

    verdict: str
    degree: Degree


class Fits(TypedDict):
    """Judgements by group id, with the head and the rules that they hold for."""

    head: int
    rules_version: str
    groups: dict[str, GroupFit]


def site_fits(session: Session, site_id: str) -> Fits:
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
        ``groups``: by group id what `rules.judging.judging.judge_group` returns, ``verdict`` of its best row of bars,
        'cannot tell' where there is none, and ``degree`` (see `rules.judging.degree.degree_of`); the ``head`` and ``rules_version`` it holds for.
    """
    records, head = site_records(session, site_id), site_head(session, site_id)
    judged = judgements(site_id, head, records)
    sure = degrees(Survey(records), judged)
    groups: dict[str, GroupFit] = {
        group: {"verdict": _best(told), "degree": sure[group], **told} for group, told in judged.items()
    }
    return {"head": head, "rules_version": RULES_VERSION, "groups": groups}


def _best(told: Judgement) -> str:
    best = told["best"]
    return "cannot tell" if best is None else str(told["fits"][best]["verdict"])
