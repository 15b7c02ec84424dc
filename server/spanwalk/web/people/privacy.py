"""What is kept of a person: taken away by them or for them, and the name of one who left taken out of everything."""

from __future__ import annotations

from flask import Response, current_app

from spanwalk.services.privacy.anonymising import anonymise as take_out
from spanwalk.services.privacy.own_data import data_of
from spanwalk.storage.database import reading, really_gone, writing
from spanwalk.web.files.files import downloaded
from spanwalk.web.request.auth import Right, current_person, requires
from spanwalk.web.request.contract import Endpoints, answers
from spanwalk.web.request.entered import entered_again

bp = Endpoints("privacy", __name__, url_prefix="/api", description="What is kept of a person")


@bp.route("/me/data.zip")
@requires(Right.SIGNED_IN)
@entered_again
@answers({200: "application/zip"})
def own() -> Response:
    """Everything that is kept of who asks."""
    return _data(current_person().id)


@bp.route("/people/<uuid:person_id>/data.zip")
@requires(Right.SERVER)
@entered_again
@answers({200: "application/zip"})
def of_person(person_id: str) -> Response:
    """Everything that is kept of a person."""
    return _data(person_id)


@bp.route("/people/<uuid:person_id>/anonymised", methods=("POST",))
@requires(Right.SERVER)
@entered_again
@answers({204: None}, 409)
def anonymise(person_id: str) -> Response:
    """Take the name of a person who left out of everything, for good."""
    with writing() as session:
        take_out(session, person_id, current_person().id)
    really_gone()
    return Response(status=204)


def _data(person_id: str) -> Response:
    with reading() as session:
        data = data_of(session, current_app.extensions["spanwalk-photos"], person_id)
    return downloaded(data, "application/zip", "spanwalk-personal-data.zip")
