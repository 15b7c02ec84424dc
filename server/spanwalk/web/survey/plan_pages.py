"""A page of a PDF, handed in, comes back as a picture; the phone saves it as a photo of the floor."""

from __future__ import annotations

from flask import Response, request

from spanwalk.messages.bodies import PlanPageAsked, PlanPageQuery
from spanwalk.services.photos.plan_pages import PDF_BYTES_MOST, plan_page
from spanwalk.web.request.auth import Right, requires
from spanwalk.web.request.contract import Endpoints, answers, asks

bp = Endpoints("plan_pages", __name__, url_prefix="/api/sites/<uuid:site_id>/plan-pages", description="Floor plans")
BYTES = {"type": "string", "format": "binary"}
PAGES_HEADER = "Spanwalk-Pages"


@bp.route("", methods=("POST",))
@bp.doc(requestBody={"required": True, "content": {"application/pdf": {"schema": BYTES}}})
@requires(Right.SURVEY)
@asks(PlanPageQuery)
@answers({200: "image/png"}, 413, 422, 429)
def draw(site_id: str, query: PlanPageAsked) -> Response:
    """Draw a page of the PDF that is sent. `Spanwalk-Pages` says how many it has; the server keeps nothing of it."""
    request.max_content_length = PDF_BYTES_MOST
    drawn = plan_page(request.get_data(), query["page"])
    answer = Response(drawn.png, mimetype="image/png")
    answer.headers[PAGES_HEADER] = str(drawn.pages)
    answer.headers["Cache-Control"] = "no-store"
    return answer
