"""Pull: a page of what is newer than the phone's copy."""

from __future__ import annotations

from flask import Response, request
from flask_smorest import Blueprint

from spanwalk.records import is_record_id
from spanwalk.services.pulling import Question
from spanwalk.services.pulling import pull as hand_out
from spanwalk.services.refusals import WrongInput
from spanwalk.web.auth import Right, current_member, requires
from spanwalk.web.bodies import json_answer
from spanwalk.web.envelopes import ProblemOut, PullOut, pull_parameters
from spanwalk.web.queries import whole_number

COUNT_MOST = 10**9 - 1

bp = Blueprint("pull", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Sync")


@bp.route("/pull", methods=["GET"])
@bp.doc(parameters=pull_parameters())
@bp.alt_response(409, schema=ProblemOut, description="Another incarnation or reading scope")
@bp.alt_response(200, schema=PullOut, description="A page of records", success=True)
@requires(Right.READ)
def pull(site_id: str) -> Response:
    """A page of records newer than `since`, in order; with count and sum on the page that reaches the head."""
    return json_answer(hand_out(current_member(), question()))


def question() -> Question:
    """What the phone asks for, from the query."""
    device = request.args.get("device")
    if device is not None and not is_record_id(device):
        raise WrongInput("query-wrong", field="device", value=device[:60], right="a UUID in lower case")
    unsent = request.args.get("unsent")
    return Question(
        since=whole_number("since", 0),
        limit=whole_number("limit", 1000),
        device=device,
        incarnation=request.args.get("incarnation"),
        scope=request.args.get("scope"),
        unsent_operations=None if unsent is None else whole_number("unsent", 0, COUNT_MOST),
        unsent_photos=whole_number("unsent_photos", 0, COUNT_MOST),
        first_head=whole_number("first_head", 0),
    )
