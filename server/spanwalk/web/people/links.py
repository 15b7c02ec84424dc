"""One-time links: made, listed and withdrawn by those who keep a site; opened and accepted by whoever has the secret."""

from __future__ import annotations

from flask import Response, current_app, request

from spanwalk.config import Settings
from spanwalk.messages.answers import AcceptedOut, InvitationTakenOut, LinkMadeOut, LinkOpenedOut, LinksOut
from spanwalk.messages.bodies import (
    Accept,
    AcceptIn,
    FirmInvite,
    FirmInviteIn,
    Invite,
    InviteIn,
    Link,
    LinkIn,
    Reset,
    ResetIn,
)
from spanwalk.services.people import links
from spanwalk.storage.database import reading, writing
from spanwalk.web.people.sessions import about, device_of_request, with_cookie
from spanwalk.web.request.asked import asked
from spanwalk.web.request.auth import Right, current_asker, current_person, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, takes
from spanwalk.web.request.entered import entered_again

bp = Endpoints("links", __name__, url_prefix="/api", description="One-time links")


def _origin() -> str:
    """Where a link leads: the address of this installation, and only where none is set, the one it was asked at."""
    settings: Settings = current_app.extensions["spanwalk"]
    return settings.public_url or request.host_url


@bp.route("/sites/<uuid:site_id>/invites", methods=("POST",))
@requires(Right.DECIDE)
@entered_again
@takes(InviteIn)
@answers({201: LinkMadeOut})
def invite(site_id: str, body: Invite) -> Response:
    """Invite somebody to a site: a link that is good once, for a week."""
    with writing() as session:
        asker, note = current_asker(), body.get("note") or None
        return json_answer(links.invite(session, asker, site_id, body["role"], note, _origin()), 201)


@bp.route("/invites", methods=("POST",))
@requires(Right.SERVER)
@entered_again
@takes(FirmInviteIn)
@answers({201: LinkMadeOut}, 404)
def invite_to_firm(body: FirmInvite) -> Response:
    """Invite somebody to the firm, onto several sites or none: a link that is good once, for a week."""
    gives: links.Gives = {"owner": body.get("owner") is True, "sites": body.get("sites", [])}
    with writing() as session:
        made = links.invite_to_firm(
            session, current_asker(), gives, body.get("role"), body.get("note") or None, request.host_url
        )
        return json_answer(made, 201)


@bp.route("/links", methods=("GET",))
@requires(Right.SERVER)
@answers({200: LinksOut})
def index_of_firm() -> Response:
    """Invitations to the firm, without their secrets."""
    with reading() as session:
        return json_answer({"links": links.list_links_to_firm(session)})


@bp.route("/links/<uuid:link_id>", methods=("DELETE",))
@requires(Right.SERVER)
@entered_again
@answers({204: None}, 409)
def withdraw_from_firm(link_id: str) -> Response:
    """Withdraw an invitation to the firm that nobody has used."""
    with writing() as session:
        links.withdraw_from_firm(session, current_asker(), link_id)
    return Response(status=204)


@bp.route("/sites/<uuid:site_id>/resets", methods=("POST",))
@requires(Right.DECIDE)
@entered_again
@takes(ResetIn)
@answers({201: LinkMadeOut}, 409)
def reset(site_id: str, body: Reset) -> Response:
    """A link by which a person of the site gives themselves a new password: good once, for a day."""
    with writing() as session:
        return json_answer(links.reset(session, current_asker(), site_id, body["person"], _origin()), 201)


@bp.route("/resets", methods=("POST",))
@requires(Right.SERVER)
@entered_again
@takes(ResetIn)
@answers({201: LinkMadeOut}, 404, 409)
def reset_anybody(body: Reset) -> Response:
    """The same for anybody of the firm, on whichever site."""
    with writing() as session:
        return json_answer(links.reset(session, current_asker(), None, body["person"], _origin()), 201)


@bp.route("/sites/<uuid:site_id>/links", methods=("GET",))
@requires(Right.DECIDE)
@answers({200: LinksOut})
def index(site_id: str) -> Response:
    """Links to the site and new passwords for its people, without their secrets."""
    with reading() as session:
        return json_answer({"links": links.list_links(session, site_id)})


@bp.route("/sites/<uuid:site_id>/links/<uuid:link_id>", methods=("DELETE",))
@requires(Right.DECIDE)
@entered_again
@answers({204: None}, 409)
def withdraw(site_id: str, link_id: str) -> Response:
    """Withdraw a link that nobody has used."""
    with writing() as session:
        links.withdraw(session, current_asker(), site_id, link_id)
    return Response(status=204)


@bp.route("/links/open", methods=("POST",))
@requires(Right.OPEN)
@takes(LinkIn)
@answers({200: LinkOpenedOut}, 404, 409, 429)
def show(body: Link) -> Response:
    """What a link is for; that does not use it up. The secret comes in the body: addresses stand in logs."""
    return json_answer(links.open_link(body["secret"], request.remote_addr or ""))


@bp.route("/links/accept", methods=("POST",))
@requires(Right.OPEN)
@takes(AcceptIn)
@answers({200: AcceptedOut}, 404, 409, 429)
def accept(body: Accept) -> Response:
    """Come by a link with a password of one's own, and be signed in."""
    settings: Settings = current_app.extensions["spanwalk"]
    accepted = links.accept(
        body["secret"],
        body.get("name"),
        body["password"],
        asked(body),
        settings.session_days,
        device_of_request(),
    )
    answer = json_answer({**about(accepted.person), "site": accepted.site})
    return with_cookie(answer, accepted.token)


@bp.route("/links/take", methods=("POST",))
@requires(Right.SIGNED_IN)
@takes(LinkIn)
@answers({200: InvitationTakenOut}, 404, 409, 429)
def take(body: Link) -> Response:
    """Come onto a site by an invitation as who is signed in."""
    return json_answer({"site": links.take(body["secret"], current_person(), request.remote_addr or "")})
