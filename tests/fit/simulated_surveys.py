"""Pretended surveys of cavities that are known: does the trusted cavity hold, and do good bars come out as 'fits'?

`python -m tests.fit.simulated_surveys [trials]` prints the whole table; the test looks at a part of it.
"""

from __future__ import annotations

import math
import random
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from spanwalk.reference import tables
from spanwalk.rules.fit.cavity import Cavity, Sample, joined, pooled, spread_of, trusted_cavity
from spanwalk.rules.fit.fit import Surroundings, fit_row
from spanwalk.rules.measuring.instruments import reading_uncertainty
from spanwalk.rules.measuring.reading_sense import questions

TICKS_PER_MM = 320
LAMP_MM = 1199.4
"""Longest 4 ft T8, cap face to cap face (IEC 60081, from memory)."""
LAMP_GAUGE_MM = 1195.0
"""What a lamp that sits proves: 1199.4 - 2.4 - 2 mm of spring-back."""
LAMPS = {"diameter": "T8", "cap": "G13", "nominal_ft": "4-ft"}
BAR = {
    "length_ticks": 1189 * TICKS_PER_MM,
    "tolerance_ticks": 160,
    "joint_ticks": 0,
    "end_gap_ticks": 2 * TICKS_PER_MM,
    "cover": "none",
    "rise_k": 15,
}
"""1,189 mm with 0.5 mm tolerance and 2 mm at each end; with 0.7 mm of growth it needs 1,194.2 mm."""
AROUND = Surroundings("steel", 10, 40)
SOUND_MM = (LAMP_MM - 2.4, LAMP_MM + 3)
"""Sockets that are as they should be for this lamp; about no other does 'a good reading' say anything."""
SETTING_MM = 0.3
TAPES = {
    "sixteenths": ("us-tape", "1-16-in", 508),
    "millimetres": ("tape-class-ii", "1-mm", 320),
    "half millimetres": ("tape-class-i", "0.5-mm", 160),
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
    """Shares of surveys, and of readings.

    `holds`: the trusted cavity is no longer than any (or nothing is claimed). `fits`, `tight` and `cannot_tell`: what a
    bar that goes into every cavity is called. `clusters`: held back as two makes. `asked`: good readings asked about.
    """

    holds: float
    fits: float
    tight: float
    cannot_tell: float
    clusters: float
    asked: float


def simulate(surveys: Surveys, trials: int, seed: int) -> Outcome:
    """Survey `trials` groups of known cavities."""
    rng, factors = random.Random(seed), tables()["prediction"]
    counts: Counter[str] = Counter()
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
        fit = fit_row(found, [BAR], AROUND, tables()["expansion"])
        counts[found["status"]] += 1
        counts["holds"] += found["status"] != "known" or found["trusted_ticks"] <= min(true) * TICKS_PER_MM
        sound = [
            cavity
            for cavity, length in zip(sample.cavities, true, strict=False)
            if SOUND_MM[0] <= length <= SOUND_MM[1]
        ]
        counts["sound"] += len(sound)
        counts["asked"] += sum(
            bool(questions(each.length_ticks, LAMPS, each.expanded_ticks, tables())) for each in sound
        )
        if min(true) * TICKS_PER_MM >= fit["terms"]["needed_ticks"]:
            counts.update(["good", f"good: {fit['verdict']}"])
    good = max(counts["good"], 1)
    verdicts = (counts[f"good: {verdict}"] / good for verdict in ("fits", "tight", "cannot tell"))
    return Outcome(
        counts["holds"] / trials, *verdicts, counts["two clusters"] / trials, counts["asked"] / max(counts["sound"], 1)
    )


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


SPREADS_MM = (0.3, 0.6, 1.0, 1.5)
CONDITIONS = [
    Surveys(tape, sigma_mm, n, other_groups, lamp_sits)
    for lamp_sits in (False, True)
    for tape in TAPES
    for sigma_mm in SPREADS_MM
    for other_groups in (0, 6)
    for n in range(1, 11)
]
TWO_MAKES = [
    Surveys(tape, 0.4, n, lamp_sits=lamp_sits, makes_apart_mm=4)
    for lamp_sits in (False, True)
    for tape in TAPES
    for n in range(1, 11)
]
HOLDS = 0.95


def strays(trials: int) -> float:
    """Three standard deviations of a share of 95 % over so many surveys."""
    return 3 * math.sqrt(HOLDS * (1 - HOLDS) / trials)


def main(trials: int) -> int:
    """Print a row for each condition; 1 where the trusted cavity holds in clearly fewer than 95 % of its surveys."""
    print(
        "tape | spread mm | makes | other groups | lamp sits | read | holds % | good: fits % | tight % | cannot tell % | two clusters % | good readings asked %"
    )
    print("|".join(["---"] * 12))
    failing = []
    for at, surveys in enumerate([*CONDITIONS, *TWO_MAKES]):
        out = simulate(surveys, trials, at)
        makes = f"two, {surveys.makes_apart_mm} mm apart" if surveys.makes_apart_mm else "one"
        said = [
            surveys.tape,
            surveys.sigma_mm,
            makes,
            surveys.other_groups,
            "yes" if surveys.lamp_sits else "no",
            surveys.n,
        ]
        shares = (out.holds, out.fits, out.tight, out.cannot_tell, out.clusters, out.asked)
        print(" | ".join([*map(str, said), *(f"{100 * share:.1f}" for share in shares)]), flush=True)
        failing += [surveys] if out.holds < HOLDS - strays(trials) else []
    print(
        f"{trials} surveys a row; the trusted cavity holds in clearly fewer than 95 % of {len(failing)} rows",
        *failing,
        sep="\n",
    )
    return bool(failing)


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 500))
