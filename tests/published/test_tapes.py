"""What a tape may be wrong by, against printed tables and a budget computed elsewhere; the source stands beside each."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import pytest

from spanwalk.reference import tables
from spanwalk.rules.measuring.instruments import limit_ticks, reading_uncertainty

TICKS_PER_MM = 320
TICKS_PER_FOOT = 97_536
INSTRUMENTS = tables()["instruments"]


def limit_mm(instrument: str, metres: float, from_hook: bool) -> float:
    reading = {
        "length_ticks": round(metres * 1000 * TICKS_PER_MM),
        "instrument": instrument,
        "from_hook": from_hook,
    }
    return limit_ticks(reading, INSTRUMENTS) / TICKS_PER_MM


@pytest.mark.parametrize(
    ("instrument", "printed_mm"),
    [
        ("tape-class-i", [0.4, 0.6, 0.9, 1.1]),
        ("tape-class-ii", [0.9, 1.3, 1.9, 2.3]),
        ("tape-class-iii", [1.8, 2.6, 3.8, 4.6]),
    ],
)
def test_the_printed_errors_of_3_5_8_and_10_m_tapes(instrument: str, printed_mm: list[float]) -> None:
    """Tape classes of 2004/22/EC as printed on two pages about measuring tapes (read)."""
    assert [limit_mm(instrument, metres, False) for metres in (3, 5, 8, 10)] == printed_mm


@pytest.mark.parametrize(
    ("instrument", "mark_to_mark_mm", "from_hook_mm"),
    [
        ("tape-class-i", [0.2, 0.3, 0.3, 0.4], [0.3, 0.4, 0.4, 0.5]),
        ("tape-class-ii", [0.5, 0.7, 0.7, 0.9], [0.7, 0.9, 0.9, 1.1]),
        ("tape-class-iii", [1.0, 1.4, 1.4, 1.8], [1.3, 1.7, 1.7, 2.1]),
    ],
)
def test_a_metre_begun_counts_and_the_hook_adds(
    instrument: str, mark_to_mark_mm: list[float], from_hook_mm: list[float]
) -> None:
    """a + b for each metre begun, + c from an end surface: Measuring Instruments Regulations 2016, Schedule 1I (read), worked for
    0.6, 1.2, 1.5 and 2.4 m."""
    lengths = (0.6, 1.2, 1.5, 2.4)
    assert [limit_mm(instrument, metres, False) for metres in lengths] == mark_to_mark_mm
    assert [limit_mm(instrument, metres, True) for metres in lengths] == from_hook_mm


@pytest.mark.parametrize(("metres", "limit"), [(1.0, 0.5), (1.00001, 0.7)])
def test_a_metre_is_begun_just_above_it(metres: float, limit: float) -> None:
    """0.3 + 0.2 for one metre; the first tick beyond it begins the second."""
    assert limit_mm("tape-class-ii", metres, False) == limit


@pytest.mark.parametrize(("feet", "sixty_fourths"), [(1, 2), (6, 2), (6.01, 4), (30, 4), (30.5, 8), (55, 8)])
def test_us_tapes_step_with_their_length(feet: float, sixty_fourths: int) -> None:
    """Up to 6 ft 1/32 in, 7 to 30 ft 1/16 in, 31 to 55 ft 1/8 in: NIST Handbook 44, 5.52, through a copy (read). Between two of its
    rows the coarser one counts."""
    assert (
        limit_ticks({"length_ticks": round(feet * TICKS_PER_FOOT), "instrument": "us-tape"}, INSTRUMENTS)
        == sixty_fourths * 127
    )


def test_the_budget_of_a_class_ii_tape_at_1_2_m() -> None:
    """Two ends of 1 mm / (2 √3), error 0.7 / √3, setting 0.4 mm: u = 0.70 mm, twice that 1.4 mm (computed independently).

    Ours is one-sided: 1.645 × 0.70 = 1.152 mm, at most one tick above.
    """
    with_setting: dict[str, Any] = deepcopy(dict(tables()))
    with_setting["instruments"]["repeatability"][0]["repeatability_tenths_mm"] = 4
    reading = {
        "length_ticks": 1200 * TICKS_PER_MM,
        "instrument": "tape-class-ii",
        "graduation": "1-mm",
        "from_hook": False,
    }
    u_mm = reading_uncertainty(reading, with_setting).expanded_ticks / TICKS_PER_MM / 1.645
    assert u_mm == pytest.approx(0.70, abs=0.0025)


def test_a_longer_reading_is_never_more_certain() -> None:
    for instrument in ("tape-class-i", "tape-class-ii", "tape-class-iii", "us-tape", "gauge-goes"):
        said = [
            reading_uncertainty({"length_ticks": mm * TICKS_PER_MM, "instrument": instrument}, tables()).expanded_ticks
            for mm in range(100, 6001, 50)
        ]
        assert said == sorted(said)
