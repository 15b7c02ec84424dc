"""What the firm's closed sites say together, and taking it for a site: the owner's."""

from __future__ import annotations

from flask import Response

from spanwalk.messages.learning import LearntOut, NumbersTakenOut
from spanwalk.services.learning.taking import learnt, take
from spanwalk.storage.database import reading, writing
from spanwalk.web.request.auth import Right, current_person, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers

bp = Endpoints("learning", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Numbers of closed sites")


@bp.route("/learning", methods=("GET",))
@requires(Right.SERVER)
@answers({200: LearntOut})
def table(site_id: str) -> Response:
    """What closed sites say of each kind, summed over at least five of them, and how this site stands to it."""
    with reading() as session:
        return json_answer(learnt(session, site_id))


@bp.route("/learning", methods=("POST",))
@requires(Right.SERVER)
@answers({200: NumbersTakenOut}, 409)
def take_numbers(site_id: str) -> Response:
    """Take what closed sites say by now for this site, which chose so; phones get it with the site's record."""
    with writing() as session:
        return json_answer({"kinds": take(session, site_id, current_person().id)})
