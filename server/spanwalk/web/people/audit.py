"""Who did what: of a site for those who decide on it, of the firm for its owners."""

from __future__ import annotations

from typing import cast

from flask import Response

from spanwalk.messages.audit import AuditOperationsOut, AuditOut, AuditQuery
from spanwalk.services.audit.chain import FIRM
from spanwalk.services.audit.reading import Filter, audit_csv, operations_of, page_of
from spanwalk.storage.database import reading
from spanwalk.web.files.files import downloaded
from spanwalk.web.request.auth import Right, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, asks
from spanwalk.web.request.entered import entered_again
from spanwalk.web.request.own_language import in_own_language

bp = Endpoints("audit", __name__, url_prefix="/api", description="Who did what")


@bp.route("/sites/<uuid:site_id>/audit")
@requires(Right.DECIDE)
@asks(AuditQuery)
@answers({200: AuditOut})
def of_site(site_id: str, query: dict[str, object]) -> Response:
    """What was done on a site, the newest first, fifty at a time."""
    return _page(site_id, query)


@bp.route("/sites/<uuid:site_id>/audit/<int(max=2147483647):number>")
@requires(Right.DECIDE)
@answers({200: AuditOperationsOut})
def operations(site_id: str, number: int) -> Response:
    """The operations that one entry vouches for."""
    with reading() as session:
        return json_answer({"operations": operations_of(session, site_id, int(number))})


@bp.route("/sites/<uuid:site_id>/audit.csv")
@requires(Right.DECIDE)
@entered_again
@answers({200: "text/csv"})
@in_own_language
def of_site_as_csv(site_id: str) -> Response:
    """All that was done on a site, a line for each operation, as CSV."""
    return _csv(site_id)


@bp.route("/audit")
@requires(Right.SERVER)
@asks(AuditQuery)
@answers({200: AuditOut})
def of_firm(query: dict[str, object]) -> Response:
    """What was done that belongs to no site: sign-ins, people, sites made and deleted, backups put back."""
    return _page(FIRM, query)


@bp.route("/audit.csv")
@requires(Right.SERVER)
@entered_again
@answers({200: "text/csv"})
@in_own_language
def of_firm_as_csv() -> Response:
    """The same as CSV."""
    return _csv(FIRM)


def _page(scope: str, query: dict[str, object]) -> Response:
    wanted = cast("Filter", {name: value for name, value in query.items() if value})
    with reading() as session:
        return json_answer(page_of(session, scope, wanted))


def _csv(scope: str) -> Response:
    with reading() as session:
        text = audit_csv(session, scope)
    return downloaded(text.encode(), "text/csv", "spanwalk-audit.csv")
