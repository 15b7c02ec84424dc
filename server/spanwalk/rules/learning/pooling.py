"""Numbers of many sites as one: a mean, how sure it is, and how much sites differ among themselves.

Between-site variance after DerSimonian and Laird (Controlled Clinical Trials 7 (1986) 177, from memory): whatever sites
differ by more than their own readings explain.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt


@dataclass(frozen=True)
class Pooled:
    """A mean over sites with its variance, and the variance between sites; in the unit of what went in, and its square."""

    mean: float
    variance_of_mean: float
    between: float
    sites: int


def pooled_means(means: Sequence[float], variances: Sequence[float]) -> Pooled:
    """Random-effects mean of several sites.

    Parameters
    ----------
    means : sequence of float
        One of each site, in any unit; not empty.
    variances : sequence of float
        Variance of each of them by its own readings, above 0, in the square of that unit.

    Examples
    --------
    Two sites alike: nothing lies between them.

    >>> pooled_means([10.0, 10.0], [1.0, 1.0])
    Pooled(mean=10.0, variance_of_mean=0.5, between=0.0, sites=2)
    """
    weights = [1 / each for each in variances]
    total = sum(weights)
    fixed = sum(weight * mean for weight, mean in zip(weights, means, strict=True)) / total
    q = sum(weight * (mean - fixed) ** 2 for weight, mean in zip(weights, means, strict=True))
    room = total - sum(weight**2 for weight in weights) / total
    between = max(0.0, (q - (len(means) - 1)) / room) if len(means) > 1 else 0.0
    weights = [1 / (each + between) for each in variances]
    total = sum(weights)
    mean = sum(weight * each for weight, each in zip(weights, means, strict=True)) / total
    return Pooled(mean, 1 / total, between, len(means))


@dataclass(frozen=True)
class PooledShare:
    """A share over sites, and the standard deviation of the sites' own shares about it; both from 0 to 1."""

    share: float
    between_share: float
    sites: int


def pooled_share(counts: Sequence[tuple[int, int]]) -> PooledShare:
    """Share over sites by a beta-binomial distribution, its two parameters by their moments.

    Parameters
    ----------
    counts : sequence of tuple
        Of each site how many it was of, and how many there were [numbers]; not empty, there was at least one.

    Examples
    --------
    >>> pooled_share([(1, 10), (1, 10), (1, 10)])
    PooledShare(share=0.1, between_share=0.0, sites=3)

    References
    ----------
    .. [1] Kleinman, Proportions with extraneous variance, J. Am. Stat. Assoc. 68 (1973) 46 (from memory).
    """
    every = sum(n for _, n in counts)
    share = sum(hits for hits, _ in counts) / every
    if len(counts) == 1:
        return PooledShare(share, 0.0, len(counts))
    chance = (len(counts) - 1) * share * (1 - share)
    room = every - sum(n * n for _, n in counts) / every - (len(counts) - 1)
    seen = sum(n * (hits / n - share) ** 2 for hits, n in counts)
    between = (seen - chance) / room if room > 0 else 0.0
    return PooledShare(share, sqrt(min(max(between, 0.0), share * (1 - share))), len(counts))


__all__ = ["Pooled", "PooledShare", "pooled_means", "pooled_share"]
