"""Tables to take away, as workbook or CSV."""

from __future__ import annotations

from flask import Response

from spanwalk.messages.files import TablesOut
from spanwalk.services.files.sheets_out import as_csv
from spanwalk.services.files.tables_out import TABLES, table_of, table_titles, workbook_of
from spanwalk.storage.database import reading
from spanwalk.web.files.files import XLSX, downloaded
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers
from spanwalk.web.request.entered import entered_again
from spanwalk.web.request.own_language import in_own_language, own_language

bp = Endpoints("tables", __name__, url_prefix="/api/sites/<uuid:site_id>/tables", description="Files out")


@bp.route("")
@requires(Right.READ_PLAN)
@answers({200: TablesOut})
@in_own_language
def titles(site_id: str) -> Response:
    """Which tables there are."""
    return json_answer({"tables": [{"name": name, "title": title} for name, title in table_titles()]})


@bp.route("/all.xlsx")
@requires(Right.READ_PLAN)
@entered_again
@answers({200: XLSX})
def whole(site_id: str) -> Response:
    """All tables in one workbook, a sheet each."""
    data = workbook_of(current_member().site_id, TABLES, own_language())
    return downloaded(data, XLSX, "spanwalk-tables.xlsx")


@bp.route("/<name>.xlsx")
@requires(Right.READ_PLAN)
@entered_again
@answers({200: XLSX})
def workbook(site_id: str, name: str) -> Response:
    """One table as a workbook."""
    data = workbook_of(current_member().site_id, (name,), own_language())
    return downloaded(data, XLSX, f"spanwalk-{name}.xlsx")


@bp.route("/<name>.csv")
@requires(Right.READ_PLAN)
@entered_again
@answers({200: "text/csv"})
def text(site_id: str, name: str) -> Response:
    """One table as CSV."""
    with reading() as session:
        table = table_of(session, current_member().site_id, name, own_language())
    return downloaded(as_csv(table), "text/csv", f"spanwalk-{table.name}.csv")
