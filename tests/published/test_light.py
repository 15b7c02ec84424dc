"""Photometry against published figures and independent computation.

Sources, each by the letter in the tests:

A. Utility primer 'Room cavity ratio' and the IES definition of the cavity ratio: 12 × 10 ft, 6 ft cavity (read).
B. Lumen-method worksheet in SI units: 12 × 6 m, ceiling 3.0 m, work plane 0.8 m (read).
C. View-factor data page, aligned parallel rectangles (cites Incropera, table 13.2) (read); its value for 1 × 2 is wrong.
D. View-factor help page, finite parallel plates (cites Siegel and Howell, 4th ed., p. 843) (read).
E. Exact factors, ray tracing and patch radiosity, computed independently of this project (utilisation.csv).
F. Textbook example on lighting schemes (A Textbook on Power System Engineering, part IV, chapter 4, as worked in
   public programs): inputs read, result computed.
G. Lecture notes on illumination engineering: 20 m², 300 lx, UF 0.6, MF 0.8 (read).
H. TM-21 arithmetic, φ = B exp(−α t): computed independently.
I. Guide to T8 lamps in open offices: 3,100 lm, ballast factor 0.88, depreciation 0.95, body 0.91, 54.5 W (inputs read).
J. Handbook's fitted form factor and closed form of the coefficient of utilisation (IES Lighting Handbook, from memory).
K. Textbook on heat transfer, example 11.6 (S. K. Som), read off a graph.
L. A ray tracer of general lighting physics (ray_traced.csv, made by ray_traced.py, with input and version).
M. EN 12464-1, table of measuring grids as a lighting maker's page prints it (read).
N. A university laboratory's page on measuring grids by EN 12464-1: 5 × 4 m (read).
O. A maker's lighting handbook: classes of illuminance meters, 3, 5 and 10 % (read).
P. Normal means with normal priors (Gelman et al., Bayesian Data Analysis, section 2.5, from memory), solved as a joint normal.
"""

from __future__ import annotations

import csv
from math import exp, log, pi
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import dblquad

from spanwalk.rules.light import light, light_readings
from spanwalk.rules.light.light_grid import cell_m, grid

TRACED = list(csv.DictReader((Path(__file__).parent / "ray_traced.csv").read_text(encoding="utf-8").splitlines()))
CASES = list(csv.DictReader((Path(__file__).parent / "utilisation.csv").read_text(encoding="utf-8").splitlines()))


@pytest.mark.parametrize(
    ("length", "width", "height", "expected"), [(12, 10, 6, 5.5), (12, 6, 2.2, 2.75)], ids=["A", "B"]
)
def test_the_room_cavity_ratio_is_what_worksheets_print(
    length: float, width: float, height: float, expected: float
) -> None:
    assert light.room_cavity_ratio(length, width, height) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    ("x", "y", "published"), [(1, 1, 0.1998), (10, 10, 0.827), (2, 2, 0.4153)], ids=["C", "C10", "D"]
)
def test_form_factors_are_those_of_the_tables(x: float, y: float, published: float) -> None:
    assert light.form_factor(x, y) == pytest.approx(published, abs=0.0005)


def test_a_form_factor_read_off_a_graph_is_ours_as_far_as_a_graph_can_be_read() -> None:
    """K. 1.5 x 3 m, 3 m apart: 0.11 off the graph, exact 0.11665; a graph is not read closer than 0.01."""
    assert light.form_factor(0.5, 1) == pytest.approx(0.11665, abs=1e-5)
    assert light.form_factor(0.5, 1) == pytest.approx(0.11, abs=0.01)


EXACT = {
    (0.1, 0.1): 0.003162, (0.2, 0.2): 0.012404, (0.5, 0.5): 0.06859, (1, 1): 0.199825, (1, 2): 0.285875, (1, 4): 0.345961,
    (2, 2): 0.415253, (2, 4): 0.508989, (4, 4): 0.632036, (5, 5): 0.690245, (10, 10): 0.826995, (1, 10): 0.386382, (2, 10): 0.573376,
}  # fmt: skip


@pytest.mark.parametrize(("sides", "exact"), EXACT.items(), ids=str)
def test_form_factors_are_exact(sides: tuple[float, float], exact: float) -> None:
    """E. To six decimals."""
    assert light.form_factor(*sides) == pytest.approx(exact, abs=1e-6)
    assert light.form_factor(*reversed(sides)) == pytest.approx(exact, abs=1e-6)


def test_the_page_that_prints_a_wrong_form_factor_is_not_followed() -> None:
    """C prints 0.2353 for 1 × 2; from its definition, ∬ cos² / (π r²) folded by the overlap, it is 0.285875."""
    by_definition = 4 / (2 * pi) * dblquad(lambda v, u: (1 - u) * (2 - v) / (1 + u * u + v * v) ** 2, 0, 1, 0, 2)[0]
    assert by_definition == pytest.approx(0.285875, abs=1e-6)
    assert light.form_factor(1, 2) == pytest.approx(by_definition, abs=1e-9)
    assert abs(light.form_factor(1, 2) - 0.2353) > 0.05


@pytest.mark.parametrize("ratio", range(1, 11))
def test_the_fitted_form_factor_of_the_handbook_agrees_within_three_thousandths(ratio: int) -> None:
    """J. A square room of that cavity ratio has sides of 10/ratio heights."""
    fitted = 0.026 + 0.503 * exp(-0.270 * ratio) + 0.470 * exp(-0.119 * ratio)
    assert light.form_factor(10 / ratio, 10 / ratio) == pytest.approx(fitted, abs=0.0031)


def room_of(case: dict[str, str]) -> tuple[float, float, float]:
    """A room 1 high with the case's aspect and cavity ratio: 5 (L + W) / (L W), L = aspect · W."""
    aspect, ratio = float(case["aspect"]), float(case["cavity_ratio"])
    width = 5 * (aspect + 1) / (aspect * ratio)
    return aspect * width, width, 1.0


def utilisation_of(case: dict[str, str]) -> float:
    shares = (float(case[name]) for name in ("ceiling", "walls", "floor"))
    return light.utilisation_of_bands(*room_of(case), *shares, bands=1)


@pytest.mark.parametrize("case", CASES, ids=lambda case: "-".join(list(case.values())[:5]))
def test_utilisation_equals_the_independent_three_surface_solution(case: dict[str, str]) -> None:
    """E. To half a thousandth, 42 rooms."""
    length, width, height = room_of(case)
    assert light.form_factor(length / height, width / height) == pytest.approx(float(case["direct"]), abs=1e-6)
    assert utilisation_of(case) == pytest.approx(float(case["three_surfaces"]), abs=0.0005)


def closed_form(ratio: float, direct: float, ceiling: float, walls: float, floor: float) -> float:
    """J. Utilisation of light that all leaves downward; `direct` is the share of it that reaches the work plane."""
    c1 = (1 - walls) * (1 - direct**2) * ratio / (2.5 * walls * (1 - direct**2) + ratio * direct * (1 - walls))
    c2 = (1 - ceiling) * (1 + direct) / (1 + ceiling * direct)
    c3 = (1 - floor) * (1 + direct) / (1 + floor * direct)
    whole = c1 + c2 + c3
    by_walls = 2.5 * walls * c1 * c3 * (1 - direct) / (ratio * (1 - walls) * (1 - floor) * whole)
    return by_walls + (1 - floor * c3 * (c1 + c2) / ((1 - floor) * whole)) * direct / (1 - floor)


@pytest.mark.parametrize("case", CASES, ids=lambda case: "-".join(list(case.values())[:5]))
def test_utilisation_equals_the_closed_form_of_the_handbook(case: dict[str, str]) -> None:
    """J. Within 0.0003, so the formula is remembered rightly and ours is the zonal-cavity method's."""
    shares = (float(case[name]) for name in ("cavity_ratio", "direct", "ceiling", "walls", "floor"))
    assert utilisation_of(case) == pytest.approx(closed_form(*shares), abs=0.0003)


@pytest.mark.parametrize("case", CASES, ids=lambda case: "-".join(list(case.values())[:5]))
def test_utilisation_is_within_half_a_hundredth_part_of_the_exact_box(case: dict[str, str]) -> None:
    """E. 42 boxes up to a cavity ratio of 10, ray-traced surface by surface; with one wall they are off by up to 6 %."""
    shares = (float(case[name]) for name in ("ceiling", "walls", "floor"))
    assert light.utilisation(*room_of(case), *shares) == pytest.approx(float(case["ray_traced"]), rel=0.005)


@pytest.mark.parametrize("room", TRACED, ids=lambda room: "-".join(list(room.values())[:6]))
def test_utilisation_is_within_a_hundredth_part_of_a_ray_tracer(room: dict[str, str]) -> None:
    """L. Tall narrow rooms, small bright ones, a corridor; the tracer's own noise is a few tenths of a per cent."""
    sides = (float(room[name]) for name in ("length", "width", "height", "ceiling", "walls", "floor"))
    assert light.utilisation(*sides) == pytest.approx(float(room["utilisation"]), rel=0.01)


def test_one_wall_alone_would_flatter_the_tall_room_of_the_ray_tracer() -> None:
    """L. 5 × 5 × 5 m, 70/50/20: 0.355 with one wall is 6 % too much; what walls high up get goes back up."""
    tall = next(room for room in TRACED if (room["length"], room["height"]) == ("5", "5"))
    flattered = light.utilisation_of_bands(5, 5, 5, 0.7, 0.5, 0.2, bands=1)
    assert flattered / float(tall["utilisation"]) > 1.05


def test_lights_of_two_groups_add_up_to_that_of_both() -> None:
    """Light is linear: 4,000 and 6,000 lm in one room make as many lux as 10,000 lm."""
    share = light.utilisation(10, 8, 2, 0.8, 0.5, 0.2)
    both = light.illuminance_lux(4000, share, 80) + light.illuminance_lux(6000, share, 80)
    assert both == pytest.approx(light.illuminance_lux(10_000, share, 80))


@pytest.mark.parametrize(
    ("side", "cell"),
    [(0.4, 0.15), (0.6, 0.20), (1, 0.20), (2, 0.30), (5, 0.60), (10, 1.00), (25, 2.00), (50, 3.00), (100, 5.00)],
)
def test_cells_of_the_measuring_grid_are_those_of_the_printed_table(side: float, cell: float) -> None:
    """M. The table rounds to one digit; the formula behind it is not off by more than 0.1 m up to 10 m, and by 6 % above."""
    assert cell_m(side) == pytest.approx(cell, abs=0.1, rel=0.06)


def test_a_room_of_five_by_four_metres_is_read_at_eight_by_six_points() -> None:
    """N."""
    assert (grid(5, 4).along, grid(5, 4).across) == (8, 6)


def test_meters_are_taken_to_be_off_by_the_classes_of_the_handbook() -> None:
    """O. 'High precision' 5 %, 'average' 10 %, the least that is to be used."""
    assert (light_readings.METER_SHARE, light_readings.METER_UNKNOWN_SHARE) == (0.05, 0.10)


def test_two_readings_and_a_prior_are_joined_by_their_precisions() -> None:
    """P. One kind, two rooms: every room is kind + own, so the joint normal of both rooms is written out and conditioned on."""
    variance = light_readings.prior_deviation(0.15) ** 2
    alike, own = variance * light_readings.ALIKE_SHARE, variance * (1 - light_readings.ALIKE_SHARE)
    errors = np.diag([light_readings.reading_deviation(16, True) ** 2, light_readings.reading_deviation(4, False) ** 2])
    truth = np.array([[alike + own, alike], [alike, alike + own]])
    gain = truth @ np.linalg.inv(truth + errors)
    mean, left = gain @ np.array([log(0.9), log(1.05)]), truth - gain @ truth
    readings = [
        light_readings.Reading("a", "k", log(0.9), 16, True),
        light_readings.Reading("b", "k", log(1.05), 4, False),
    ]
    found = light_readings.corrected(readings, 0.15)
    for at, room in enumerate("ab"):
        assert found.rooms[room].mean == pytest.approx(mean[at], abs=1e-12)
        assert found.rooms[room].deviation ** 2 == pytest.approx(left[at, at], abs=1e-12)


def test_a_hall_of_twenty_lamps_has_ninety_four_lux() -> None:
    """F. 20 × 500 W × 15 lm/W, 36.6 × 15.25 m, depreciation 0.7, utilisation 0.5: 94.06 lm/m²."""
    assert light.illuminance_lux(20 * 500 * 15 * 0.7, 0.5, 36.6 * 15.25) == pytest.approx(94.06, abs=0.05)


def test_a_shop_floor_needs_four_hundred_thousand_lumens() -> None:
    """F. 45.75 × 27.45 m, 108 lx, utilisation 0.35, performance factor 0.9: 430,573 lm."""
    assert light.lumens_for(108, 45.75 * 27.45, 0.35) / 0.9 == pytest.approx(430_572.9, abs=0.1)


def test_the_lumen_method_gives_the_lecture_notes_figure() -> None:
    """G. 6,000 lm / (0.6 × 0.8) = 12,500 lm."""
    assert light.lumens_for(300, 20, 0.6) / 0.8 == pytest.approx(12_500)


@pytest.mark.parametrize(("share", "hours"), [(0.7, 35667.49), (0.8, 22314.36), (0.9, 10536.05)])
def test_hours_to_a_share_of_the_light_follow_the_exponential(share: float, hours: float) -> None:
    """H. α = 1e-5, B = 1."""
    assert light.life_h(share, 1e-5) == pytest.approx(hours, abs=0.01)


def test_depreciation_from_l70_is_the_same_curve() -> None:
    """H. At L80 of a bar whose L70 is 35,667.49 h, it gives 80 %."""
    assert light.led_depreciation(22314.36, 35667.49) == pytest.approx(0.8, abs=1e-6)


def test_lumens_of_a_body_are_lamps_times_every_factor() -> None:
    """I. 2 × 3,100 × 0.88 × 0.91 = 4,965 lm new, × 0.95 = 4,717 lm; 86.5 lm/W of 54.5 W."""
    new = light.todays_light(2, 1.0, 3100, 0.88, 1.0, 1.0, 0.91).as_found_lm
    mean = light.todays_light(2, 1.0, 3100, 0.88, 0.95, 1.0, 0.91).as_found_lm
    assert (round(new), round(mean)) == (4965, 4717)
    assert mean / 54.5 == pytest.approx(86.5, abs=0.1)


@pytest.mark.parametrize(("bodies", "passes"), [(16, True), (17, False)])
def test_power_density_lets_sixteen_bodies_into_an_open_office(bodies: int, passes: bool) -> None:
    """I, with 0.61 W/ft² for open offices (ASHRAE 90.1-2019, IECC 2021): 60 × 25 ft, 915 W; 17 × 54.5 W = 926.5 W."""
    density = light.power_density_w_ft2(bodies * 54.5, 60 * 25 / light.SQUARE_FEET_IN_M2)
    assert (density <= 0.61) is passes
