"""At sites that were held out the firm's numbers save readings, and a bar is no more often wrongly said to fit.

Small samples; `python -m tests.learning.simulated_firms` prints the table of larger ones.
"""

from __future__ import annotations

import pytest
from tests.learning.simulated_firms import FIRMS, Firm, Told, simulate

NAMED = {firm.name: firm for firm in FIRMS}


SAVES = ("sites much alike", "sites as usual")
RISKS = ("one site in ten is odd", "all later sites are odd", "one closed site in twelve copied its readings")
NO_DEARER = 1.01


@pytest.fixture(scope="module")
def told() -> dict[str, Told]:
    return {name: simulate(NAMED[name], 6, 11 + at) for at, name in enumerate((*SAVES, *RISKS))}


@pytest.mark.parametrize("name", SAVES)
def test_at_usual_sites_fewer_readings_are_enough(told: dict[str, Told], name: str) -> None:
    found = told[name]
    assert found.readings[1] < found.readings[0]
    assert found.fits[1] >= 0.95 * found.fits[0]


@pytest.mark.parametrize("name", [*SAVES, *RISKS])
def test_no_bar_more_is_wrongly_said_to_fit_and_hardly_a_reading_more_is_asked_for(
    told: dict[str, Told], name: str
) -> None:
    """The same cavities in the same order, with the firm's numbers and without."""
    found = told[name]
    assert found.groups == 240
    assert found.wrong[1] <= found.wrong[0]
    assert found.readings[1] <= NO_DEARER * found.readings[0]


def test_a_firm_without_closed_sites_judges_as_before() -> None:
    found = simulate(Firm("none closed", closed=0), 2, 5)
    assert found.priors == [None, None]
    assert found.readings[0] == found.readings[1]
    assert found.fits[0] == found.fits[1]
