"""Readings of light move what is wanted, what is proposed and the ranges: by hand, for any reading, for a site, and over HTTP."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from dataclasses import replace
from math import exp, log
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.planning.demo_records import demo_records
from tests.planning.some_body import body
from tests.planning.stored_site import store
from tests.planning.test_room_light import GALLERY, reading, room_of
from tests.support.installation import Installation, installed, new_id

from spanwalk.rules.arrangements.choosing.wanted import wanted_light
from spanwalk.rules.arrangements.now import now
from spanwalk.rules.arrangements.plan import plan_group
from spanwalk.rules.arrangements.site_figures import figure_named
from spanwalk.rules.light.light_readings import OfRoom, Reading, corrected, of_room
from spanwalk.rules.survey import facet
from spanwalk.services.planning.plans import SitePlan, make_plans
from spanwalk.services.planning.room_light import light_of_room, lights_off

TARGET = "meet-the-target-of-the-space"
KIND = "office-open + recessed-troffer prismatic-lens"
CORRIDOR = "G07"
BY_EN = {"light_policy": TARGET, "light_standard": "en-12464-1-2021"}
RANGE_SHARE = 0.15
TWENTY: dict[str, Any] = {"count": {"count": 20}}


def read_at(share: float, points: int = 16, *, calibrated: bool = True) -> OfRoom:
    """What readings at so much of the estimate make of a room."""
    found = corrected([Reading("room", KIND, log(share), points, calibrated)], RANGE_SHARE)
    return of_room("room", KIND, found, RANGE_SHARE, points)


def plan_read(read: OfRoom | None, **changes: Any) -> Any:
    return plan_group(replace(body(**changes), read_light=read))


# -- by hand


def test_a_target_read_a_fifth_too_dark_wants_more_lumens_and_another_setting() -> None:
    """Office of 10 × 8 m, utilisation 0.870, 20 bodies, 500 lx wanted: 500 × 80 / 0.870 = 45,980 lm by the tables.

    Read: 16 points at 80 % of the estimate, calibrated. Prior ln 1.15 / 1.96 = 0.0713, precision 196.6; reading
    0.05² / 3 + 0.2² / 16 = 0.00333, precision 300. ln 0.8 × 300 / 496.6 = −0.1348: today's light × 0.874; half of it stays with
    new light, −0.0674: × 0.935. Wanted 45,980 / 0.935 = 49,190 lm. Two bars at 350 mA (36 V, 168 lm/W), 80.73 % kept, dirt 0.90,
    body 0.78: 25.2 × 168 × 0.8073 × 0.702 × 20 = 47,990 lm, which is enough by the tables and 97.6 % by what was read; at 400 mA
    54,840 lm.
    """
    by_tables = plan_read(None, group=TWENTY, settings=BY_EN)
    by_reading = plan_read(read_at(0.8), group=TWENTY, settings=BY_EN)
    assert [each["proposal"]["setting_ma"] for each in (by_tables, by_reading)] == [700, 800]
    facts = by_reading["corrected"]["facts"]
    assert by_tables["corrected"] is None
    assert by_reading["corrected"]["code"] == "plan.corrected.room"
    assert facts["before_lm"] == pytest.approx(45_980, rel=0.004)
    assert facts["after_lm"] == pytest.approx(49_190, rel=0.004)
    assert (facts["points"], facts["rooms"]) == (16, 1)
    assert (facts["today_pct"], facts["new_pct"]) == pytest.approx((87.4, 93.5), abs=0.05)
    assert by_reading["proposal"]["light"]["corrected"] == by_reading["corrected"]


def test_a_share_of_todays_light_is_one_of_lumens_and_only_its_lux_are_corrected() -> None:
    """The same reading, 90 % of the light found kept: 25,696 lm, as by the tables; rooms and bodies are the same before and after.

    Today's lux × 0.874, new × 0.935.
    """
    found, by_tables = plan_read(read_at(0.8)), plan_read(None)
    facts = found["corrected"]["facts"]
    assert found["corrected"]["code"] == "plan.corrected.room-lux"
    assert (facts["before_lm"], facts["after_lm"]) == (25_696, 25_696)
    assert found["proposal"]["arrangement"] == by_tables["proposal"]["arrangement"]
    assert found["now"]["lux"] == pytest.approx(by_tables["now"]["lux"] * 0.874, abs=1)
    assert found["proposal"]["light"]["lux"] == pytest.approx(by_tables["proposal"]["light"]["lux"] * 0.935, abs=1)
    for name in ("share_of_today_pct", "day_one_of_found_pct", "then_lm", "range_lm"):
        assert found["proposal"]["light"][name] == by_tables["proposal"]["light"][name]


def test_the_range_on_the_plan_is_that_of_the_reading() -> None:
    """Today's: 1 / √496.6 = 0.0449, so × and ÷ e^(1.96 × 0.0449) = 1.092 where the tables have 1.15. New: √(0.25 × 0.0449² +
    0.75 × 0.0713²) = 0.0657: 1.137."""
    found, by_tables = plan_read(read_at(0.8)), plan_read(None)
    for told, name, share in (
        (by_tables["now"], "lux", 1.15),
        (found["now"], "lux", 1.092),
        (by_tables["proposal"]["light"], "day_one_lux", 1.15),
        (found["proposal"]["light"], "day_one_lux", 1.137),
        (found["proposal"]["light"], "lux", 1.137),
    ):
        low, high = told["day_one_range_lux" if name == "day_one_lux" else "range_lux"]
        assert low == pytest.approx(told[name] / share, rel=0.006)
        assert high == pytest.approx(told[name] * share, rel=0.006)


def test_a_term_says_what_the_readings_did() -> None:
    found = plan_read(read_at(0.8))["light_terms"]
    terms = [next(each for each in found[part] if each["term"] == "readings") for part in ("today", "new")]
    assert [each["value"] for each in terms] == pytest.approx([0.874, 0.935], abs=0.001)
    assert {each["how_known"] for each in terms} == {"read-in-this-room"}
    assert not [each for each in plan_read(None)["light_terms"]["new"] if each["term"] == "readings"]


# -- whatever is read


@given(
    st.floats(0.4, 2.5), st.integers(1, 48), st.booleans(), st.sampled_from([TARGET, "keep-a-share-of-todays-light"])
)
def test_whatever_is_read_the_light_wanted_on_the_plane_is_the_same(
    share: float, points: int, calibrated: bool, policy: str
) -> None:
    """Lumens wanted times what a lumen makes of light is the target; a share of today's light is not moved."""
    read = read_at(share, points, calibrated=calibrated)
    some = body(settings={"light_policy": policy})
    by_tables = wanted_light(some, now(some)).lumens
    wanted = wanted_light(replace(some, read_light=read), now(some)).lumens
    assert by_tables is not None
    assert wanted is not None
    lumen_makes = exp(read.new.mean) if policy == TARGET else 1.0
    assert wanted * lumen_makes == pytest.approx(by_tables)
    assert abs(log(wanted / by_tables)) <= abs(log(share))  # never more than all that was read
    if not read.is_corrected:
        assert wanted == by_tables


@given(st.floats(0.78, 1.28), st.floats(0.78, 1.28))
def test_the_brighter_a_room_was_read_the_fewer_lumens_its_target_wants(one: float, other: float) -> None:
    some = body(settings={"light_policy": TARGET})
    wanted = [
        wanted_light(replace(some, read_light=read_at(share)), now(some)).lumens or 0 for share in sorted((one, other))
    ]
    assert wanted[0] >= wanted[1]


# -- a site


def records_for_targets() -> list[dict[str, Any]]:
    """The demo building planned by the targets of its spaces, without its own readings of light."""
    records = [each for each in demo_records() if each["type"] != "lux_reading"]
    records[0]["facets"]["settings"]["light_policy"] = TARGET
    return records


@pytest.fixture(scope="module")
def by_tables() -> SitePlan:
    return make_plans(records_for_targets())


def with_readings(before: SitePlan, number: str, share: float, points: int = 16) -> SitePlan:
    """The plans after so many points of a room were read, at a share of its estimate."""
    room = room_of(before, number)
    found = light_of_room(before, room)["found"]
    assert found is not None
    lux = round(found["lux"] * share, 1)
    more = [reading(at, room["id"], lux) for at in range(points)]
    return make_plans([*records_for_targets(), *more], before=before)


def of_the_kind(found: SitePlan, number: str) -> set[str]:
    """Groups in rooms of the use and bodies of a room."""
    kinds = found.inputs.light.kinds
    wanted = kinds[room_of(found, number)["id"]]
    return {group for group, (_, room) in found.inputs.places.items() if kinds[room["id"]] == wanted}


def test_a_reading_is_planned_for_its_room_and_for_rooms_of_its_kind_and_no_others(by_tables: SitePlan) -> None:
    again = with_readings(by_tables, GALLERY, 0.85)
    touched = of_the_kind(again, GALLERY)
    assert again.made == len(touched)
    changed = {id for id in again.plans if again.plans[id] != by_tables.plans[id]}
    assert changed
    assert changed <= touched
    more = [each for each in again.survey.all if each["type"] == "lux_reading"]
    assert again.plans == make_plans([*records_for_targets(), *copy.deepcopy(more)]).plans  # as from scratch


def test_a_room_of_the_kind_that_nobody_read_is_corrected_by_those_that_were(by_tables: SitePlan) -> None:
    """Two corridors with bodies of a kind, one of them read: both get another driver."""
    again = with_readings(by_tables, CORRIDOR, 0.85)
    told = {}
    for id in of_the_kind(again, CORRIDOR):
        proposals = [each.plans[id]["proposal"] for each in (by_tables, again)]
        number = facet(again.survey.by_id[again.plans[id]["room"]], "identity")["number"]
        assert proposals[0]["arrangement"] != proposals[1]["arrangement"]
        told[number] = proposals[1]["light"]["corrected"]["code"]
    assert told == {CORRIDOR: "plan.corrected.room", "N08": "plan.corrected.kind"}


def test_an_odd_room_moves_nothing_and_stays_an_open_point(by_tables: SitePlan) -> None:
    again = with_readings(by_tables, GALLERY, 0.35)
    assert again.made == 0
    assert again.plans == by_tables.plans
    room = room_of(again, GALLERY)["id"]
    assert room in {each["room"] for each in lights_off(again)}
    assert not again.inputs.light.of(room).is_corrected


def test_the_target_of_the_room_is_told_as_it_is_whatever_was_read(by_tables: SitePlan) -> None:
    """The lumens change, the lux that are wanted do not."""
    again = with_readings(by_tables, GALLERY, 0.85)
    wanted = [light_of_room(each, room_of(each, GALLERY))["wanted"] for each in (by_tables, again)]
    assert wanted[0] is not None
    assert wanted[0] == pytest.approx(wanted[1], abs=1)


def test_a_right_reading_on_handing_over_is_held_against_the_corrected_range(by_tables: SitePlan) -> None:
    again = with_readings(by_tables, GALLERY, 0.85)
    room = room_of(again, GALLERY)
    day_one = light_of_room(again, room)["day_one"]
    assert day_one is not None
    more = [each for each in again.survey.all if each["type"] == "lux_reading"]
    for lux, is_off in ((day_one["lux"], False), (day_one["low"] - 2, True)):
        after = reading(99, room["id"], float(lux), "after")
        told = light_of_room(make_plans([*records_for_targets(), *more, after], before=again), room)
        assert ("room-light.off-after" in {each["code"] for each in told["says"]}) == is_off


# -- over HTTP


@pytest.fixture
def site(tmp_path: Path) -> Iterator[tuple[Installation, list[dict[str, Any]]]]:
    records = records_for_targets()
    with installed(tmp_path / "data") as installation:
        store(installation, records)
        yield installation, records


def test_readings_that_are_pushed_move_plan_and_release(
    site: tuple[Installation, list[dict[str, Any]]], by_tables: SitePlan
) -> None:
    installation, _ = site
    room = room_of(by_tables, CORRIDOR)["id"]
    ids = [id for id, plan in by_tables.plans.items() if plan["room"] == room]
    group = next(id for id in ids if plan_group(by_tables.body(id))["now"].get("lux"))

    def told() -> Any:
        answer = installation.call("manager", "GET", f"/api/sites/{{site}}/groups/{group}/plan")
        assert answer.status_code == 200, answer.text
        return answer.json

    before = told()
    assert before["corrected"] is None
    found = light_of_room(by_tables, room_of(by_tables, CORRIDOR))["found"]
    assert found is not None
    for at in range(16):
        identity = {"parent": room, "point": f"P{at}", "lux": round(found["lux"] * 0.85, 1), "when": "before"}
        (answer,) = installation.push(
            "surveyor",
            installation.operation(
                "surveyor", new_id(), "lux_reading", "identity", {**identity, "calibrated": "2026-03"}
            ),
        )
        assert answer["result"] == "applied", answer
    after = told()
    facts = after["corrected"]["facts"]
    assert (facts["points"], facts["rooms"]) == (16, 1)
    assert facts["after_lm"] > facts["before_lm"]
    assert after["now"]["lux"] < before["now"]["lux"]
    assert after["room_light"]["found"]["lux"] <= before["room_light"]["found"]["lux"]

    totals = installation.call("manager", "GET", "/api/sites/{site}/plan").json["totals"]
    body = {"note": "", "from_memory_seen": [figure_named(each) for each in totals["from_memory"]]}
    released = installation.call("manager", "POST", "/api/sites/{site}/releases", json=body)
    assert released.status_code == 201, released.text
    records = installation.pull("manager")["records"]
    sums = [each["facets"]["identity"]["value"] for each in records if each["type"] == "release_sums"]
    frozen = [each["figures"]["light"]["corrected"] for each in sums if each.get("group") == group]
    assert frozen == [after["proposal"]["light"]["corrected"]]
