"""Energy against published figures.

A. Form of public technical reference manuals, numbers of our own, computed independently. B. University training
centre notes on utilities (read). C. eGRID2023 as quoted in a public replication package (read). D. Statutory ballast
efficacy, 42 USC 6295(g)(5) (read), against the watts from memory. E. Contract wording on coincidence (read). F. Trade
page on a six-lamp high bay (read). G. Utility paper on interactive effects, offices below 20,000 sq ft (read). H. State memo on
homes (read). I. Federal headquarters' fact sheet (read). J. eGRID2022 mass rates as transcribed in public seed data (read).
"""

from __future__ import annotations

import pytest

from spanwalk.reference import tables
from spanwalk.rules.money import energy


def test_kwh_kw_and_emissions_of_a_reference_manual_case() -> None:
    """A. 240 fixtures, 59 → 27 W, 3,100 h, WHFe 1.06, CF 0.8, WHFd 1.2, 0.12 a kWh, 14.5 a kW and month."""
    saved_w = 240 * (59.0 - 27.0)
    kwh = energy.energy_kwh_year(saved_w, 3100)
    with_cooling = energy.interactive_kwh(kwh, 1.06)
    assert (kwh, round(with_cooling, 2)) == (23_808.0, 25_236.48)
    assert with_cooling * 0.12 == pytest.approx(3028.3776)
    assert energy.demand_year(saved_w / 1000 * 0.8 * 1.2, 14.5) == pytest.approx(1282.8672)
    grid = next(
        row for row in tables()["emissions"]["rows"] if row["grid"] == "United States" and "2023" in row["edition"]
    )
    assert energy.emission_kg(with_cooling, grid["kg_per_kwh"]) == pytest.approx(8824.37, abs=0.01)


def test_a_demand_charge_is_kilowatts_times_price() -> None:
    """B. 450 kW at 12 a month: 5,400."""
    assert energy.demand_year(450, 12) / 12 == 5_400


@pytest.mark.parametrize(
    ("grid", "lb_per_mwh"),
    [("United States", 770.884), ("CAMX (California)", 429.983), ("RFCE (mid-Atlantic)", 599.170)],
)
def test_emission_factors_are_the_quoted_pounds_in_kilograms(grid: str, lb_per_mwh: float) -> None:
    """C. 1 lb = 0.45359237 kg."""
    row = next(row for row in tables()["emissions"]["rows"] if row["grid"] == grid and "2023" in row["edition"])
    assert row["kg_per_kwh"] == pytest.approx(lb_per_mwh * 0.45359237 / 1000, abs=2e-6)


MASS_LB_PER_MWH = {
    "United States": (823.149, 0.066, 0.009),
    "CAMX (California)": (497.443, 0.03, 0.004),
    "ERCT (Texas)": (771.083, 0.049, 0.007),
    "RFCE (mid-Atlantic)": (657.386, 0.045, 0.006),
}


@pytest.mark.parametrize(("grid", "lb"), MASS_LB_PER_MWH.items(), ids=str)
def test_emission_factors_of_the_year_before_weigh_three_gases(grid: str, lb: tuple[float, float, float]) -> None:
    """J. CO2, CH4 and N2O weighed 1, 28 and 265. That file's own column of kg a kWh is wrong for Alaska; we have no such row."""
    row = next(row for row in tables()["emissions"]["rows"] if row["grid"] == grid and "2022" in row["edition"])
    weighed = sum(mass * weight for mass, weight in zip(lb, (1, 28, 265), strict=True))
    assert row["kg_per_kwh"] == pytest.approx(weighed * 0.45359237 / 1000, abs=1e-4)


@pytest.mark.parametrize(
    ("saved", "factor", "with_heating_and_cooling"),
    [
        (10_000, 0.69, 6_900),
        (10_000, 0.96, 9_600),
        (10_000, 1.12, 11_200),
        (100, 1.04, 104),
        (2_100_000, 2.4 / 2.1, 2_400_000),
    ],
)
def test_savings_with_heating_and_cooling_are_those_printed(
    saved: float, factor: float, with_heating_and_cooling: float
) -> None:
    """G (electric, heat pump, fuel), H, and I: 2.1 GWh of light saved and 0.3 of cooling. Heat in therms is not reckoned."""
    assert energy.interactive_kwh(saved, factor) == pytest.approx(with_heating_and_cooling)


def watts(diameter: str, nominal_ft: str, lamp_w: float, gear: str, lamps: int) -> float:
    row = next(
        row
        for row in tables()["ballasts"]["rows"]
        if (row["diameter"], row["nominal_ft"], row["lamp_w"], row.get("gear")) == (diameter, nominal_ft, lamp_w, gear)
    )
    return float(row["watts_by_lamps"][str(lamps)])


@pytest.mark.parametrize(
    ("lamp", "lamps", "least_efficacy"),
    [
        (("T12", "4-ft", 40), 1, 1.805),
        (("T12", "4-ft", 40), 2, 1.060),
        (("T12", "8-ft", 75), 2, 0.570),
        (("T12", "8-ft", 110), 2, 0.390),
    ],
)
def test_remembered_watts_stand_on_the_right_sides_of_the_law_of_1990(
    lamp: tuple[str, str, float], lamps: int, least_efficacy: float
) -> None:
    """D. Efficacy = ballast factor × 100 / watts, factor 0.95: 'standard' ones fail the limit, 'energy-saving' ones meet it."""
    assert 95 / watts(*lamp, gear="standard", lamps=lamps) < least_efficacy
    assert 95 / watts(*lamp, gear="energy-saving", lamps=lamps) >= least_efficacy


def test_four_lamps_on_energy_saving_ballasts_take_what_a_university_prints() -> None:
    """A university extension note (read): 172 W for four 40 W T12, 144 W for four of 34 W."""
    assert (watts("T12", "4-ft", 40, "energy-saving", 4), watts("T12", "4-ft", 34, "energy-saving", 4)) == (172, 144)


@pytest.mark.parametrize(
    ("space", "hours", "share"),
    [
        ("office-open", 99, 0.0),
        ("office-open", 100, 0.5),
        (None, 999, 0.5),
        ("stair", 1000, 0.9),
        ("not-said", 5999, 0.9),
        ("parking", 6000, 1.0),
        ("outdoor-covered", 4380, 0.1),
    ],
)
def test_coincidence_steps_with_hours_and_is_small_outdoors(space: str | None, hours: float, share: float) -> None:
    """E. Below 100 h nil, 100 to 999 h a half, 1,000 to 5,999 h nine tenths, from 6,000 h all; outdoors a tenth."""
    assert energy.coincidence_row(hours, space, tables()["controls"]["coincidence"])["share"] == share


def test_a_six_lamp_high_bay_for_ten_hours() -> None:
    """F. 226 W × 10 h = 2.26 kWh."""
    assert energy.energy_kwh_year(226, 10) == pytest.approx(2.26)
