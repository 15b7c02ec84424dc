"""What a building remembers of its fixtures: scanned years later, claimed, recalled, kept up."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from datetime import date

from flask import Response, current_app
from sqlalchemy.orm import Session

from spanwalk.messages.memory import ClaimsOut, RecallAsked, RecallOut, RecallQuery, RememberedOut, UpkeepOut
from spanwalk.messages.papers import PaperAsked, PaperQuery
from spanwalk.rules.survey import facet
from spanwalk.services.clock import now
from spanwalk.services.days import today_at
from spanwalk.services.memory.claims import claims_csv, claims_of
from spanwalk.services.memory.gathering import groups_that_failed
from spanwalk.services.memory.letter import letter
from spanwalk.services.memory.recall import (
    Recalled,
    heads,
    named,
    recall_csv,
    recall_days,
    recall_pdf,
    recalled,
    rows_of,
    spares_text,
)
from spanwalk.services.memory.remembering import Days, Memory, memory_of
from spanwalk.services.memory.told import Remembered
from spanwalk.services.memory.upkeep import Upkeep, calendar, upkeep_csv, upkeep_today
from spanwalk.services.people.people import site_name
from spanwalk.storage.database import reading
from spanwalk.web.files.files import downloaded
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, asks
from spanwalk.web.request.entered import entered_again
from spanwalk.web.request.own_language import in_own_language

bp = Endpoints("memory", __name__, url_prefix="/api/sites/<uuid:site_id>", description="What a building remembers")


def _memory(groups: Callable[[Session, str], Collection[str]]) -> tuple[Memory, str]:
    """The memory of some groups of the site that is asked about, and the site's name."""
    with reading() as session:
        site_id = current_member().site_id
        memory = memory_of(session, site_id, _today(session, site_id), groups(session, site_id))
        return memory, site_name(session, site_id)


def _upkeep() -> tuple[Upkeep, str]:
    """What is due on the site that is asked about, and the site's name."""
    with reading() as session:
        site_id = current_member().site_id
        return upkeep_today(session, site_id, _today(session, site_id)), site_name(session, site_id)


def _recalled(query: RecallAsked) -> tuple[str, date, Recalled]:
    """The name of the site that is asked about, the day there, and its fixtures that an item or a batch is in."""
    item, serial = named(query["item"], query["serial"])
    days = Days(query["fitted_from"], query["fitted_to"])
    with reading() as session:
        site_id = current_member().site_id
        today = _today(session, site_id)
        return site_name(session, site_id), today, recalled(session, site_id, today, item, serial, days)


def _today(session: Session, site_id: str) -> date:
    return date.fromisoformat(today_at(session, site_id))


def _inches(memory: Memory) -> bool:
    return facet(memory.survey.site(), "settings").get("units") == "inches"


@bp.route("/memory/<uuid:group_id>/<int(max=4000):position>")
@requires(Right.RECALL)
@answers({200: RememberedOut})
@in_own_language
def of_fixture(site_id: str, group_id: str, position: int) -> Response:
    """What is fitted in a fixture, since when, by which firm, under which warranty, and what failed there."""
    memory, _ = _memory(lambda *_: (str(group_id),))
    return json_answer(memory.one(group_id, position))


@bp.route("/memory/<uuid:group_id>/<int(max=4000):position>/claim-<uuid:failure_id>.pdf")
@requires(Right.RECALL)
@entered_again
@asks(PaperQuery)
@answers({200: "application/pdf"})
@in_own_language
def claim_letter(site_id: str, group_id: str, position: int, failure_id: str, query: PaperAsked) -> Response:
    """The letter of a failure's claim, in the language that is asked for."""
    memory, name = _memory(lambda *_: (str(group_id),))
    store = current_app.extensions["spanwalk-photos"]
    data = letter(name, _inches(memory), memory.one(group_id, position), failure_id, store, memory.today.isoformat())
    return downloaded(data, "application/pdf", f"spanwalk-claim-{failure_id[:8]}.pdf")


@bp.route("/claims")
@requires(Right.RECALL)
@answers({200: ClaimsOut})
def claims(site_id: str) -> Response:
    """Failures that were reported, how each claim stands, and its steps."""
    return json_answer({"claims": claims_of(_memory(groups_that_failed)[0].fixtures())})


@bp.route("/claims.csv")
@requires(Right.RECALL)
@entered_again
@answers({200: "text/csv"})
@in_own_language
def claims_table(site_id: str) -> Response:
    """The same as CSV, a row for each step."""
    data = claims_csv(claims_of(_memory(groups_that_failed)[0].fixtures())).encode()
    return downloaded(data, "text/csv", "spanwalk-claims.csv")


@bp.route("/recall")
@requires(Right.READ)
@asks(RecallQuery)
@answers({200: RecallOut})
@in_own_language
def recall(site_id: str, query: RecallAsked) -> Response:
    """The fixtures that an item or a batch is in, and those that it may be in, as its number was not noted there."""
    *_, of = _recalled(query)
    return json_answer(
        {
            "heads": heads(),
            "rows": rows_of(of.found),
            "fixtures": _places(of.found),
            "unsure_rows": rows_of(of.unsure),
            "unsure_fixtures": _places(of.unsure),
            "spares": spares_text(of),
        }
    )


def _places(fixtures: Sequence[Remembered]) -> list[dict[str, object]]:
    return [{"group": each["group"], "position": each["position"]} for each in fixtures]


@bp.route("/recall.csv")
@requires(Right.READ)
@entered_again
@asks(RecallQuery)
@answers({200: "text/csv"})
@in_own_language
def recall_table(site_id: str, query: RecallAsked) -> Response:
    """The same as CSV."""
    *_, of = _recalled(query)
    return downloaded(recall_csv(of).encode(), "text/csv", "spanwalk-recall.csv")


@bp.route("/recall.pdf")
@requires(Right.READ)
@entered_again
@asks(RecallQuery)
@answers({200: "application/pdf"})
@in_own_language
def recall_paper(site_id: str, query: RecallAsked) -> Response:
    """The same to be printed."""
    name, today, of = _recalled(query)
    days = recall_days(Days(query["fitted_from"], query["fitted_to"]))
    what = " ".join(each for each in (query["item"], query["serial"], days) if each)
    return downloaded(recall_pdf(name, what, of, today.isoformat()), "application/pdf", "spanwalk-recall.pdf")


@bp.route("/upkeep")
@requires(Right.RECALL)
@answers({200: UpkeepOut})
@in_own_language
def upkeep(site_id: str) -> Response:
    """Emergency tests that are due, failures against the life that the catalogue says, spares left."""
    return json_answer(_upkeep()[0])


@bp.route("/upkeep.csv")
@requires(Right.RECALL)
@entered_again
@answers({200: "text/csv"})
@in_own_language
def upkeep_table(site_id: str) -> Response:
    """Tests that are due, as CSV."""
    return downloaded(upkeep_csv(_upkeep()[0]).encode(), "text/csv", "spanwalk-upkeep.csv")


@bp.route("/upkeep.ics")
@requires(Right.RECALL)
@entered_again
@answers({200: "text/calendar"})
@in_own_language
def upkeep_calendar(site_id: str) -> Response:
    """Tests that are due, as a calendar (RFC 5545)."""
    due, name = _upkeep()
    stamp = now()[:19].replace("-", "").replace(":", "") + "Z"
    return downloaded(calendar(name, site_id, due, stamp).encode(), "text/calendar", "spanwalk-upkeep.ics")
