"""Pretended groups that came out tight: do the readings and trials that are offered settle them?"""

from __future__ import annotations

import random

from spanwalk.reference import tables
from spanwalk.rules.fit.cavity import Sample, joined, measure_more, trusted_cavity
from spanwalk.rules.fit.prediction import could_be_shorter
from spanwalk.rules.measuring.instruments import reading_uncertainty

TICKS_PER_MM = 320
POPULATION, READ_FIRST = 36, 3
NEEDED_MM, MIDDLE_MM, SIXTEENTH_TICKS = 1194.2, 1198.5, 508
"""A bar that goes into every cavity with all margins, sockets far enough apart, a tape in sixteenths (invented)."""


def share_settled_by_tape(sigma_mm: float, groups: int, seed: int) -> float:
    """Of groups that are tight after three readings and that reading can settle, the share that the number offered settles.

    Parameters
    ----------
    sigma_mm : float
        How far sockets differ: standard deviation [mm].
    groups : int
        Such groups.
    seed : int
        Of the random numbers.
    """
    rng, factors, needed = random.Random(seed), tables()["prediction"], round(NEEDED_MM * TICKS_PER_MM)
    settled = met = 0
    while met < groups:
        true = [rng.gauss(MIDDLE_MM, sigma_mm) for _ in range(POPULATION)]
        first = _sample(true[:READ_FIRST])
        found = trusted_cavity(first, factors)["trusted_ticks"]
        more = measure_more(first, needed, factors)
        if found is None or found >= needed or more is None or more >= POPULATION - READ_FIRST:
            continue
        met += 1
        then = trusted_cavity(_sample(true[: READ_FIRST + more]), factors)["trusted_ticks"]
        settled += then is not None and then >= needed
    return settled / groups


def share_that_a_short_one_slips_through(population: int, rounds: int, seed: int) -> float:
    """How often one short cavity is among those not tried, where as many were tried as leave none that could refuse at 95 %."""
    rng = random.Random(seed)
    tried = next(each for each in range(population + 1) if could_be_shorter(population, each) == 0)
    return sum(0 not in rng.sample(range(population), tried) for _ in range(rounds)) / rounds


def _sample(lengths_mm: list[float]) -> Sample:
    """Readings of a tape without bias, rounded to its divisions."""
    cavities = []
    for length_mm in lengths_mm:
        length = round(length_mm * TICKS_PER_MM / SIXTEENTH_TICKS) * SIXTEENTH_TICKS
        identity = {"length_ticks": length, "instrument": "us-tape", "graduation": "1-16-in", "from_hook": True}
        wrong = reading_uncertainty(identity, tables())
        cavities.append(joined([(length, wrong.systematic_ticks, wrong.random_ticks, wrong.graduation_ticks)]))
    return Sample(tuple(cavities), POPULATION)
