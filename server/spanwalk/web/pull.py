"""Pull: a page of what is newer than the phone's copy."""

from __future__ import annotations

from typing import Any

from flask import Response

from spanwalk.messages.sync import PullOut, PullQuery
from spanwalk.services.sync.pulling import Question
from spanwalk.services.sync.pulling import pull as hand_out
from spanwalk.web.auth import Right, current_member, requires
from spanwalk.web.bodies import json_answer
from spanwalk.web.contract import Endpoints, answers, asks

bp = Endpoints("pull", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Sync")


@bp.route("/pull", methods=("GET",))
@requires(Right.READ)
@asks(PullQuery)
@answers({200: PullOut}, 409)
def pull(site_id: str, query: dict[str, Any]) -> Response:
    """A page of records newer than `since`, in order; with count and sum on the page that reaches the head."""
    return json_answer(hand_out(current_member(), question(query)))


def question(query: dict[str, Any]) -> Question:
    """What the phone asks for."""
    named = {name: query[name] for name in ("since", "limit", "unsent_photos", "first_head")}
    known = {name: query.get(name) for name in ("device", "incarnation", "scope")}
    return Question(**named, **known, unsent_operations=query.get("unsent"))
