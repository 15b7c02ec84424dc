"""A driver is checked at each of its limits: below, at, above."""

from __future__ import annotations

import pytest
from tests.planning.some_body import DRIVER, MM

from spanwalk.rules.gear import driver_in_body as rules
from spanwalk.rules.gear.checks import CANNOT_TELL, FAILS, PASSES
from spanwalk.rules.gear.driver_in_body import Place, Space

# 190 × 42 × 29 mm, 2 mm all round, 20 mm at both ends: 230 × 46 × 33 mm.
NEEDS = (230 * MM, 46 * MM, 33 * MM)


@pytest.mark.parametrize("side", [0, 1, 2])
@pytest.mark.parametrize(("more", "verdict"), [(-1, FAILS), (0, PASSES), (1, PASSES)])
def test_each_side_of_the_ballast_space_counts_to_the_tick(side: int, more: int, verdict: str) -> None:
    space = [each + (more if at == side else 0) for at, each in enumerate(NEEDS)]
    found = rules.check_space(DRIVER, 1, Space(*space))
    assert found.verdict == verdict
    if verdict == FAILS:
        assert (found.facts["misses_by_ticks"], found.facts["side"]) == (1, ("length", "width", "height")[side])


def test_a_driver_may_be_turned_about_its_long_axis() -> None:
    length, width, height = NEEDS
    assert rules.check_space(DRIVER, 1, Space(length, height, width)).verdict == PASSES


def test_a_driver_is_never_stood_on_end() -> None:
    length, width, height = NEEDS
    assert rules.check_space(DRIVER, 1, Space(width, length, height)).verdict == FAILS
    assert rules.check_space(DRIVER, 1, Space(height, width, length)).verdict == FAILS


def test_leads_at_one_end_need_room_for_leads_there_only() -> None:
    one_end = DRIVER | {"lead_ends": "one-end"}
    assert rules.check_space(one_end, 1, Space((190 + 20 + 2) * MM, *NEEDS[1:])).verdict == PASSES
    assert rules.check_space(one_end, 1, Space((190 + 20 + 2) * MM - 1, *NEEDS[1:])).verdict == FAILS


@pytest.mark.parametrize(
    "space",
    [
        Space((190 * 2 + 20 * 3) * MM, 46 * MM, 33 * MM),  # end to end, a lead gap at each end and between
        Space(230 * MM, (42 * 2 + 2 * 3) * MM, 33 * MM),  # side by side, a side gap at each side and between
    ],
    ids=["end to end", "side by side"],
)
def test_two_drivers_lie_end_to_end_or_side_by_side(space: Space) -> None:
    assert rules.check_space(DRIVER, 2, space).verdict == PASSES
    shorter = Space((space.length_ticks or 0) - 1, space.width_ticks, space.height_ticks)
    narrower = Space(space.length_ticks, (space.width_ticks or 0) - 1, space.height_ticks)
    assert FAILS in {rules.check_space(DRIVER, 2, each).verdict for each in (shorter, narrower)}


@pytest.mark.parametrize("missing", ["length", "width", "height"])
def test_a_side_that_was_not_measured_is_not_a_yes(missing: str) -> None:
    sides = {name: None if name == missing else 10_000 * MM for name in ("length", "width", "height")}
    found = rules.check_space(DRIVER, 1, Space(sides["length"], sides["width"], sides["height"]))
    assert (found.verdict, found.facts["missing"]) == (CANNOT_TELL, [missing])


@pytest.mark.parametrize(
    ("volts", "verdict"),
    [
        ("120", PASSES),
        ("208", PASSES),
        ("277", PASSES),
        ("347", FAILS),
        ("480", FAILS),
        ("dc", FAILS),
        ("not-seen", CANNOT_TELL),
    ],
)
def test_the_supply_must_lie_in_the_range(volts: str, verdict: str) -> None:
    assert rules.check_volts(DRIVER, volts).verdict == verdict


def test_a_label_proves_a_range_only_to_a_driver_that_takes_all_of_it() -> None:
    assert rules.check_volts(DRIVER, "not-seen", "120-277").verdict == PASSES
    assert rules.check_volts(DRIVER | {"volts_max": 240}, "not-seen", "120-277").verdict == CANNOT_TELL
    assert rules.check_volts(DRIVER | {"volts_min": 347, "volts_max": 480}, "not-seen", "347-480").verdict == PASSES


def test_direct_current_needs_a_driver_made_for_it() -> None:
    made_for_it = DRIVER | {"dc": True, "dc_v_min": 176, "dc_v_max": 264}
    assert rules.check_volts(made_for_it, "dc", dc_volts=220).verdict == PASSES
    assert rules.check_volts(made_for_it, "dc").verdict == CANNOT_TELL
    assert rules.check_volts(DRIVER | {"dc": True}, "dc", dc_volts=220).verdict == CANNOT_TELL


@pytest.mark.parametrize(("air", "verdict"), [(51.9, PASSES), (52, PASSES), (52.1, FAILS), (None, CANNOT_TELL)])
def test_a_driver_stays_below_its_limit_in_the_hottest_air(air: float | None, verdict: str) -> None:
    """Limit 60 °C, rise 8 K."""
    assert rules.check_temperature(DRIVER, air).verdict == verdict


@pytest.mark.parametrize(
    ("made_for", "room", "verdict"),
    [("dry", "dry", PASSES), ("dry", "damp", FAILS), ("damp", "damp", PASSES), ("damp", "wet", FAILS), ("wet", "dry", PASSES),
     ("damp", "not-seen", CANNOT_TELL), ("wet", "not-seen", PASSES)],
)  # fmt: skip
def test_surroundings_no_wetter_than_it_is_made_for(made_for: str, room: str, verdict: str) -> None:
    assert rules.check_moisture({"moisture": made_for}, room).verdict == verdict


@pytest.mark.parametrize(
    ("dims", "dimming", "now", "verdict"),
    [
        ("none", "not-seen", "dimming", CANNOT_TELL),
        ("0-10-v", "not-seen", "dimming", CANNOT_TELL),
        ("phase-cut", "not-seen", "personal-tuning", CANNOT_TELL),
        ("0-10-v", "not-seen", "daylight", CANNOT_TELL),
        ("0-10-v", "none", "institutional-tuning", CANNOT_TELL),
        ("0-10-v", "none", "daylight", PASSES),
        ("phase-cut", "phase-cut", "dimming", PASSES),
        ("0-10-v", "phase-cut", "dimming", FAILS),
        ("none", "not-seen", "switch", PASSES),
        ("none", "not-seen", "occupancy", PASSES),
    ],
)
def test_a_dimmer_before_the_group_whose_signal_nobody_named_is_never_passed(
    dims: str, dimming: str, now: str, verdict: str
) -> None:
    """No control pair comes in: a dimmer in the supply itself has none."""
    assert rules.check_dimming({"dimming": dims}, dimming, "no", "none", now).verdict == verdict


@pytest.mark.parametrize(
    ("dims", "dimming", "pair", "wanted", "verdict"),
    [
        ("none", "none", "not-seen", "none", PASSES),
        ("none", "0-10-v", "yes", "none", FAILS),
        ("0-10-v", "0-10-v", "yes", "none", PASSES),
        ("none", "not-seen", "not-seen", "none", CANNOT_TELL),
        ("none", "not-seen", "no", "none", PASSES),
        ("none", "none", "no", "daylight", FAILS),
        ("0-10-v", "not-seen", "not-seen", "dimming", PASSES),
        ("0-10-v", "other", "yes", "none", FAILS),
    ],
)
def test_dimming_as_there_or_as_wanted(dims: str, dimming: str, pair: str, wanted: str, verdict: str) -> None:
    assert rules.check_dimming({"dimming": dims}, dimming, pair, wanted).verdict == verdict


@pytest.mark.parametrize(
    ("takes", "dc", "duty", "verdict"),
    [
        ("none", False, "none", PASSES),
        ("none", False, "generator-or-inverter", PASSES),
        ("none", False, "battery-in-fixture", FAILS),
        ("battery-pack-can-be-added", False, "battery-in-fixture", PASSES),
        ("none", False, "central-battery", FAILS),
        ("none", True, "central-battery", CANNOT_TELL),
        ("battery-pack-can-be-added", True, "not-seen", CANNOT_TELL),
    ],
)
def test_emergency_duty(takes: str, dc: bool, duty: str, verdict: str) -> None:
    assert rules.check_emergency({"emergency": takes, "dc": dc}, duty).verdict == verdict


def test_an_output_that_may_not_be_touched_fails() -> None:
    assert rules.check_class(DRIVER | {"output_class": "not-class-2"}).verdict == FAILS


def test_what_is_not_known_never_passes() -> None:
    """A place of which nothing was seen: only the output class is known."""
    found = rules.check_place(DRIVER | {"dimming": "none"}, 1, Place(Space(None, None, None)))
    assert {check.name for check in found if check.verdict == PASSES} == {"driver.class"}
    assert not [check for check in found if check.verdict == FAILS]


# -- an emergency pack beside the driver


PACKED = {
    "length_ticks": 280 * 320,
    "width_ticks": 30 * 320,
    "height_ticks": 21 * 320,
    "side_gap_ticks": 320,
    "lead_gap_ticks": 6400,
    "lead_ends": "both-ends",
}
PACK = (200 * 320, 35 * 320, 25 * 320)


@pytest.mark.parametrize(
    ("space_mm", "verdict", "side"),
    [
        # End to end: 280 + 200 and 20 at each end and between: 540. Across 37, in height 27 mm.
        ((540, 37, 27), PASSES, None),
        ((539, 37, 27), FAILS, "length"),
        # Side by side: 320 mm long; across 1 + 30 + 1 + 35 + 1 = 68, or with the pack on its edge 58 and 37 in height.
        ((320, 68, 27), PASSES, None),
        ((320, 58, 37), PASSES, None),
        ((320, 67, 27), FAILS, "width"),
        ((540, 37, 26), FAILS, "height"),
    ],
)
def test_a_pack_lies_end_to_end_with_the_driver_or_beside_it(
    space_mm: tuple[int, int, int], verdict: str, side: str | None
) -> None:
    found = rules.check_space(PACKED, 1, Space(*(each * 320 for each in space_mm)), PACK)
    assert (found.name, found.verdict) == ("driver.pack-space", verdict)
    assert side is None or (found.facts["side"], found.facts["misses_by_ticks"]) == (side, 320)


@pytest.mark.parametrize("pack", [(None, 100, 100), (100, 0, 100)])
def test_a_pack_without_a_size_cannot_be_told_about(pack: tuple[int | None, int, int]) -> None:
    found = rules.check_space(PACKED, 1, Space(600 * 320, 100 * 320, 100 * 320), pack)
    assert (found.name, found.verdict, found.facts["missing"]) == (
        "driver.pack-space",
        CANNOT_TELL,
        ["size of the emergency pack"],
    )


def test_a_space_too_small_for_the_driver_alone_is_the_drivers_failure() -> None:
    assert rules.check_space(PACKED, 1, Space(300 * 320, 100 * 320, 100 * 320), PACK).name == "driver.space"


def test_a_space_that_was_not_measured_is_told_once() -> None:
    assert rules.check_space(PACKED, 1, Space(None, 100, 100), PACK).facts["missing"] == ["length"]
