"""What fits into each group of a site, judged by the server from the records it holds: all of a small site, a page of any."""

from __future__ import annotations

from typing import TypedDict

from sqlalchemy.orm import Session

from spanwalk.rules.judging.degree import degree_of
from spanwalk.rules.judging.judgement_types import Degree, Judgement
from spanwalk.rules.judging.judging import RULES_VERSION
from spanwalk.services.planning.inputs import Inputs
from spanwalk.services.planning.plans import AT_ONCE_MOST, site_plan
from spanwalk.services.refusals import WrongInput

PAGE_MOST = 200
"""Groups on a page: each takes a millisecond or so, and 5 kB."""
WHOLE_MOST = AT_ONCE_MOST
"""So many groups are told at once to who asks for no page."""


class GroupFit(Judgement):
    """A judgement with the verdict of its best row of bars, and how sure that is."""

    verdict: str
    degree: Degree


class Fits(TypedDict):
    """Judgements by group id, with the head and the rules they hold for, and what the next page comes after; None after the last."""

    head: int
    rules_version: str
    groups: dict[str, GroupFit]
    next: str | None


def site_fits(session: Session, site_id: str, after: str | None = None, limit: int | None = None) -> Fits:
    """Verdicts of groups that are to be converted, in the order of their ids, so that no change between two pages hides one.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    after : str, optional
        Only groups whose ids come after this one.
    limit : int, optional
        So many of them, up to `PAGE_MOST`. Neither: all at once, up to `WHOLE_MOST`.

    Returns
    -------
    dict
        ``groups``: by group id what `rules.judging.judging.judge_group` returns, ``verdict`` of its best row of bars,
        'cannot tell' where there is none, and ``degree`` (see `rules.judging.degree.degree_of`); the ``head`` and ``rules_version`` it holds for; ``next``.

    Raises
    ------
    WrongInput
        All groups of a large site are wanted at once.
    Unavailable
        A large site is being read: see `plans.site_plan`.
    """
    found = site_plan(session, site_id)
    left = sorted(id for id in found.inputs.to_judge if id > (after or ""))
    in_pages = after is not None or limit is not None
    if not in_pages and len(left) > WHOLE_MOST:
        raise WrongInput("fits.in-pages", field="limit", groups=len(left), most=PAGE_MOST)
    at_once = PAGE_MOST if limit is None else min(max(limit, 1), PAGE_MOST)
    wanted = left[:at_once] if in_pages else left
    return {
        "head": found.head,
        "rules_version": RULES_VERSION,
        "groups": {group: _fit(found.inputs, group) for group in wanted},
        "next": wanted[-1] if len(wanted) < len(left) else None,
    }


def _fit(inputs: Inputs, group_id: str) -> GroupFit:
    told, (kind, _) = inputs.judged(group_id), inputs.places[group_id]
    degree = degree_of(inputs.to_judge[group_id].group, told, inputs.read[kind["id"]])
    return {"verdict": _best(told), "degree": degree, **told}


def _best(told: Judgement) -> str:
    best = told["best"]
    return "cannot tell" if best is None else str(told["fits"][best]["verdict"])
