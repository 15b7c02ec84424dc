"""Plans: all ways to convert a group, and the proposal for each group of a site."""

from __future__ import annotations

from flask import Response
from flask_smorest import Blueprint

from spanwalk.services.planning import plan_of_group, plan_of_site
from spanwalk.storage.database import reading
from spanwalk.web.auth import Right, current_member, requires
from spanwalk.web.bodies import json_answer

bp = Blueprint(
    "planning", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Plans: arrangements, energy, money"
)


@bp.route("/plan")
@requires(Right.READ_PLAN)
def site_plan(site_id: str) -> Response:
    """The proposal for every group in short, with totals of what is ready: quantities, energy, money, waste."""
    with reading() as session:
        return json_answer(plan_of_site(session, current_member().site_id))


@bp.route("/groups/<uuid:group_id>/plan")
@requires(Right.READ_PLAN)
def group_plan(site_id: str, group_id: str) -> Response:
    """Every arrangement for a group: the proposal, the next best, those rejected with the check that failed."""
    with reading() as session:
        return json_answer(plan_of_group(session, current_member().site_id, group_id))
