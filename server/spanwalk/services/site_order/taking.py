"""Deciding as the best order has it: each change an operation through the rules of a push, with its reason."""

from __future__ import annotations

from sqlalchemy.orm import Session

from spanwalk.services.people.members import find_member
from spanwalk.services.people.people import person_named
from spanwalk.services.planning.plans import site_plan
from spanwalk.services.refusals import InTheWay
from spanwalk.services.site_order.asked import Decided
from spanwalk.services.site_order.difference import Difference, value_of
from spanwalk.services.site_order.fixed import fixed_groups, with_partners
from spanwalk.services.sync.server_operations import ServerOperation, server_push
from spanwalk.services.sync.state import site_head

DECIDERS = ("manager", "owner")


def decider_of(session: Session, site_id: str, name: str) -> str:
    """The id of a person who may decide on a site.

    Raises
    ------
    InTheWay
        Nobody of that name is a manager or owner of the site.
    """
    person = person_named(session, name)
    member = None if person is None else find_member(session, site_id, person, name)
    if person is None or member is None or member.role not in DECIDERS:
        raise InTheWay("site-order.no-manager", value=name)
    return person


def take(session: Session, site_id: str, told: Difference, reason: str, by: str, how: str = "best-order") -> int:
    """Decide for every group that is changed.

    Parameters
    ----------
    session : Session
        A writing transaction.
    site_id : str
        The site.
    told : Difference
        What is taken.
    reason : str
        Stands with each decision.
    by : str
        The person who decides.
    how : str
        How it was chosen, as the field of the decision has it.

    Returns
    -------
    int
        How many groups were decided.

    Raises
    ------
    InTheWay
        The site has changed since it was worked out, or it would change what is released or fitted.
    """
    if site_head(session, site_id) != told["head"]:
        raise InTheWay("site-order.stale")
    found = site_plan(session, site_id)
    changed = [change["group"] for change in told["changes"]]
    fixed = with_partners(found, fixed_groups(session, site_id, found, changed))
    if any(change["group"] in fixed for change in told["changes"]):
        raise InTheWay("site-order.stale")
    operations: list[ServerOperation] = []
    for change in told["changes"]:
        decided: Decided = {"group": change["group"], "decision": change["decision"]}
        if change["arrangement"] is not None:
            decided["arrangement"] = change["arrangement"]
        to = {**value_of(decided), "reason": reason, "how_chosen": how}
        operations.append({"record": change["group"], "type": "group", "facet": "decision", "to": to})
    if operations:
        server_push(session, site_id, operations, by)
    return len(operations)


__all__ = ["decider_of", "take"]
