"""Pull: a page of what is newer than the phone's copy."""

from __future__ import annotations

from flask import Response

from spanwalk.messages.sync import PullAsked, PullOut, PullQuery
from spanwalk.services.sync.pulling import Question
from spanwalk.services.sync.pulling import pull as hand_out
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, asks

bp = Endpoints("pull", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Sync")


@bp.route("/pull", methods=("GET",))
@requires(Right.RECALL)
@asks(PullQuery)
@answers({200: PullOut}, 409)
def pull(site_id: str, query: PullAsked) -> Response:
    """A page of records newer than `since`, in order; with count and sum on the page that reaches the head."""
    return json_answer(hand_out(current_member(), question(query)))


def question(query: PullAsked) -> Question:
    """What the phone asks for."""
    return Question(
        since=query["since"],
        limit=query["limit"],
        device=query.get("device"),
        incarnation=query.get("incarnation"),
        scope=query.get("scope"),
        unsent_operations=query.get("unsent"),
        unsent_photos=query["unsent_photos"],
        first_head=query["first_head"],
    )
