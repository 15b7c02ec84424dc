"""Pretended surveys of cavities that are known: does the trusted cavity hold, and do good bars come out as 'fits'?

`python -m tests.fit.simulated_surveys [trials]` prints the whole table; the test looks at a part of it.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterator
from dataclasses import dataclass

from spanwalk.reference import tables
from spanwalk.rules.cavity import Cavity, Sample, joined, pooled, spread_of, trusted_cavity
from spanwalk.rules.instruments import reading_uncertainty

TICKS_PER_MM = 320
LAMP_MM = 1199.4
"""Longest 4 ft T8, cap face to cap face (IEC 60081, from memory)."""
LAMP_GAUGE_MM = 1195.0
"""What a lamp that sits proves: 1199.4 - 2.4 - 2 mm of spring-back."""
BAR_NEEDS_MM = 1194.2
"""A bar of 1,189 mm with 0.5 mm tolerance, 2 mm at each end and 0.7 mm of growth."""
SETTING_MM = 0.3
TAPES = {
    "sixteenths": ("US tape", "1/16 in", 508),
    "millimetres": ("tape class II", "1 mm", 320),
    "half millimetres": ("tape class I", "0.5 mm", 160),
}


@dataclass(frozen=True)
class Surveys:
    """One condition: cavities in a group, how they differ, who reads how many of them with what."""

    tape: str
    sigma_mm: float
    n: int
    other_groups: int = 0
    lamp_sits: bool = True
    population: int = 40
    makes_apart_mm: float = 0


@dataclass(frozen=True)
class Outcome:
    """Shares of surveys: the trusted cavity holds (or nothing is claimed); a good bar fits; held back by two clusters."""

    holds: float
    good_fits: float
    clusters: float


def simulate(surveys: Surveys, trials: int, seed: int) -> Outcome:
    """Survey `trials` groups of known cavities."""
    rng, factors = random.Random(seed), tables()["prediction"]
    holds = good = fits = clusters = 0
    for _ in range(trials):
        true = _true(surveys, rng, surveys.population)
        bias = rng.uniform(-1, 1)
        others = (_read(surveys, rng, _true(surveys, rng, 4), bias) for _ in range(surveys.other_groups))
        sample = Sample(
            cavities=tuple(_read(surveys, rng, true[: surveys.n], bias)),
            population=surveys.population,
            elsewhere=pooled(spread_of([each.length_ticks for each in other]) for other in others),
            lamp_ticks=round(LAMP_GAUGE_MM * TICKS_PER_MM) if surveys.lamp_sits else None,
        )
        found = trusted_cavity(sample, factors)
        trusted_mm = found["trusted_ticks"] / TICKS_PER_MM if found["status"] == "known" else None
        clusters += found["status"] == "two clusters"
        holds += trusted_mm is None or trusted_mm <= min(true)
        if min(true) >= BAR_NEEDS_MM:
            good += 1
            fits += trusted_mm is not None and trusted_mm >= BAR_NEEDS_MM
    return Outcome(holds / trials, fits / max(good, 1), clusters / trials)


def _true(surveys: Surveys, rng: random.Random, count: int) -> list[float]:
    """Cavities as they are [mm]; where lamps sit, none is shorter than a lamp lets it be."""
    middle = LAMP_MM + rng.uniform(0.6, 2.4)
    found: list[float] = []
    while len(found) < count:
        cavity = rng.gauss(middle, surveys.sigma_mm) + rng.choice((-0.5, 0.5)) * surveys.makes_apart_mm
        if not surveys.lamp_sits or cavity >= LAMP_GAUGE_MM:
            found.append(cavity)
    return found


def _read(surveys: Surveys, rng: random.Random, true: list[float], bias: float) -> Iterator[Cavity]:
    """Readings from the hook of one tape, whose error is the same each time; rounded to its divisions."""
    instrument, graduation, step = TAPES[surveys.tape]
    for cavity in true:
        identity = {
            "length_ticks": round(cavity * TICKS_PER_MM),
            "instrument": instrument,
            "graduation": graduation,
            "from_hook": True,
        }
        wrong = reading_uncertainty(identity, tables())
        shown = cavity * TICKS_PER_MM + bias * wrong.limit_ticks + rng.gauss(0, SETTING_MM * TICKS_PER_MM)
        length = round(shown / step) * step
        yield joined([(length, wrong.systematic_ticks, wrong.random_ticks, wrong.graduation_ticks)])


CONDITIONS = [
    Surveys(tape, sigma_mm, n, other_groups, lamp_sits)
    for lamp_sits in (False, True)
    for tape in TAPES
    for sigma_mm in (0.3, 0.6, 1.0)
    for n in (1, 2, 3, 4, 5, 6, 8, 10)
    for other_groups in (0, 6)
]
TWO_MAKES = [
    Surveys("millimetres", 0.4, n, lamp_sits=lamp_sits, makes_apart_mm=4)
    for n in (2, 4, 6, 10)
    for lamp_sits in (False, True)
]


def main(trials: int) -> None:
    """Print each condition with what came out."""
    for at, surveys in enumerate([*CONDITIONS, *TWO_MAKES]):
        out = simulate(surveys, trials, at)
        print(
            f"{surveys}: holds {out.holds:.3f}, a good bar fits {out.good_fits:.3f}, two clusters {out.clusters:.3f}"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 500)
