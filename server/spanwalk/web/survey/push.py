"""Push: operations in, an answer for each."""

from __future__ import annotations

from collections import Counter

from flask import Response, request

from spanwalk.messages.sync import PushIn, PushOut
from spanwalk.services.sync.incoming import parse_push, unpack
from spanwalk.services.sync.pushing import PushAnswer
from spanwalk.services.sync.pushing import push as take_in
from spanwalk.telemetry.counting import count, observe
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, json_body

bp = Endpoints("push", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Sync")


@bp.route("/push", methods=("POST",))
@bp.doc(requestBody=json_body(PushIn))
@requires(Right.PUSH, of_shut_out=True)
@answers({200: PushOut}, 409, 413, 422, 429)
def push(site_id: str) -> Response:
    """Take operations in. 200 says that each is durably answered; anything else, that none may be."""
    data = request.get_data()
    sent = parse_push(unpack(data, request.headers.get("Content-Encoding")))
    answer = take_in(current_member(), sent)
    _counted(len(data), answer)
    return json_answer(answer)


def _counted(size: int, answer: PushAnswer) -> None:
    observe("push_bytes", size)
    observe("push_operations", len(answer["answers"]))
    for result, times in Counter(each["result"] for each in answer["answers"]).items():
        count("operations", times, result=result)
