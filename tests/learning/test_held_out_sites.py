"""At sites that were held out the firm's numbers save readings, and a bar is no more often wrongly said to fit.

Small samples; `python -m tests.learning.simulated_firms` prints the table of larger ones.
"""

from __future__ import annotations

import pytest
from tests.learning.simulated_firms import FIRMS, Firm, Told, simulate

NAMED = {firm.name: firm for firm in FIRMS}


@pytest.fixture(scope="module")
def told() -> dict[str, Told]:
    names = ("sites as usual", "one site in ten is odd", "one closed site in twelve copied its readings")
    return {name: simulate(NAMED[name], 6, 11 + at) for at, name in enumerate(names)}


@pytest.mark.parametrize(
    "name", ["sites as usual", "one site in ten is odd", "one closed site in twelve copied its readings"]
)
def test_fewer_readings_and_no_more_wrong_fits(told: dict[str, Told], name: str) -> None:
    found = told[name]
    assert found.readings[1] < found.readings[0]
    assert found.fits[1] >= 0.95 * found.fits[0]
    (low, _), (_, high) = found.bounds(1), found.bounds(0)
    assert low <= found.wrong[0] / found.groups + 0.005
    assert found.wrong[1] / found.groups <= high
    assert found.wrong[1] / found.groups < 0.05


def test_a_firm_without_closed_sites_judges_as_before() -> None:
    found = simulate(Firm("none closed", closed=0), 2, 5)
    assert found.priors == [None, None]
    assert found.readings[0] == found.readings[1]
    assert found.fits[0] == found.fits[1]
