"""The best order for a whole site: asked with its rules, answered line by line while it is looked for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import cast

import orjson
from flask import Response, stream_with_context

from spanwalk.messages.site_order import DecisionsIn, DifferenceOut, NotPayingOut, OrderIn
from spanwalk.services.refusals import Refusal
from spanwalk.services.site_order.asked import DecisionsAsked, OrderAsked
from spanwalk.services.site_order.difference import difference_of
from spanwalk.services.site_order.not_paying import not_paying_of
from spanwalk.services.site_order.ordering import Step, begin, best_order
from spanwalk.storage.database import reading
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, takes
from spanwalk.words import say

bp = Endpoints("site_order", __name__, url_prefix="/api/sites/<uuid:site_id>", description="The best order for a site")
LINES = "application/x-ndjson"


@bp.route("/best-order", methods=("POST",))
@requires(Right.DECIDE)
@takes(OrderIn)
@answers({200: LINES}, 409)
def look(site_id: str, body: OrderAsked) -> Response:
    """Look for the best order: lines of JSON, each a step on the way, the last with the answer or a refusal; nothing is written.

    Who closes the connection ends the search.
    """
    with reading() as session:
        found = begin(session, current_member().site_id)
    answer = Response(stream_with_context(_lines(best_order(found, body))), mimetype=LINES)
    # A proxy that gathers the lines would show none until the end.
    answer.headers["X-Accel-Buffering"] = "no"
    answer.headers["Cache-Control"] = "no-store"
    return answer


@bp.route("/best-order/difference", methods=("POST",))
@requires(Right.DECIDE)
@takes(DecisionsIn)
@answers({200: DifferenceOut}, 409)
def compare(site_id: str, body: DecisionsAsked) -> Response:
    """What decisions would change: money of the job, items, platform days, and group by group; nothing is written."""
    with reading() as session:
        told = difference_of(session, current_member().site_id, body)
    return json_answer(told)


@bp.route("/best-order/not-paying", methods=("GET",))
@requires(Right.DECIDE)
@answers({200: NotPayingOut}, 409)
def not_paying(site_id: str) -> Response:
    """Ready groups that cost the job more than they save, and what it gains if those are left that nobody has decided on."""
    with reading() as session:
        told = not_paying_of(session, current_member().site_id)
    return json_answer(told)


def _lines(steps: Iterator[Step]) -> Iterator[bytes]:
    try:
        for step in steps:
            yield orjson.dumps(step) + b"\n"
    except Refusal as refused:
        told = {"code": refused.code, "facts": refused.facts, "detail": say(refused.code, refused.facts)}
        yield orjson.dumps({"step": "refused", **cast("dict[str, object]", told)}) + b"\n"
