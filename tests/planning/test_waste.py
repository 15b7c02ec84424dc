"""Ballasts by suspicion, lamps by length."""

from __future__ import annotations

import pytest
from tests.planning.emergency_bodies import WITH_BATTERIES, changed, emergency_plan

from spanwalk.rules.gear import waste
from spanwalk.services.planning.totals import waste_in_all


@pytest.mark.parametrize(
    ("ballast", "mark", "made", "expected"),
    [
        ("magnetic", "no-mark", "", "suspect"),
        ("magnetic", "not-seen", "", "suspect"),
        ("magnetic", "marked", "", "not suspect"),
        ("magnetic", "no-mark", "1979", "suspect"),
        ("magnetic", "no-mark", "1998", "suspect"),
        ("magnetic", "no-mark", "1998-07", "suspect"),
        ("magnetic", "no-mark", "1998-08", "not suspect"),
        ("magnetic", "no-mark", "08/1998", "not suspect"),
        ("magnetic", "no-mark", "2001", "not suspect"),
        ("electronic", "not-seen", "", "not suspect"),
        ("electronic-dimming", "not-seen", "", "not suspect"),
        ("not-seen", "not-seen", "", "not known"),
        ("not-seen", "marked", "2005", "not known"),
    ],
)
def test_a_magnetic_ballast_is_suspect_unless_its_mark_or_its_date_clears_it(
    ballast: str, mark: str, made: str, expected: str
) -> None:
    assert waste.pcb_suspicion(ballast, mark, made) == expected


def test_a_count_that_nobody_made_is_said_to_be_assumed() -> None:
    found = waste.waste_of(10, 4, {"diameter": "T8", "nominal_ft": "4-ft"}, {}, None, 0, 1)
    assert (found.ballasts, found.count_assumed, found.suspicion) == (10, True, "not known")


def test_lamps_not_seen_are_counted_as_such() -> None:
    assert waste.waste_of(3, 2, {}, {}, 1, 0, 1).lamp == "not seen not seen"


def test_old_emergency_batteries_are_counted_by_what_is_in_them_and_those_that_nobody_saw_apart() -> None:
    four, one, two = (
        emergency_plan(group=changed(WITH_BATTERIES, emergency_positions=positions, battery=battery))
        for positions, battery in (([1, 5, 9, 13], "nickel-cadmium"), ([2], "not-seen"), ([3, 4], "nickel-cadmium"))
    )
    assert waste_in_all([four, one, two])["batteries"] == {"nickel-cadmium": 6, "not-seen": 1}
    assert waste_in_all([])["batteries"] == {}


@pytest.mark.parametrize(
    ("ballast", "rule", "expected"),
    [
        ({"ballast": "magnetic", "made": "1979"}, "capacitor-and-date", "suspect"),
        ({"ballast": "magnetic", "made": "1989"}, "capacitor-and-date", "suspect"),
        ({"ballast": "magnetic", "made": "1990"}, "capacitor-and-date", "not suspect"),
        ({"ballast": "magnetic", "made": "1995", "capacitor_made": "1984"}, "capacitor-and-date", "suspect"),
        ({"ballast": "magnetic", "capacitor": "none"}, "capacitor-and-date", "not suspect"),
        ({"ballast": "magnetic", "capacitor": "none"}, "mark-and-date", "suspect"),
        ({"ballast": "magnetic", "capacitor": "none"}, "both", "suspect"),
        ({"ballast": "magnetic", "pcb_mark": "marked", "capacitor_made": "1984"}, "capacitor-and-date", "suspect"),
        (
            {"ballast": "magnetic", "pcb_mark": "marked", "capacitor": "seen", "capacitor_made": "1984"},
            "both",
            "suspect",
        ),
        (
            {"ballast": "magnetic", "pcb_mark": "marked", "capacitor": "seen", "capacitor_made": "1984"},
            "mark-and-date",
            "suspect",
        ),
        (
            {"ballast": "magnetic", "pcb_mark": "marked", "capacitor": "seen", "capacitor_made": "1990"},
            "mark-and-date",
            "not suspect",
        ),
        (
            {"ballast": "magnetic", "pcb_mark": "marked", "capacitor": "seen", "capacitor_made": "1989"},
            "both",
            "suspect",
        ),
        ({"ballast": "magnetic", "pcb_mark": "marked", "capacitor": "seen"}, "both", "suspect"),
        ({"ballast": "magnetic", "pcb_mark": "marked", "capacitor": "none"}, "both", "not suspect"),
        ({"ballast": "magnetic", "pcb_mark": "marked"}, "mark-and-date", "not suspect"),
        ({"ballast": "magnetic", "pcb_mark": "marked"}, "capacitor-and-date", "suspect"),
        (
            {"ballast": "magnetic", "made": "2001", "capacitor": "seen", "capacitor_made": "1975"},
            "mark-and-date",
            "suspect",
        ),
        ({"ballast": "electronic", "capacitor": "seen", "capacitor_made": "1982"}, "both", "suspect"),
        ({"ballast": "none", "capacitor": "seen", "capacitor_made": "1982"}, "capacitor-and-date", "suspect"),
        ({"capacitor": "seen", "capacitor_made": "1982"}, "both", "suspect"),
        ({"capacitor": "seen", "capacitor_made": "1995"}, "both", "not known"),
        ({"ballast": "electronic"}, "both", "not suspect"),
        ({}, "capacitor-and-date", "not known"),
        ({}, "both", "not known"),
    ],
)
def test_whose_rule_it_is_decides_what_a_ballast_is_suspected_of(
    ballast: dict[str, str], rule: str, expected: str
) -> None:
    """UK guidance of March 2002 (read): small capacitors of fittings made from the 1950s to the 1980s may hold PCB."""
    assert waste.suspicion_of(ballast, rule) == expected


def test_a_u_bend_is_not_the_straight_lamp_of_its_length() -> None:
    names = [
        waste.waste_of(3, 2, {"diameter": "T8", "nominal_ft": "2-ft", "cap": cap}, {}, 1, 0, 1)
        for cap in ("G13", "U-bend")
    ]
    assert [each.lamp for each in names] == ["T8 2 ft", "T8 2 ft U-bend"]
    assert [each.lamp_class for each in names] == ["straight-to-4-ft", "u-bend"]


@pytest.mark.parametrize(
    ("lamps", "expected"),
    [
        ({"nominal_ft": "4-ft", "cap": "G13"}, "straight-to-4-ft"),
        ({"nominal_ft": "5-ft", "cap": "G13"}, "straight-over-4-ft"),
        ({"nominal_ft": "2-ft", "cap": "circular"}, "circular"),
        ({"cap": "compact"}, "compact"),
        ({}, "not-seen"),
    ],
)
def test_lamps_are_counted_by_the_recyclers_classes(lamps: dict[str, str], expected: str) -> None:
    assert waste.recycler_class(lamps) == expected
