"""Push: operations in, an answer for each."""

from __future__ import annotations

from flask import Response, request

from spanwalk.messages.sync import PushIn, PushOut
from spanwalk.services.sync.incoming import parse_push, unpack
from spanwalk.services.sync.pushing import push as take_in
from spanwalk.web.auth import Right, current_member, requires
from spanwalk.web.bodies import json_answer
from spanwalk.web.contract import Endpoints, answers, json_body

bp = Endpoints("push", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Sync")


@bp.route("/push", methods=("POST",))
@bp.doc(requestBody=json_body(PushIn))
@requires(Right.PUSH, of_shut_out=True)
@answers({200: PushOut}, 409, 413, 422, 429)
def push(site_id: str) -> Response:
    """Take operations in. 200 says that each is durably answered; anything else, that none may be."""
    sent = parse_push(unpack(request.get_data(), request.headers.get("Content-Encoding")))
    return json_answer(take_in(current_member(), sent))
