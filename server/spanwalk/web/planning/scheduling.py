"""The schedule of the work that is left, and the same as a calendar."""

from __future__ import annotations

from datetime import date

from flask import Response

from spanwalk.messages.scheduling import ScheduleAsked, ScheduleOut, ScheduleQuery
from spanwalk.services.clock import now
from spanwalk.services.refusals import WrongInput
from spanwalk.services.scheduling.calendar_file import calendar
from spanwalk.services.scheduling.weeks import Asked, schedule_of
from spanwalk.storage.database import reading
from spanwalk.web.files.files import downloaded
from spanwalk.web.request.auth import Right, current_member, requires
from spanwalk.web.request.bodies import json_answer
from spanwalk.web.request.contract import Endpoints, answers, asks
from spanwalk.web.request.entered import entered_again
from spanwalk.web.request.own_language import in_own_language

bp = Endpoints("scheduling", __name__, url_prefix="/api/sites/<uuid:site_id>", description="Schedule")
CALENDAR = "text/calendar"
MINUTES_LEAST = 30


@bp.route("/schedule")
@requires(Right.DECIDE)
@asks(ScheduleQuery)
@answers({200: ScheduleOut})
def schedule(site_id: str, query: ScheduleAsked) -> Response:
    """The work that is released and left, in shifts of one crew."""
    with reading() as session:
        return json_answer(schedule_of(session, current_member().site_id, _asked(query)))


@bp.route("/schedule.ics")
@requires(Right.DECIDE)
@entered_again
@asks(ScheduleQuery)
@answers({200: CALENDAR})
@in_own_language
def as_calendar(site_id: str, query: ScheduleAsked) -> Response:
    """The same as a calendar, an event a shift."""
    with reading() as session:
        site = current_member().site_id
        told = schedule_of(session, site, _asked(query))
    return downloaded(calendar(told, site, now(), query["crew"]), CALENDAR, "spanwalk-schedule.ics")


def _asked(query: ScheduleAsked) -> Asked:
    try:
        first = date.fromisoformat(query["first"])
    except ValueError:
        raise WrongInput("schedule.day-wrong", value=query["first"]) from None
    return Asked(
        first,
        max(1, query["people"]),
        query["begins"],
        max(MINUTES_LEAST, query["minutes"]),
        frozenset(int(each) for each in query["weekdays"]),
    )
