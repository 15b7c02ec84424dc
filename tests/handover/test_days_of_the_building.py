"""Papers bear the days of the building: what was done on an evening in Denver was not done on the next morning in Greenwich."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.planning.stored_site import store_changes
from tests.support.installation import Installation, installed
from tests.support.late_site import LateSite, make_late

from spanwalk.services.days import day_of, minute_of
from spanwalk.services.handover.gathering import report_of
from spanwalk.services.handover.in_short import in_short
from spanwalk.services.memory.remembering import memory_of
from spanwalk.services.sync.state import site_records
from spanwalk.storage.database import reading


@pytest.mark.parametrize(
    ("moment", "zone", "day"),
    [
        # Offsets by hand: Denver is at UTC-7 in winter and UTC-6 in summer, Auckland at UTC+13 in its summer (IANA tz database).
        ("2026-12-01T01:30:00.000Z", "America/Denver", "2026-11-30"),
        ("2026-12-01T07:00:00.000Z", "America/Denver", "2026-12-01"),
        ("2026-07-01T06:00:00.000000Z", "America/Denver", "2026-07-01"),
        ("2026-07-01T05:59:00Z", "America/Denver", "2026-06-30"),
        ("2026-11-30T11:00:00Z", "Pacific/Auckland", "2026-12-01"),
        ("2026-11-30T10:59:59Z", "Pacific/Auckland", "2026-11-30"),
        ("2026-12-01T01:30:00.000Z", "", "2026-12-01"),
        ("2026-12-01T01:30:00.000Z", "Nowhere/AtAll", "2026-12-01"),
        ("2026-12-01", "America/Denver", "2026-12-01"),
        ("", "America/Denver", ""),
        (None, "America/Denver", ""),
        ("not a moment at all", "America/Denver", "not a momen"[:10]),
    ],
)
def test_a_moment_falls_on_the_day_that_it_was_there(moment: str | None, zone: str, day: str) -> None:
    assert day_of(moment, zone) == day


def test_a_signature_s_minute_is_that_of_the_clock_on_the_wall() -> None:
    assert minute_of("2026-12-01T01:30:12.5Z", "America/Denver") == "2026-11-30 18:30"


@given(
    st.datetimes(datetime(1990, 1, 1), datetime(2060, 1, 1)),
    st.sampled_from(["America/Denver", "Pacific/Auckland", "Asia/Kathmandu", "Europe/Madrid", "Pacific/Apia"]),
)
def test_no_day_is_more_than_one_beside_that_of_greenwich(moment: datetime, zone: str) -> None:
    there = datetime.fromisoformat(day_of(moment.replace(tzinfo=UTC).isoformat().replace("+00:00", "Z"), zone))
    assert abs(there - moment.replace(hour=0, minute=0, second=0, microsecond=0)) <= timedelta(days=1)


def in_zone(here: Installation, zone: str) -> None:
    """Say where the building is, as a manager does."""
    with here.app.app_context(), reading() as session:
        (site,) = site_records(session, here.site, types=("site",))
    site["facets"]["settings"]["time_zone"] = zone
    store_changes(here, [dict(site)])


def days_of(here: Installation) -> dict[str, set[str]]:
    """All days that papers, the screen and a fixture's memory bear, by what they are of."""
    with here.app.app_context(), reading() as session:
        report, screen = report_of(session, here.site, "manager", with_money=False), in_short(session, here.site)
        memory = memory_of(session, here.site, date(2028, 2, 1))
        return {
            "fixtures": {each.day for each in report.fixtures if each.day},
            "photos": {each.day for each in report.photos if each.day},
            "signatures": {each.day for each in report.accepted} | {each.day for each in screen.accepted},
            "closed": {each.day for each in report.closed},
            "warranties": {each.first_day for each in report.warranties},
            "memory": {each["fitted_on"] for each in memory.fixtures() if each["fitted_on"]},
        }


def test_all_that_a_building_is_told_by_bears_its_own_days(tmp_path: Path) -> None:
    """Each was noted before eleven in the morning in Greenwich: on the evening before in Pago Pago (UTC-11, IANA)."""
    with installed(tmp_path) as here:
        made = make_late(here)
        sign(made, here)
        in_greenwich = days_of(here)
        in_zone(here, "Pacific/Pago_Pago")
        there = days_of(here)
    assert in_greenwich["fixtures"] == {"2026-04-02"} == in_greenwich["memory"]
    for name, days in in_greenwich.items():
        assert days, name
        assert there[name].isdisjoint(days), name
    assert there["fixtures"] == {"2026-04-01"} == there["memory"]


def sign(made: LateSite, here: Installation) -> None:
    """The customer signs for the site."""
    said = {"subject": here.site, "name": "A. Customer", "signed_by": "in-person", "content": "0" * 64}
    counted = {"shown": [], "fixtures": 1, "done": 1, "open": 0}
    made.add("acceptance", here.site, identity={**said, **counted, "noted_at": "2026-05-02T09:00:00Z"})
    made.keep()
