"""The demo building holds what it promises, and is always the same."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

import pytest

from spanwalk import records
from spanwalk.services.demo.building import expand
from spanwalk.services.demo.making import picture_facts, read_demo
from spanwalk.services.demo.people import PEOPLE
from spanwalk.services.demo.pictures import picture

SITE = "5d7e0f9c-0000-4000-8000-000000000000"
FILES = read_demo()
NAMES = {name: f"00000000-0000-4000-8000-{place:012d}" for place, name in enumerate(PEOPLE)}
PICTURES = {
    photo["draw"]: {"sha256": "0" * 64, "bytes": 1, "width_px": 1, "height_px": 1} for photo in FILES.building["photos"]
}
OPERATIONS = expand(FILES.building, FILES.catalogue, SITE, NAMES, PICTURES)


def things(type_name: str) -> list[dict[str, Any]]:
    """Facets of each record of a type, the last value of each."""
    found: dict[str, dict[str, Any]] = defaultdict(dict)
    for operation in OPERATIONS:
        if operation["type"] == type_name:
            found[operation["record"]] |= {"id": operation["record"], operation["facet"]: operation["to"]}
    return list(found.values())


KINDS = {kind["identity"]["mark"]: kind for kind in things("kind")}
ROOMS = {room["identity"]["number"]: room for room in things("room")}
GROUPS = things("group")


def groups_of(mark: str) -> list[dict[str, Any]]:
    return [group for group in GROUPS if group["identity"]["kind"] == KINDS[mark]["id"]]


def readings_of(group: dict[str, Any]) -> list[dict[str, Any]]:
    return [reading for reading in things("cavity_reading") if reading["identity"]["parent"] == group["id"]]


def test_it_is_the_same_at_each_start() -> None:
    assert expand(FILES.building, FILES.catalogue, SITE, NAMES, PICTURES) == OPERATIONS


def test_everything_in_it_is_what_the_spec_allows() -> None:
    for operation in OPERATIONS:
        wrong = records.check_values(operation["type"], operation["facet"], [operation["to"]])
        assert not wrong, (operation["type"], operation["facet"], operation["to"], wrong)


def test_it_is_marked_as_invented() -> None:
    assert FILES.building["invented"] is True
    assert FILES.catalogue["invented"] is True
    assert "invented" in FILES.building["site"]["name"]
    assert all("invented" in photo["caption"] for photo in FILES.building["photos"])


def test_it_is_big_enough_to_mean_something() -> None:
    fixtures = sum(group["count"]["count"] for group in GROUPS)
    done = [room for room in things("room") if room.get("progress", {}).get("progress", "open") != "open"]
    assert len(things("floor")) == 5
    assert 45 <= len(things("room")) <= 60
    assert 550 <= fixtures <= 650
    assert 0.4 <= len(done) / len(things("room")) <= 0.6


def test_four_foot_t5_coves_lie_beside_four_foot_t8() -> None:
    rooms = {mark: {group["identity"]["parent"] for group in groups_of(mark)} for mark in ("K1", "K3")}
    assert KINDS["K3"]["lamps"]["diameter"] == "T5"
    assert rooms["K1"] & rooms["K3"]


def test_a_bent_pair_is_set_aside() -> None:
    assert [each["set_aside"]["reason"] for each in things("cavity_reading") if "set_aside" in each] == ["bent-pair"]


@pytest.mark.parametrize(
    ("mark", "facet", "field", "value"),
    [
        ("K4", "lamps", "cap", "single-pin"),
        ("K4", "ballast", "pcb_mark", "no-mark"),
        ("K5", "lamps", "cap", "U-bend"),
        ("K6", "wiring", "neighbour_leads", "ballast-here-feeds-the-neighbour"),
        ("K7", "wiring", "neighbour_leads", "fed-from-the-neighbours-ballast"),
        ("K9", "housing", "material", "aluminium"),
        ("K9", "housing", "magnet_holds", "no"),
        ("K11", "ballast", "pcb_mark", "no-mark"),
        ("K13", "wiring", "feeds", "two"),
        ("K14", "lamps", "fitted", "led-tube-on-mains"),
        ("K15", "lamps", "fitted", "built-in-led"),
        ("K16", "identity", "alike", "two-makes-seen"),
    ],
)
def test_a_kind_with_a_trap_is_in_use(mark: str, facet: str, field: str, value: str) -> None:
    assert KINDS[mark][facet][field] == value
    assert groups_of(mark)


def test_one_ballast_space_is_too_slim_for_most_drivers() -> None:
    space = KINDS["K8"]["ballast_space"]
    drivers = [item["driver"] for item in FILES.catalogue["items"] if "driver" in item]
    low = [
        driver
        for driver in drivers
        if min(driver["height_ticks"], driver["width_ticks"]) + 2 * driver["side_gap_ticks"] <= space["height_ticks"]
    ]
    assert 1 <= len(low) < len(drivers) / 2


def test_there_are_damp_and_wet_rooms_and_a_hazardous_one() -> None:
    surroundings = [room["surroundings"] for room in things("room") if "surroundings" in room]
    assert {"dry", "damp", "wet"} == {each["moisture"] for each in surroundings}
    assert "yes" in {each["hazardous"] for each in surroundings}


def test_one_floor_has_347_v() -> None:
    floors = {room["id"]: room["identity"]["parent"] for room in things("room")}
    high = {floors[group["identity"]["parent"]] for group in GROUPS if group.get("supply", {}).get("volts") == "347"}
    assert len(high) == 1


def test_a_corridor_has_emergency_fixtures() -> None:
    duty = next(group["duty"] for group in groups_of("K12") if group["identity"]["parent"] == ROOMS["G07"]["id"])
    assert (duty["emergency"], duty["emergency_positions"]) == ("battery-in-fixture", [1, 5, 9, 13])


def test_a_room_is_converted_and_another_has_no_key() -> None:
    assert ROOMS["G12"]["progress"]["progress"] == "nothing-to-convert"
    assert ROOMS["U08"]["progress"]["progress"] == "no-access"


def test_two_people_disagree_on_a_count_that_both_had_seen() -> None:
    seen: dict[tuple[str, str], list[dict[str, Any]]] = defaultdict(list)
    for operation in OPERATIONS:
        if operation["facet"] == "count" and operation["seen"]:
            seen[operation["record"], operation["seen"]].append(operation)
    (pair,) = [each for each in seen.values() if len(each) == 2]
    assert {operation["to"]["count"] for operation in pair} == {13, 14}
    assert len({operation["by"] for operation in pair}) == 2


def test_one_reading_is_wild() -> None:
    group = next(group for group in groups_of("K1") if group["identity"]["parent"] == ROOMS["G05"]["id"])
    lengths = sorted(reading["identity"]["length_ticks"] for reading in readings_of(group))
    assert lengths[1] - lengths[0] > 3 * 960
    assert lengths[-1] - lengths[1] < 960


def test_two_makes_differ_by_4_mm() -> None:
    """47 3/16 in = 1,198.6 mm and 47 3/8 in = 1,203.3 mm: 4.8 mm as read, within a sixteenth (1.6 mm) of 4."""
    (group,) = groups_of("K16")
    lengths = sorted(reading["identity"]["length_ticks"] for reading in readings_of(group))
    assert 4 * 320 - 508 <= lengths[4] - lengths[3] <= 4 * 320 + 508


def test_readings_are_exact() -> None:
    """1 in = 25.4 mm = 8,128 ticks: 47 1/4 in = 384,048; 93 3/16 in = 757,428; 1200.5 mm = 384,160."""
    lengths = {each["identity"]["as_entered"]: each["identity"]["length_ticks"] for each in things("cavity_reading")}
    wanted = {"47 1/4": 384048, "93 3/16": 757428, "1200.5 mm": 384160}
    assert {text: lengths[text] for text in wanted} == wanted


def test_each_photo_is_drawn_and_no_two_alike() -> None:
    facts = [picture_facts(picture(photo["draw"])) for photo in FILES.building["photos"]]
    assert len({each["sha256"] for each in facts}) == len(facts) >= 6
    assert all(10_000 < each["bytes"] < 1_000_000 for each in facts)
