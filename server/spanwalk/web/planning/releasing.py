"""Releases: the plan frozen for crews."""

from __future__ import annotations

from flask import Response

from spanwalk.messages.answers import DifferencesOut, ReleaseOut
from spanwalk.messages.bodies import DifferencesAsked, DifferencesQuery, NewRelease, ReleaseIn
from spanwalk.services.releases.differences import differences
from spanwalk.services.releases.releasing import release
from spanwalk.storage.database import reading, writing
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, asks, takes

bp = Endpoints("releasing", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Releases for crews")


@bp.route("/releases", methods=("POST",))
@requires(Right.DECIDE)
@takes(ReleaseIn)
@answers({201: ReleaseOut}, 409)
def make_release(site_id: str, body: NewRelease) -> Response:
    """Freeze the proposal of each ready group; the answer says which were left out, and why.

    Figures from memory that it rests on must be among those said to be seen; else it is refused with a list of the others.
    """
    member, seen = current_member(), body.get("from_memory_seen") or ()
    with writing() as session:
        return json_answer(release(session, member.site_id, member.person_id, body.get("note") or "", seen), 201)


@bp.route("/releases/differences", methods=("GET",))
@requires(Right.READ_PLAN)
@asks(DifferencesQuery)
@answers({200: DifferencesOut})
def compare(site_id: str, query: DifferencesAsked) -> Response:
    """What differs from one release (`?from=` its number) to another, or to today (`?to=` a number, or `today`)."""
    with reading() as session:
        return json_answer(differences(session, current_member().site_id, query["one"], query["other"]))
