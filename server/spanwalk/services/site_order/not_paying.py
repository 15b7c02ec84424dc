"""Which ready groups cost the job more than they save, how many of them nobody has decided on, and what the job gains if those are left."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TypedDict, cast

from sqlalchemy.orm import Session

from spanwalk.rules.money.job_money import Share
from spanwalk.rules.record_types import GroupView, KindView, RoomView
from spanwalk.rules.survey import facet, mark_of, name_of_room
from spanwalk.services.planning.plans import SitePlan, site_plan
from spanwalk.services.planning.totals import job_of_site
from spanwalk.services.site_order.asked import Decided
from spanwalk.services.site_order.difference import LEAVE, difference
from spanwalk.services.site_order.fixed import fixed_groups, is_by_person, with_partners

BY_RULE = "by-rule"


class GroupNotPaying(TypedDict):
    """A group that does not pay; `npv_share` is its part of the job's net present value [currency], below nought."""

    group: str
    room_name: str
    mark: str
    fixtures: int
    npv_share: float


class NotPaying(TypedDict):
    """What does not pay.

    `groups` are those that nobody has decided on, `kept` those that somebody decided to convert all the same. `gain` is what the
    life-cycle cost of the job falls by if all of `groups` are left as they are; None: not known.
    """

    head: int
    currency: str
    groups: list[GroupNotPaying]
    kept: list[GroupNotPaying]
    gain: float | None


def not_paying_of(session: Session, site_id: str) -> NotPaying:
    """What does not pay on a site.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    """
    found = site_plan(session, site_id)
    return not_paying(found, fixed_groups(session, site_id, found, _losing(found)))


def not_paying(found: SitePlan, fixed: Mapping[str, str]) -> NotPaying:
    """What does not pay, of plans that are at hand.

    Two groups on one ballast are one decision: what both come to together counts for both. What is released or fitted
    is not asked about any more.

    Parameters
    ----------
    found : SitePlan
        The plans.
    fixed : mapping
        What `fixed.fixed_groups` gave.
    """
    shares, stays = job_of_site(found).shares, with_partners(found, fixed)
    losing = [id for id in _losing(found) if id not in stays]
    decided = {id for id in losing if is_decided(found, id)}
    kept = decided | {id for id in losing if found.inputs.partners.get(id) in decided}
    asked = [id for id in losing if id not in kept]
    left: list[Decided] = [{"group": id, "decision": LEAVE} for id in asked]
    return {
        "head": found.head,
        "currency": str(found.inputs.money.get("currency", "")),
        "groups": _told(found, asked, shares),
        "kept": _told(found, [id for id in losing if id in kept], shares),
        "gain": difference(found, left)["saved"] if left else 0.0,
    }


def _losing(found: SitePlan) -> list[str]:
    """Ready groups that cost the job more than they save, whatever was decided or done."""
    npvs = {id: share["npv"] for id, share in job_of_site(found).shares.items()}
    return [id for id in npvs if (value := _with_partner(found, npvs, id)) is not None and value < 0]


def is_decided(found: SitePlan, id: str) -> bool:
    """Whether somebody decided on a group: for itself, or by rule for many. A best order weighs the job, and nobody looked at each group."""
    by_rule = facet(cast("GroupView", found.survey.by_id[id]), "decision").get("how_chosen") == BY_RULE
    return by_rule or is_by_person(found, id)


def _with_partner(found: SitePlan, npvs: Mapping[str, float | None], id: str) -> float | None:
    """The part of a group's value, with that of the one on the same ballast [currency]; None where one is not known."""
    pair = [npvs[each] for each in {id, found.inputs.partners.get(id, id)} if each in npvs]
    known = [each for each in pair if each is not None]
    return sum(known) if len(known) == len(pair) else None


def _told(found: SitePlan, ids: Iterable[str], shares: Mapping[str, Share]) -> list[GroupNotPaying]:
    return [
        {
            "group": id,
            "room_name": name_of_room(cast("RoomView", found.survey.by_id[found.plans[id]["room"]])),
            "mark": mark_of(cast("KindView", found.survey.by_id[found.plans[id]["kind"]])),
            "fixtures": found.plans[id]["fixtures"],
            "npv_share": shares[id]["npv"] or 0.0,
        }
        for id in ids
    ]


__all__ = ["GroupNotPaying", "NotPaying", "is_decided", "not_paying", "not_paying_of"]
