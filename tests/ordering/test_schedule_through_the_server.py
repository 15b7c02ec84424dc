"""The demo building's work in shifts: all of it, never worse than room after room, and as a calendar that others read."""

from __future__ import annotations

from collections import Counter
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from tests.open_points.complete_site import Hand
from tests.releases.test_through_the_server import Site
from tests.support.back_ends import ONE_MACHINE
from tests.support.demo_server import started
from tests.support.server import Client

Json = Any
ASKED = "from=2027-01-01&people=2&begins=06:30&minutes=450&weekdays=1245"
EIGHT_HOURS = "from=2027-01-01&people=2&minutes=480"


@pytest.fixture(scope="module")
def site(demo_data: Path, tmp_path_factory: pytest.TempPathFactory) -> Any:
    running = started(ONE_MACHINE, demo_data, tmp_path_factory.mktemp("schedule") / "data")
    client = Client(running.url, "manager")
    found = Site(Hand(client, client.site_id()))
    status, told = found.call("GET", f"schedule?{ASKED}")
    assert (status, told["code"]) == (404, "schedule.nothing-left")
    found.release()
    yield found
    running.stop()


def schedule(site: Site, asked: str = ASKED) -> Json:
    return site.client.get(f"/api/sites/{site.hand.site}/schedule?{asked}")


@pytest.fixture(scope="module", autouse=True)
def as_released(site: Site) -> dict[str, Json]:
    """The shifts while nothing is done and every floor is open all day, by what was asked."""
    return {asked: schedule(site, asked) for asked in (ASKED, EIGHT_HOURS)}


def test_all_that_is_released_is_in_a_shift_and_no_shift_is_too_long(site: Site, as_released: dict[str, Json]) -> None:
    """Two people: each room takes half of the minutes that its groups were frozen with, rounded up."""
    told = as_released[ASKED]
    rooms: Counter[str] = Counter()
    for shift in told["shifts"]:
        assert 0 < shift["minutes"] <= 450
        for each in shift["rooms"]:
            rooms[each["room"]] += each["minutes"]
    groups = {each["id"]: each["parent"] for each in site.records("group")}
    frozen: dict[str, float] = {}
    for each in site.sums(1):
        if "group" in each:
            room = groups[each["group"]]
            frozen[room] = frozen.get(room, 0.0) + each["figures"]["minutes"]
    assert set(rooms) == set(frozen)
    assert all(0 <= minutes - frozen[room] / 2 < 1.001 for room, minutes in rooms.items())


def test_shifts_are_on_the_days_of_the_week_that_were_named(as_released: dict[str, Json]) -> None:
    days = [date.fromisoformat(each["day"]) for each in as_released[ASKED]["shifts"]]
    assert days == sorted(set(days))
    assert {each.isoweekday() for each in days} <= {1, 2, 4, 5}
    assert days[0] == date(2027, 1, 1), "a Friday"


def test_it_saves_a_day_of_the_platform_that_room_after_room_would_take(
    site: Site, as_released: dict[str, Json]
) -> None:
    """By hand: the workshops' 2,630 minutes are three shifts of two people, 1,315 of 1,440 min. Room after room the crew
    comes to them 157 min into a day (G10, G11, the office): 315 min that day, 477 and 467 on the next two, 56 on a fourth."""
    told = as_released[EIGHT_HOURS]
    names = ("days", "platform_days", "isolations")
    assert [told["cost"][name] for name in names] < [told["in_order"][name] for name in names]
    assert told["cost"]["days"] == len(told["shifts"])
    assert (told["cost"]["platform_days"], told["in_order"]["platform_days"]) == (3, 4)
    with_platform = [each for each in told["shifts"] if each["platforms"]]
    assert [each["platforms"] for each in with_platform] == [["Packing floor"]] * 3
    assert sum(each["fixtures"] for shift in told["shifts"] for each in shift["rooms"]) == sum(
        each["figures"]["fixtures"] for each in site.sums(1) if "group" in each
    )


def test_minutes_are_learned_once_twenty_fixtures_have_them(site: Site) -> None:
    before = schedule(site)
    assert before["pace"]["basis"] == "planned"
    group = max(site.records("group"), key=lambda each: each["facets"]["count"]["value"]["count"])
    conversion = site.conversions(group["id"])[-1]
    figures = next(each["figures"] for each in site.sums(1) if each.get("group") == group["id"])
    each_min = round(2 * figures["minutes"] / figures["fixtures"])
    for position in range(1, 21):
        identity = {"position": position, "outcome": "done", "conversion": conversion["id"], "minutes": each_min}
        site.hand.make("installation", group["id"], identity)
        told = schedule(site)["pace"] if position in (19, 20) else None
        if position == 19:
            assert told is not None
            assert told["basis"] == "planned"
    assert told is not None
    assert (told["basis"], told["fixtures"]) == ("learned-of-kind", 20)
    assert told["pct"] == pytest.approx(100 * each_min * figures["fixtures"] / figures["minutes"], abs=0.1)


def unfolded(data: bytes) -> list[str]:
    """Content lines (RFC 5545, 3.1): ended by CR LF, at most 75 octets, those that go on begin with a blank."""
    assert data.endswith(b"\r\n")
    lines = data.split(b"\r\n")[:-1]
    assert max(len(line) for line in lines) <= 75
    found: list[bytes] = []
    for line in lines:
        if line.startswith(b" "):
            found[-1] += line[1:]
        else:
            found.append(line)
    return [line.decode() for line in found]


@pytest.fixture(scope="module", autouse=True)
def calendar(site: Site) -> list[str]:
    """The lines of the calendar, taken while the shifts are those `as_released`."""
    return unfolded(site.client.get(f"/api/sites/{site.hand.site}/schedule.ics?{ASKED}"))


def test_the_calendar_has_an_event_a_shift(calendar: list[str], as_released: dict[str, Json]) -> None:
    lines, shifts = calendar, as_released[ASKED]["shifts"]
    assert (lines[0], lines[-1], lines.count("BEGIN:VEVENT")) == ("BEGIN:VCALENDAR", "END:VCALENDAR", len(shifts))
    starts = [line.removeprefix("DTSTART:") for line in lines if line.startswith("DTSTART:")]
    assert starts == [f"{each['day'].replace('-', '')}T063000" for each in shifts]
    uids = [line for line in lines if line.startswith("UID:")]
    assert len(set(uids)) == len(shifts)
    assert shifts[0]["rooms"][0]["room_name"] in next(line for line in lines if line.startswith("SUMMARY:"))


def test_each_event_says_on_which_day_it_was_planned(calendar: list[str]) -> None:
    """A calendar keeps days of an older schedule on which nobody works any more."""
    told = [line for line in calendar if line.startswith("DESCRIPTION:")]
    made = next(line for line in calendar if line.startswith("DTSTAMP:"))[8:16]
    day = f"{made[:4]}-{made[4:6]}-{made[6:]}"
    assert told
    assert [line for line in told if not line.endswith(rf"\nAs planned on {day}. Ask whether it still holds.")] == []


def uids(site: Site, asked: str) -> set[str]:
    """Names of a calendar's events (RFC 5545, 3.8.4.7)."""
    lines = unfolded(site.client.get(f"/api/sites/{site.hand.site}/schedule.ics?{asked}"))
    return {line for line in lines if line.startswith("UID:")}


@pytest.mark.parametrize(
    ("one", "other"),
    [("", "&begins=22:00"), ("&crew=Day", "&crew=Night"), ("&crew=Night", "")],
    ids=["that begin at another hour", "called otherwise", "of which one has no name"],
)
def test_two_crews_of_one_site_share_no_event(site: Site, one: str, other: str) -> None:
    first, second = uids(site, EIGHT_HOURS + one), uids(site, EIGHT_HOURS + other)
    assert min(len(first), len(second)) > 1
    assert first & second == set()


def test_a_crews_calendar_taken_away_again_has_the_same_events(site: Site) -> None:
    """More people, another hour, a name typed in capitals: it is the same crew, and its days take the place of its days."""
    before, then = uids(site, f"{EIGHT_HOURS}&crew=night%20crew"), uids(site, f"{ASKED}&crew=Night%20Crew")
    days = [{uid.removesuffix("@spanwalk")[-10:] for uid in each} for each in (before, then)]
    assert len(before & then) == len(days[0] & days[1]) > 1


def test_a_crew_with_a_name_has_it_in_each_event(site: Site) -> None:
    lines = unfolded(site.client.get(f"/api/sites/{site.hand.site}/schedule.ics?{ASKED}&crew=Night%20crew"))
    summaries = [line for line in lines if line.startswith("SUMMARY:")]
    assert summaries
    assert [line for line in summaries if not line.startswith("SUMMARY:Night crew\\, ")] == []


def test_a_day_that_there_is_not_is_refused_and_a_leap_day_is_one(site: Site) -> None:
    status, told = site.call("GET", "schedule?from=2027-02-29")
    assert (status, told["code"]) == (422, "schedule.day-wrong")
    assert schedule(site, "from=2028-02-29")["shifts"][0]["day"] == "2028-02-29"


def test_only_who_decides_takes_a_calendar_away(site: Site) -> None:
    status, told = Client(site.client.url, "crew").call("GET", f"/api/sites/{site.hand.site}/schedule.ics?{ASKED}")
    assert (status, told["code"]) == (403, "role-not-enough")


def test_rooms_are_worked_in_at_the_hours_that_their_floor_or_they_themselves_allow(site: Site) -> None:
    """A floor is open from 10:00, one room of it in the evening only: no shift of the morning finds that room open."""
    morning = "from=2027-01-01&people=2&minutes=480"
    rooms = [each for shift in schedule(site, morning)["shifts"] for each in shift["rooms"]]
    floor_name, count = Counter(each["floor_name"] for each in rooms).most_common(1)[0]
    assert count > 1
    floor = next(
        each["id"] for each in site.records("floor") if each["facets"]["identity"]["value"]["name"] == floor_name
    )
    evening = next(each["room"] for each in rooms if each["floor_name"] == floor_name)
    site.hand.save(floor, "floor", work_hours={"begins": "10:00"})
    site.hand.save(evening, "room", work_hours={"days": ["friday"], "begins": "17:00", "ends": "01:30"})
    told = schedule(site, morning)
    assert [each["room"] for each in told["closed"]] == [evening]
    assert told["closed"][0]["hours"] == {"days": ["friday"], "begins": "17:00", "ends": "01:30"}
    on_floor = [each for shift in told["shifts"] for each in shift["rooms"] if each["floor_name"] == floor_name]
    # A room may be worked in on more than one shift, and on others than before.
    assert {each["room"] for each in on_floor} == {
        each["room"] for each in rooms if each["floor_name"] == floor_name
    } - {evening}
    assert min(each["begins"] for each in on_floor) >= "10:00"
    late = schedule(site, f"{morning}&begins=18:00&weekdays=5")
    assert late["closed"] == []
    assert evening in {each["room"] for shift in late["shifts"] for each in shift["rooms"]}
    starts = unfolded(site.client.get(f"/api/sites/{site.hand.site}/schedule.ics?{morning}&begins=18:00&weekdays=5"))
    assert any("Work" not in line and "18:00" in line for line in starts if line.startswith("DESCRIPTION:"))


def test_fixtures_that_were_counted_after_the_release_are_in_no_shift(site: Site) -> None:
    """They are not to be converted until a release has them."""
    before = schedule(site)
    released = {each["group"] for each in site.sums(1) if "group" in each}
    group = next(each for each in site.records("group") if each["id"] in released)
    count = group["facets"]["count"]["value"]
    site.hand.save(group["id"], "group", count=count | {"count": count["count"] + 7})
    assert schedule(site)["shifts"] == before["shifts"]
    site.hand.save(group["id"], "group", count=count)
