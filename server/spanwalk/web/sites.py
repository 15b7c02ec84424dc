"""Sites: the list of one's own; an owner makes, archives, brings back and deletes them."""

from __future__ import annotations

from flask import Response, current_app

from spanwalk.messages.answers import SiteContentsOut, SiteMadeOut, SitesOut
from spanwalk.messages.bodies import Archived, ArchivedIn, NewSite, SiteDeleted, SiteDeletedIn, SiteIn
from spanwalk.services.archives.making import begin_archive
from spanwalk.services.people.phones import sites_shut_out_of
from spanwalk.services.photos.photos import take_out
from spanwalk.services.sites import (
    BUILDING,
    add_site,
    close_site,
    contents_of,
    delete_site,
    list_sites,
    reopen_site,
)
from spanwalk.services.sync.rights import site_kind
from spanwalk.storage.database import reading, really_gone, writing
from spanwalk.web.files.archives import go_on
from spanwalk.web.request.auth import Right, current_person, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, takes
from spanwalk.web.request.entered import entered_again

bp = Endpoints("sites", __name__, url_prefix="/api/sites", description="Sites")


@bp.route("", methods=("GET",))
@requires(Right.SIGNED_IN)
@answers({200: SitesOut})
def index() -> Response:
    """The sites that who asks is on, archived ones last, each with how it stands."""
    person = current_person()
    with reading() as session:
        shut_out_of = sites_shut_out_of(session, person.phone)
        listed = [each for each in list_sites(session, person.id) if each["id"] not in shut_out_of]
    return json_answer({"sites": listed})


@bp.route("", methods=("POST",))
@requires(Right.SERVER)
@takes(SiteIn)
@answers({201: SiteMadeOut})
def add(body: NewSite) -> Response:
    """Make a site; who makes it is on it as owner."""
    with writing() as session:
        site_id = add_site(session, body["name"], current_person().id, settings=body.get("settings"))
    return json_answer({"id": site_id, "name": body["name"], "role": "owner"}, 201)


@bp.route("/<uuid:site_id>/archived", methods=("PUT",))
@requires(Right.SERVER)
@entered_again
@takes(ArchivedIn)
@answers({204: None})
def archive(site_id: str, body: Archived) -> Response:
    """Archive a site, which is then only read and has its archive made, or bring it back with a reason."""
    begun = None
    with writing() as session:
        if not body["archived"]:
            reopen_site(session, site_id, current_person().id, body["reason"])
        else:
            close_site(session, site_id, current_person().id)
            # In the same transaction: whoever sees that it is closed sees that its archive is being made.
            if site_kind(session, site_id) == BUILDING:
                begun = begin_archive(session, site_id, current_person().id)
    go_on(site_id, begun)
    return Response(status=204)


@bp.route("/<uuid:site_id>/contents", methods=("GET",))
@requires(Right.SERVER)
@answers({200: SiteContentsOut})
def contents(site_id: str) -> Response:
    """What goes when the site is deleted, counted."""
    with reading() as session:
        return json_answer(contents_of(session, site_id))


@bp.route("/<uuid:site_id>", methods=("DELETE",))
@requires(Right.SERVER)
@entered_again
@takes(SiteDeletedIn)
@answers({204: None})
def remove(site_id: str, body: SiteDeleted) -> Response:
    """Delete a site with all that belongs to it, photos too; its name must be typed."""
    with writing() as session:
        deleted = delete_site(session, site_id, body["name"])
    really_gone()
    store = current_app.extensions["spanwalk-photos"]
    take_out(store, deleted.photos)
    for name in deleted.archives:
        store.drop(name)
    return Response(status=204)
