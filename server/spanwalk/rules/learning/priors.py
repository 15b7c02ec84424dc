"""From the numbers of closed sites to what another site may start from: the spread between cavities of a kind.

Model: a site's own variance is one draw of a scaled inverse chi-square distribution; its readings scatter with that
variance (Gelman et al., Bayesian Data Analysis, 2.6 and 5, from memory). The two parameters are estimated on the logarithm
of the sites' variances, as Smyth does (Linear models and empirical Bayes methods, Stat. Appl. Genet. Mol. Biol. 3 (2004)
art. 3, from memory), with three departures, each of which can only make the prior weaker: sites are weighted after
DerSimonian and Laird; the variance between sites is widened for the few sites that it is known from; and the prior never
counts for more than `MOST_DEGREES` readings. What is left out as odd lies so far off that usual sites keep their tails.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil, exp, floor, log, sqrt

from spanwalk.rules.judging.firm_numbers import FirmSpread
from spanwalk.rules.learning.pooling import pooled_means
from spanwalk.rules.learning.site_numbers import SPREAD, SiteNumber
from spanwalk.rules.learning.special import digamma, inverse_trigamma, trigamma

LEAST_SITES = 5
"""Fewer closed sites say too little of how much sites differ (common practice); and none of five can be told from the sum."""
LEAST_DEGREES = 2
"""Degrees of freedom of a site that counts: fewer give no variance worth the name (common practice)."""
MOST_DEGREES = 20
"""However alike the sites were, the next may be another (common practice)."""
WORTH_DEGREES = 3
"""A prior of fewer degrees changes nothing that anybody would notice (common practice)."""
ODD_AMONG = 10
"""At most one site in so many is left out as odd: more of them are no oddities, but how the firm's sites are (common practice)."""
ODD_FROM = 3.5
"""Standard deviations from the others beyond which one site in two thousand lies (normal distribution): a nearer limit would cut
off the tails of usual sites, and the prior would come out stronger than it is."""
TAPE_TICKS2 = 320 * 320 // 12
"""Variance that reading to a whole millimetre makes by itself [1/320 mm, squared]: no site reads narrower than that."""


@dataclass(frozen=True)
class SpreadPrior:
    """What a site may start from, and how many sites were left out as odd."""

    firm: FirmSpread
    left_out: int


def spread_prior(numbers: Sequence[SiteNumber]) -> SpreadPrior | None:
    """The spread of one kind over closed sites; None where too few sites tell of it, or they differ too much.

    A site is odd whose logarithm of the variance the others would show less than once in two thousand times, in
    either direction: the oddest is left out, and again, but never more than one in ten of them.

    Parameters
    ----------
    numbers : sequence of dict
        The spread of one key, one of each site; squares in 1/320 mm, squared.
    """
    counted = [each for each in numbers if each["of"] == SPREAD and each["degrees"] >= LEAST_DEGREES]
    may_go, left_out = len(counted) // ODD_AMONG, 0
    while left_out < may_go:
        odd = _oddest(counted)
        if odd is None:
            break
        counted = [each for each in counted if each is not odd]
        left_out += 1
    if len(counted) < LEAST_SITES:
        return None
    fitted = _fitted(counted)
    return None if fitted is None else SpreadPrior(fitted, left_out)


def _fitted(numbers: Sequence[SiteNumber]) -> FirmSpread | None:
    """The two parameters of the prior, the degrees rounded down, the squares up."""
    logs = _logs(numbers)
    over = pooled_means([each for each, _ in logs], [each for _, each in logs])
    few = (over.sites - 1) / (over.sites - 3)
    apart = max(over.between * few + over.variance_of_mean, trigamma(MOST_DEGREES / 2))
    degrees = min(floor(2 * inverse_trigamma(apart) + 1e-9), MOST_DEGREES)
    if degrees < WORTH_DEGREES:
        return None
    variance = exp(over.mean + digamma(degrees / 2) - log(degrees / 2))
    readings = sum(each["n"] for each in numbers)
    return FirmSpread(ceil(max(variance, TAPE_TICKS2) * degrees), degrees, over.sites, readings)


def _logs(numbers: Sequence[SiteNumber]) -> list[tuple[float, float]]:
    """Logarithm of each site's variance, without bias, and the variance that it has by its own readings."""
    half = [(each, each["degrees"] / 2) for each in numbers]
    return [(log(_variance(each)) - digamma(d) + log(d), trigamma(d)) for each, d in half]


def _variance(number: SiteNumber) -> float:
    """Variance between cavities of one site, no smaller than the tape makes it [1/320 mm, squared]."""
    return max(number["squares"] / number["degrees"], TAPE_TICKS2)


def _oddest(numbers: Sequence[SiteNumber]) -> SiteNumber | None:
    """The site that lies farthest from the others, if it is odd against them."""
    found, logs = [], _logs(numbers)
    for at, (value, own) in enumerate(logs):
        rest = [*logs[:at], *logs[at + 1 :]]
        over = pooled_means([each for each, _ in rest], [each for _, each in rest])
        found.append((abs(value - over.mean) / sqrt(own + over.between + over.variance_of_mean), at))
    farthest, at = max(found)
    return numbers[at] if farthest > ODD_FROM else None


def spread_priors(sites: Iterable[Sequence[SiteNumber]]) -> dict[str, SpreadPrior]:
    """What a site may start from, by key.

    Parameters
    ----------
    sites : iterable of sequence
        Numbers of each closed site that gives them; squares in 1/320 mm, squared.
    """
    by_key: dict[str, list[SiteNumber]] = {}
    for numbers in sites:
        for each in numbers:
            if each["of"] == SPREAD:
                by_key.setdefault(each["key"], []).append(each)
    found = {key: spread_prior(by_key[key]) for key in sorted(by_key)}
    return {key: prior for key, prior in found.items() if prior is not None}


__all__ = ["LEAST_SITES", "MOST_DEGREES", "SpreadPrior", "spread_prior", "spread_priors"]
