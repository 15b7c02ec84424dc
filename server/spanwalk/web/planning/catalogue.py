"""The firm's catalogue: kept by owners, and which version of it a building has."""

from __future__ import annotations

from flask import Response

from spanwalk.messages.catalogue import (
    CatalogueIn,
    CatalogueKept,
    CatalogueOut,
    ChangedSinceOut,
    EffectsAsked,
    EffectsIn,
    EffectsOut,
    TakeAsked,
    TakeIn,
    TakenOut,
    UsesOut,
)
from spanwalk.services.catalogue.effects import effects, uses
from spanwalk.services.catalogue.firm import keep_catalogue
from spanwalk.services.catalogue.versions import changed_since, take
from spanwalk.services.people.people import site_name
from spanwalk.storage.database import reading, writing
from spanwalk.web.request.auth import Right, current_member, current_person, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, takes

bp = Endpoints("catalogue", __name__, url_prefix="/api", description="The firm's catalogue and its versions")


@bp.route("/catalogue", methods=("POST",))
@requires(Right.SERVER)
@takes(CatalogueIn)
@answers({200: CatalogueOut})
def keep(body: CatalogueKept) -> Response:
    """See that the firm's catalogue is there, and that the owner who asks is on it; its site."""
    with writing() as session:
        site_id = keep_catalogue(session, current_person().id, body.get("name"))
        return json_answer({"id": site_id, "name": site_name(session, site_id)})


@bp.route("/sites/<uuid:site_id>/catalogue")
@requires(Right.READ_PLAN)
@answers({200: ChangedSinceOut})
def since(site_id: str) -> Response:
    """The version that the site took, and what differs from the firm's catalogue as it is now."""
    with reading() as session:
        return json_answer(changed_since(session, current_member().site_id))


@bp.route("/sites/<uuid:site_id>/catalogue/effects", methods=("POST",))
@requires(Right.READ_PLAN)
@takes(EffectsIn)
@answers({200: EffectsOut})
def what_if(site_id: str, body: EffectsAsked) -> Response:
    """Which groups would be planned otherwise if changed items were taken; nothing is written."""
    with reading() as session:
        return json_answer(effects(session, current_member().site_id, body.get("items")))


@bp.route("/sites/<uuid:site_id>/catalogue/take", methods=("POST",))
@requires(Right.DECIDE)
@takes(TakeIn)
@answers({200: TakenOut}, 409)
def take_items(site_id: str, body: TakeAsked) -> Response:
    """Take changed items, all or those chosen, under the same ids; sent again it changes nothing."""
    member = current_member()
    with writing() as session:
        return json_answer(take(session, member.site_id, member.person_id, body.get("items"), body.get("head")))


@bp.route("/sites/<uuid:site_id>/catalogue/uses")
@requires(Right.READ_PLAN)
@answers({200: UsesOut})
def used_by(site_id: str) -> Response:
    """What uses each item: groups planned with it, trial bars, releases; of the firm's catalogue, the buildings that have it."""
    with reading() as session:
        return json_answer(uses(session, current_member().site_id, current_person().id))
