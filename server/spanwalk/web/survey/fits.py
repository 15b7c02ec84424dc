"""What fits into each group, as the server judges it."""

from __future__ import annotations

from flask import Response

from spanwalk.messages.answers import FitsOut
from spanwalk.messages.bodies import FitsAsked, FitsQuery
from spanwalk.services.planning.fits import site_fits
from spanwalk.storage.database import reading
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, asks

bp = Endpoints("fits", __name__, url_prefix="/api/sites/<uuid:site_id>", description="What fits")


@bp.route("/fits")
@requires(Right.READ)
@asks(FitsQuery)
@answers({200: FitsOut})
def fits(site_id: str, query: FitsAsked) -> Response:
    """Each group's trusted cavity and every row of bars with its verdict, judged by the server: in pages, or of up to 1,000 groups at once.

    A first page is asked for by `limit`, each further one by `after` with the last one's `next`. Who asks for no page of a
    larger site is refused: the answer of 20,000 groups would be 86 MB.
    """
    with reading() as session:
        return json_answer(site_fits(session, current_member().site_id, query.get("after"), query.get("limit")))
