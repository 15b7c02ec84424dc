"""Plans: all ways to convert a group, and the proposal for each group of a site."""

from __future__ import annotations

from flask import Response, request
from flask_smorest import Blueprint

from spanwalk.records import is_record_id
from spanwalk.services.planning import NO_FLOOR, groups_of_site, plan_of_group, plan_of_site
from spanwalk.services.refusals import WrongInput
from spanwalk.storage.database import reading
from spanwalk.web.auth import Right, current_member, requires
from spanwalk.web.bodies import json_answer
from spanwalk.web.queries import whole_number

bp = Blueprint(
    "planning", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Plans: arrangements, energy, money"
)


@bp.route("/plan")
@requires(Right.READ_PLAN)
def site_plan(site_id: str) -> Response:
    """Totals of what is ready (quantities, energy, money, waste), floors, and the first page of groups with their proposals in short."""
    with reading() as session:
        return json_answer(plan_of_site(session, current_member().site_id))


@bp.route("/plan/groups")
@requires(Right.READ_PLAN)
def group_plans(site_id: str) -> Response:
    """A page of groups with their proposals in short: of one `floor` (its id, or `none`) or of all, `from` how many are passed over."""
    floor = request.args.get("floor")
    if floor is not None and floor != NO_FLOOR and not is_record_id(floor):
        raise WrongInput("query-wrong", field="floor", value=floor[:60], right="the id of a floor, or 'none'")
    with reading() as session:
        return json_answer(groups_of_site(session, current_member().site_id, floor, whole_number("from", 0)))


@bp.route("/groups/<uuid:group_id>/plan")
@requires(Right.READ_PLAN)
def group_plan(site_id: str, group_id: str) -> Response:
    """Every arrangement for a group: the proposal, the next best, those rejected with the check that failed."""
    with reading() as session:
        return json_answer(plan_of_group(session, current_member().site_id, group_id))
