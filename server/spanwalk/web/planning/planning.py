"""Plans: all ways to convert a group, and the proposal for each group of a site."""

from __future__ import annotations

from flask import Response

from spanwalk.messages.answers import GroupPlanOut, GroupsOut, PlanOut
from spanwalk.messages.bodies import GroupsAsked, GroupsQuery
from spanwalk.services.planning.told import groups_of_site, plan_of_group, plan_of_site
from spanwalk.storage.database import reading
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, asks

bp = Endpoints(
    "planning", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Plans: arrangements, energy, money"
)


@bp.route("/plan")
@requires(Right.READ_PLAN)
@answers({200: PlanOut})
def site_plan(site_id: str) -> Response:
    """Totals of what is ready (quantities, energy, money, waste), floors, and the first page of groups with their proposals in short."""
    with reading() as session:
        return json_answer(plan_of_site(session, current_member().site_id))


@bp.route("/plan/groups")
@requires(Right.READ_PLAN)
@asks(GroupsQuery)
@answers({200: GroupsOut})
def group_plans(site_id: str, query: GroupsAsked) -> Response:
    """A page of groups with their proposals in short: of one `floor` (its id, or `none`) or of all, `from` how many are passed over."""
    with reading() as session:
        return json_answer(groups_of_site(session, current_member().site_id, query.get("floor"), query["start"]))


@bp.route("/groups/<uuid:group_id>/plan")
@requires(Right.READ_PLAN)
@answers({200: GroupPlanOut})
def group_plan(site_id: str, group_id: str) -> Response:
    """Every arrangement for a group: the proposal, the next best, those rejected with the check that failed."""
    with reading() as session:
        return json_answer(plan_of_group(session, current_member().site_id, group_id))
