"""Sites: the list of one's own; an owner makes new ones."""

from __future__ import annotations

from flask import Response

from spanwalk.messages.answers import SiteMadeOut, SitesOut
from spanwalk.messages.bodies import NewSite, SiteIn
from spanwalk.services.people.people import sites_of
from spanwalk.services.sites import add_site
from spanwalk.storage.database import reading, writing
from spanwalk.web.auth import Right, current_person, requires
from spanwalk.web.bodies import json_answer
from spanwalk.web.contract import Endpoints, answers, takes

bp = Endpoints("sites", __name__, url_prefix="/api/sites", description="Sites")


@bp.route("", methods=("GET",))
@requires(Right.SIGNED_IN)
@answers({200: SitesOut})
def index() -> Response:
    """The sites that who asks is on."""
    with reading() as session:
        return json_answer({"sites": sites_of(session, current_person().id)})


@bp.route("", methods=("POST",))
@requires(Right.SERVER)
@takes(SiteIn)
@answers({201: SiteMadeOut})
def add(body: NewSite) -> Response:
    """Make a site; who makes it is on it as owner."""
    with writing() as session:
        site_id = add_site(session, body["name"], current_person().id, settings=body.get("settings"))
    return json_answer({"id": site_id, "name": body["name"], "role": "owner"}, 201)
