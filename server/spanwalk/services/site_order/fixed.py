"""Groups that a choice for many leaves alone: fitted, released, or decided by a person for themselves; each with why.

They stay in the sums and in whole packs as they are.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import cast

from sqlalchemy.orm import Session

from spanwalk.rules.installing.outcomes import newest_outcomes
from spanwalk.rules.record_types import GroupView
from spanwalk.rules.survey import Survey, facet
from spanwalk.services.planning.plans import SitePlan
from spanwalk.services.planning.released import conversion_in_force, released_by
from spanwalk.services.site_order.asked import BY_MACHINE
from spanwalk.services.sync.state import records_by, site_records

FITTED, RELEASED, BY_HAND = "fitted", "released", "by-hand"
NOTED = ("installation",)


def fixed_groups(session: Session, site_id: str, found: SitePlan, of: Iterable[str] | None = None) -> dict[str, str]:
    """Group id -> why it is left alone whatever is asked: `fitted` or `released`.

    Fitted: of one of its fixtures the last word is that it is done. Released: its newest conversion is not withdrawn.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    found : SitePlan
        Its plans.
    of : iterable of str, optional
        Only these groups, and those on one ballast with them: what was noted in others is not read. None: all.
    """
    wanted = None if of is None else _and_partners(found, of)
    if wanted is None:
        noted = site_records(session, site_id, types=NOTED, who=True)
    else:
        noted = records_by(session, site_id, "parent", wanted, who=NOTED, types=NOTED)
    done = Survey([*released_by(session, site_id), *noted])
    asked = (id for id in found.plans if wanted is None or id in wanted)
    told = ((id, _done_of(done, cast("GroupView", found.survey.by_id[id]))) for id in asked)
    return {id: why for id, why in told if why is not None}


def _and_partners(found: SitePlan, ids: Iterable[str]) -> set[str]:
    return {each for id in ids for each in (id, found.inputs.partners.get(id)) if each is not None}


def _done_of(done: Survey, group: GroupView) -> str | None:
    outcomes = newest_outcomes(done, group).values()
    if any(facet(each, "identity").get("outcome") == "done" for each in outcomes):
        return FITTED
    return None if conversion_in_force(done, group) is None else RELEASED


def with_decided(found: SitePlan, fixed: Mapping[str, str]) -> dict[str, str]:
    """The same with those that a person decided for themselves: chosen by hand, left as they are or for later.

    Parameters
    ----------
    found : SitePlan
        The plans.
    fixed : mapping
        What `fixed_groups` gave.
    """
    by_hand = {id: BY_HAND for id in found.plans if is_by_person(found, id)}
    return by_hand | dict(fixed)


def is_by_person(found: SitePlan, id: str) -> bool:
    """Whether a person decided on a group by itself, not for many at once or by a best order."""
    decision = facet(cast("GroupView", found.survey.by_id[id]), "decision")
    return bool(decision.get("decision")) and decision.get("how_chosen") not in BY_MACHINE


def with_partners(found: SitePlan, fixed: Mapping[str, str]) -> dict[str, str]:
    """The same with those on one ballast with one of them: neither changes without the other."""
    beside = {found.inputs.partners[id]: why for id, why in fixed.items() if id in found.inputs.partners}
    return beside | dict(fixed)


def counted(fixed: Mapping[str, str], of: Iterable[str]) -> dict[str, int]:
    """Why -> how many of some groups are left alone for it."""
    return dict(sorted(Counter(fixed[id] for id in of if id in fixed).items()))


__all__ = ["BY_HAND", "FITTED", "RELEASED", "counted", "fixed_groups", "is_by_person", "with_decided", "with_partners"]
