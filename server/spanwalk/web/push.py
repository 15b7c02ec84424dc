"""Push: operations in, an answer for each."""

from __future__ import annotations

from flask import Response, request
from flask_smorest import Blueprint

from spanwalk.services.incoming import parse_push, unpack
from spanwalk.services.pushing import push as take_in
from spanwalk.web.auth import Right, current_member, requires
from spanwalk.web.bodies import json_answer
from spanwalk.web.envelopes import ProblemOut, PushIn, PushOut

bp = Blueprint("push", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Sync")


@bp.route("/push", methods=["POST"])
@bp.doc(requestBody={"required": True, "content": {"application/json": {"schema": PushIn}}})
@bp.alt_response(409, schema=ProblemOut, description="Another incarnation")
@bp.alt_response(200, schema=PushOut, description="Each operation is durably answered", success=True)
@requires(Right.PUSH)
def push(site_id: str) -> Response:
    """Take operations in. 200 says that each is durably answered; anything else, that none may be."""
    sent = parse_push(unpack(request.get_data(), request.headers.get("Content-Encoding")))
    return json_answer(take_in(current_member(), sent))
