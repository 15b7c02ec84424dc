"""Firms whose cavities are known: what do they learn from closed sites, and what does it save, and risk, at the next ones?

`python -m tests.learning.simulated_firms [firms]` prints the learning table of each sort of firm, and what it changes at sites
that were held out. Each group is read cavity by cavity until the bar is said to fit, or `MOST_READ` were read, once without
and once with the firm's numbers: the same cavities in the same order.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from math import exp

from scipy.stats import beta as beta_distribution

from spanwalk.reference import tables
from spanwalk.rules.fit.cavity import Cavity, Sample, Spread, joined, pooled, spread_of, trusted_cavity
from spanwalk.rules.judging.firm_numbers import FirmSpread
from spanwalk.rules.learning.priors import SpreadPrior, spread_priors
from spanwalk.rules.learning.site_numbers import SiteNumber
from spanwalk.rules.measuring.instruments import reading_uncertainty

TICKS_PER_MM = 320
MEAN_MM = 1200.0
MOST_READ = 12
KEY = "T8/4-ft"
TAPE = {"instrument": "tape-class-ii", "graduation": "1-mm", "from_hook": True}


@dataclass(frozen=True)
class Firm:
    """One sort of firm: spread within groups of a usual site [mm], how much sites differ (of its logarithm), odd sites.

    `odd_share` of its sites have cavities that differ `odd_times` as much; `odd_learnt` says whether such sites are among
    the closed ones too, or come only later.
    """

    name: str
    sigma_mm: float = 0.8
    sites_differ: float = 0.25
    odd_share: float = 0.0
    odd_times: float = 3.0
    odd_learnt: bool = True
    closed: int = 12
    held_out: int = 20
    groups: int = 2
    copied: int = 0
    """Closed sites in which somebody wrote the first reading down again and again."""


FIRMS = (
    Firm("sites much alike", sites_differ=0.1),
    Firm("sites as usual"),
    Firm("sites that differ", sites_differ=0.6),
    Firm("one site in ten is odd", odd_share=0.1),
    Firm("odd sites come only later", odd_share=0.1, odd_learnt=False),
    Firm("all later sites are odd", odd_share=1.0, odd_learnt=False),
    Firm("all later sites are half as wide again", odd_share=1.0, odd_times=1.5, odd_learnt=False),
    Firm("all later sites are twice as wide", odd_share=1.0, odd_times=2.0, odd_learnt=False),
    Firm("sites much alike, later ones three times as wide", sites_differ=0.1, odd_share=1.0, odd_learnt=False),
    Firm("five closed sites", closed=5),
    Firm("one closed site in twelve copied its readings", copied=1),
)


@dataclass
class Told:
    """Counts over groups of held-out sites, without and with the firm's numbers."""

    groups: int = 0
    priors: list[SpreadPrior | None] = field(default_factory=list)
    readings: list[int] = field(default_factory=lambda: [0, 0])
    fits: list[int] = field(default_factory=lambda: [0, 0])
    wrong: list[int] = field(default_factory=lambda: [0, 0])
    good: int = 0

    def bounds(self, with_firm: int) -> tuple[float, float]:
        """95 % limits of the share of groups with a wrong 'fits' (Clopper and Pearson)."""
        hits, n = self.wrong[with_firm], self.groups
        low = 0.0 if hits == 0 else float(beta_distribution.ppf(0.025, hits, n - hits + 1))
        return low, float(beta_distribution.ppf(0.975, hits + 1, n - hits))


def simulate(firm: Firm, firms: int, seed: int) -> Told:
    """So many firms of one sort, each with its closed sites and its held-out ones."""
    rng, told = random.Random(seed), Told()
    for _ in range(firms):
        closed = [closed_site(firm, rng, at < firm.copied) for at in range(firm.closed)]
        prior = spread_priors(closed).get(KEY)
        told.priors.append(prior)
        for _ in range(firm.held_out):
            _held_out(firm, rng, prior, told)
    return told


def closed_site(firm: Firm, rng: random.Random, copied: bool = False) -> list[SiteNumber]:
    """The numbers of one closed site: four groups, three to eight readings in each."""
    sigma = _sigma(firm, rng, firm.odd_share if firm.odd_learnt else 0.0)
    spreads = []
    for _ in range(4):
        lengths = [each.length_ticks for each in _read(rng, _true(rng, sigma, rng.randint(3, 8)))]
        spreads.append(spread_of(lengths[:1] * len(lengths) if copied else lengths))
    whole = pooled(spreads)
    n = whole.degrees + len(spreads)
    squares = int(whole.squares_ticks2)
    return [{"of": "spread", "key": KEY, "n": n, "total": 0, "squares": squares, "degrees": whole.degrees}]


def _held_out(firm: Firm, rng: random.Random, prior: SpreadPrior | None, told: Told) -> None:
    sigma = _sigma(firm, rng, firm.odd_share)
    for _ in range(firm.groups):
        true = _true(rng, sigma, rng.choice((16, 24, 40)))
        needed = round((sum(true) / len(true) - rng.uniform(2, 7) * firm.sigma_mm) * TICKS_PER_MM)
        read, is_good = _read(rng, true[:MOST_READ]), min(true) * TICKS_PER_MM >= needed
        told.groups += 1
        told.good += is_good
        for at, firm_spread in enumerate((None, prior.firm if prior else None)):
            n, fits = _surveyed(read, len(true), needed, firm_spread)
            told.readings[at] += n
            told.fits[at] += fits
            told.wrong[at] += fits and not is_good


def _surveyed(read: list[Cavity], population: int, needed: int, firm: FirmSpread | None) -> tuple[int, bool]:
    """After how many readings the survey ends, and whether the bar is said to fit."""
    for n in range(2, len(read) + 1):
        sample = Sample(tuple(read[:n]), population, elsewhere=Spread(0, 0), firm=firm)
        found = trusted_cavity(sample, tables()["prediction"])
        trusted = found["trusted_ticks"] if found["status"] == "known" else None
        if trusted is not None and trusted >= needed:
            return n, True
    return len(read), False


def _sigma(firm: Firm, rng: random.Random, odd_share: float) -> float:
    odd = firm.odd_times if rng.random() < odd_share else 1.0
    return firm.sigma_mm * exp(rng.gauss(0, firm.sites_differ)) * odd


def _true(rng: random.Random, sigma_mm: float, count: int) -> list[float]:
    middle = MEAN_MM + rng.uniform(-1, 1)
    return [rng.gauss(middle, sigma_mm) for _ in range(count)]


def _read(rng: random.Random, true: list[float]) -> list[Cavity]:
    """Readings to a millimetre with one tape, whose error is the same each time."""
    bias, found = rng.uniform(-1, 1), []
    for cavity_mm in true:
        wrong = reading_uncertainty({**TAPE, "length_ticks": round(cavity_mm * TICKS_PER_MM)}, tables())
        shown_mm = cavity_mm + bias * wrong.limit_ticks / TICKS_PER_MM + rng.gauss(0, 0.2)
        length = round(shown_mm) * TICKS_PER_MM
        found.append(joined([(length, wrong.systematic_ticks, wrong.random_ticks, wrong.graduation_ticks)]))
    return found


def rows(firms: int) -> Iterator[list[str]]:
    """A row for each sort of firm."""
    for at, firm in enumerate(FIRMS):
        told = simulate(firm, firms, 17 + at)
        known = [each for each in told.priors if each is not None]
        degrees = sum(each.firm.degrees for each in known) / max(len(known), 1)
        spread = sum((each.firm.squares_ticks2 / each.firm.degrees) ** 0.5 for each in known) / max(len(known), 1)
        left_out = sum(each.left_out for each in known)
        limits = ["-".join(f"{100 * each:.2f}" for each in told.bounds(which)) for which in (0, 1)]
        yield [
            firm.name,
            f"{len(known)}/{firms}",
            f"{spread / TICKS_PER_MM:.2f}",
            f"{degrees:.1f}",
            str(left_out),
            str(told.groups),
            *(f"{each / told.groups:.2f}" for each in told.readings),
            *(f"{100 * each / told.groups:.1f}" for each in told.fits),
            *(f"{each} ({limit})" for each, limit in zip(told.wrong, limits, strict=True)),
        ]


HEADS = (
    "firm | with numbers | spread mm | degrees | odd left out | groups held out | readings without | with | fits % without | with "
    "| wrong fits without (95 % limits, %) | with"
)


def main(firms: int) -> None:
    """Print the table."""
    print(HEADS)
    print("|".join(["---"] * len(HEADS.split("|"))))
    for row in rows(firms):
        print(" | ".join(row), flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10)
