"""Lamps, gear, codes and waste of both worlds against what laws, guides and data sheets print.

Sources, each by the letter in the tests:

A. Directive 2000/55/EC, maximum input power of ballast-lamp circuits, as French decree 2001-1131, article 3, prints both phases and
   the Austrian ordinance on the efficiency of ballasts, annex IV, the second (read); with the rated watts of the lamps at high frequency.
B. Regulation (EC) 245/2009, note to table 1: T8 lamps above 50 W give 83 lm/W at least (read in a dictionary of legal texts).
C. A maker's page on the European energy classes of ballasts, D to A1 from the most loss to the least (read).
D. 42 USC 6295(g)(5): least ballast efficacy at 120 and at 277 V from 1990 (read).
E. LEUKOS 2012, savings of lighting controls, abstract (read).
F. 41 CFR 102-74.180: 50, 30 and 10 fc in federal buildings (read).
G. EPA fact sheet 530-F-20-005, July 2020: 'No PCBs' marks between 1 July 1978 and 1 July 1998 (read).
H. UK guidance on equipment with small amounts of PCBs, March 2002: fittings made between the 1950s and the 1980s (read).
I. Lamp data sheets and a public page on T5 lamps (read); a page on ballasts for 4 ft lamps (read); a university's note (read).
J. French labour code, R4223-4: least illuminance at work, 40, 60, 120 and 200 lx (read).
K. Application guide to EN 12464-1:2021 (read): corridors and stairs 100 lx, writing and reading 500 lx.
L. Engineering page on LENI by EN 15193: Σ (Pn · fc) · (td · fo · fd + tn · fo) / A (read).
"""

from __future__ import annotations

from typing import Any

import pytest
from tests.planning.some_body import body

from spanwalk.reference import tables
from spanwalk.rules.arrangements.plan import plan_group
from spanwalk.rules.gear import waste
from spanwalk.rules.light import light

Row = Any
T8 = {15: "1.5-ft", 18: "2-ft", 30: "3-ft", 36: "4-ft", 58: "5-ft", 70: "6-ft"}


def rows(table: str, **wanted: object) -> list[Row]:
    return [row for row in tables()[table]["rows"] if all(row.get(name) == value for name, value in wanted.items())]


def european(lamp_w: int, energy_class: str) -> float:
    (row,) = rows("ballasts", diameter="T8", nominal_ft=T8[lamp_w], lamp_w=lamp_w, energy_class=energy_class)
    return float(row["watts_by_lamps"]["1"])


@pytest.mark.parametrize(
    ("lamp_w", "first", "second"), [(15, 25, 23), (18, 28, 26), (30, 40, 38), (36, 45, 43), (58, 70, 67), (70, 83, 80)]
)
def test_chokes_draw_what_the_directive_let_each_phase_draw(lamp_w: int, first: float, second: float) -> None:
    """A. Class C was sold up to the end of the first phase, class B2 is what the second lets."""
    assert (european(lamp_w, "C"), european(lamp_w, "B2")) == (first, second)


@pytest.mark.parametrize(("lamp_w", "high_frequency_w"), [(15, 13.5), (18, 16), (30, 24), (36, 32), (58, 50), (70, 60)])
def test_electronic_gear_draws_more_than_its_lamp_and_less_than_a_choke(lamp_w: int, high_frequency_w: float) -> None:
    """A. Bounds on what is from memory: over the lamp's watts at high frequency, under the second phase of chokes."""
    assert high_frequency_w < european(lamp_w, "A2") < european(lamp_w, "A3") < european(lamp_w, "B2")


@pytest.mark.parametrize("lamp_w", T8)
def test_each_class_loses_less_than_the_one_before(lamp_w: int) -> None:
    """C. From C to A2 (D was never limited)."""
    drawn = [european(lamp_w, each) for each in ("C", "B2", "B1", "A3", "A2")]
    assert drawn == sorted(set(drawn), reverse=True)


@pytest.mark.parametrize(("lamp_w", "nominal_ft"), [(58, "5-ft"), (70, "6-ft")])
def test_long_t8_lamps_give_at_least_what_the_regulation_asks(lamp_w: int, nominal_ft: str) -> None:
    """B. 83 lm/W."""
    (row,) = rows("lumens", diameter="T8", nominal_ft=nominal_ft, lamp_w=lamp_w)
    assert row["initial_lm"] / lamp_w >= 83


@pytest.mark.parametrize(
    ("nominal_ft", "lamp_w", "lamps", "at_120", "at_277"),
    [("4-ft", 40, 1, 1.805, 1.805), ("4-ft", 40, 2, 1.060, 1.050), ("8-ft", 75, 2, 0.570, 0.570), ("8-ft", 110, 2, 0.390, 0.390)],
)  # fmt: skip
def test_energy_saving_ballasts_meet_the_law_at_both_volts(
    nominal_ft: str, lamp_w: int, lamps: int, at_120: float, at_277: float
) -> None:
    """D. One row serves 120 and 277 V: the limits differ by 1 % at most."""
    (row,) = rows("ballasts", diameter="T12", nominal_ft=nominal_ft, lamp_w=lamp_w, gear="energy-saving")
    efficacy = 100 * row["ballast_factor"] / row["watts_by_lamps"][str(lamps)]
    assert efficacy >= at_120 >= at_277


@pytest.mark.parametrize(
    ("control", "share"),
    [("occupancy", 0.24), ("daylight", 0.28), ("personal-tuning", 0.31), ("institutional-tuning", 0.36), ("occupancy-and-daylight", 0.38)],
)  # fmt: skip
def test_controls_save_what_the_review_found(control: str, share: float) -> None:
    """E. 'Multiple approaches' 38 %."""
    (row,) = rows("controls", control=control)
    assert row["saving_share"] == share


def test_a_dimmer_by_hand_is_not_credited_with_institutional_tuning() -> None:
    """E. What people dim for themselves is personal tuning, 31 %."""
    (row,) = rows("controls", control="dimming")
    assert (row["saving_share"], row["strategy"]) == (0.31, "personal tuning")


@pytest.mark.parametrize(
    ("footcandles", "row"), [(50, "workstation surface"), (30, "work areas"), (10, "non-work areas")]
)
def test_federal_levels_are_the_printed_footcandles_in_lux(footcandles: float, row: str) -> None:
    """F. 1 fc = 10.7639 lx."""
    found = {
        each["lux"]
        for space in tables()["spaces"]["rows"]
        for each in space["targets"]
        if (each["standard"], each["row"]) == ("us-federal-41-cfr-102-74-180", row)
    }
    assert found == {round(footcandles * light.SQUARE_FEET_IN_M2)}


@pytest.mark.parametrize(("made", "expected"), [("1998-06", "suspect"), ("1998-08", "not suspect")])
def test_ballasts_of_north_america_are_clear_from_when_marks_ended(made: str, expected: str) -> None:
    """G."""
    assert waste.suspicion_of({"ballast": "magnetic", "made": made}, waste.MARK_AND_DATE) == expected


@pytest.mark.parametrize(
    ("made", "expected"), [("1955", "suspect"), ("1975", "suspect"), ("1989", "suspect"), ("1990", "not suspect")]
)
def test_capacitors_of_europe_are_suspect_through_the_eighties(made: str, expected: str) -> None:
    """H."""
    ballast = {"ballast": "magnetic", "capacitor": "seen", "capacitor_made": made}
    assert waste.suspicion_of(ballast, waste.CAPACITOR_AND_DATE) == expected


@pytest.mark.parametrize(
    ("wanted", "initial_lm", "mean_share"),
    [
        ({"diameter": "T8", "nominal_ft": "4-ft", "lamp_w": 32}, 2950, 0.94),
        ({"diameter": "T5", "nominal_ft": "4-ft", "lamp_w": 54}, 5000, 0.93),
        ({"diameter": "T5", "nominal_ft": "4-ft", "lamp_w": 28}, 2900, 0.93),
        ({"diameter": "T8", "cap": "U-bend", "lamp_w": 32}, 2750, 0.909),
    ],
)
def test_lamps_give_what_their_sheets_print(wanted: dict[str, Any], initial_lm: int, mean_share: float) -> None:
    """I. The mean of the 28 W T5 is that of the high-output lamp."""
    (row,) = rows("lumens", **wanted)
    assert (row["initial_lm"], row["mean_share"]) == (initial_lm, mean_share)


def test_a_choke_for_one_forty_watt_lamp_loses_what_the_page_prints() -> None:
    """I. 8 to 10 W with the lamp in the circuit: 50 W less 40 W."""
    (row,) = rows("ballasts", diameter="T12", nominal_ft="4-ft", lamp_w=40, gear="energy-saving")
    assert 8 <= row["watts_by_lamps"]["1"] - 40 <= 10


def test_two_forty_watt_lamps_on_electronic_gear_draw_what_the_page_prints() -> None:
    """I. 68 to 71 W."""
    (row,) = rows("ballasts", diameter="T12", nominal_ft="4-ft", lamp_w=40, ballast="electronic")
    assert 68 <= row["watts_by_lamps"]["2"] <= 71


def test_four_lamps_of_28_w_draw_what_a_university_prints() -> None:
    """I. 99 W."""
    (row,) = rows("ballasts", diameter="T8", nominal_ft="4-ft", lamp_w=28)
    assert row["watts_by_lamps"]["4"] == 99


@pytest.mark.parametrize(
    ("spaces", "least_lux"),
    [
        (("corridor",), 40),
        (("stair", "warehouse", "storage"), 60),
        (("restroom",), 120),
        (("office-open", "office-enclosed", "classroom", "laboratory", "workshop", "kitchen"), 200),
    ],
    ids=["ways", "stairs and stores", "sanitary", "work"],
)
def test_no_target_is_below_what_a_labour_code_asks(spaces: tuple[str, ...], least_lux: int) -> None:
    """J. Targets of EN 12464-1 as we have them; sanitary rooms 120 lx, work without daylight 200 lx."""
    found = [
        each["lux"]
        for name in spaces
        for each in rows("spaces", space=name)[0]["targets"]
        if each["standard"] == "en-12464-1-2021"
    ]
    assert len(found) == len(spaces)
    assert min(found) >= least_lux


@pytest.mark.parametrize(("space", "lux"), [("corridor", 100), ("stair", 100), ("office-open", 500)])
def test_targets_are_those_of_the_guide_to_the_standard(space: str, lux: int) -> None:
    """K."""
    assert rows("spaces", space=space)[0]["targets"][0]["lux"] == lux


def test_lighting_energy_over_the_floor_follows_the_printed_form() -> None:
    """L. One factor for controls in place of fc · fo · fd: a level set once saves 36 % of (td + tn) = 3,000 h."""
    plain, controlled = plan_group(body()), plan_group(body(group={"duty": {"control_wanted": "institutional-tuning"}}))
    for plan, kept in ((plain, 1.0), (controlled, 0.64)):
        assert plan["proposal"] is not None
        by_hand = plan["proposal"]["watts"] / 1000 * kept * 3000 / 80
        assert plan["leni"] is not None
        assert plan["leni"]["kwh_m2_year"] == pytest.approx(by_hand, abs=0.005)
