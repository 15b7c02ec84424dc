"""Which cavities are to be read again, so that a survey read badly is found out; and what the second readings say.

Single sampling by attributes, the plan stated by its two risks; its operating characteristic is worked out here, not looked
up. A reading is wrong when its repeat differs by more than both tapes and hands explain.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, comb, sqrt

PER_CENT = 100
ONE_SIDED_95 = 1.6449
"""Standard deviations that an expanded uncertainty holds: see `instruments.reading_uncertainty`."""
TWO_SIDED_99 = 2.5758
"""Standard deviations within which ninety-nine differences in a hundred lie where nothing is wrong."""
PAIRS_LEAST = 5
"""From so many pairs on their spread is held against what was assumed (own choice)."""


@dataclass(frozen=True)
class Risks:
    """What a plan is stated by.

    Parameters
    ----------
    good_pct, bad_pct : float
        Share of wrong readings that is still good, and that is bad [%].
    good_refused_pct, bad_accepted_pct : float
        Most chance that a good lot is refused, and that a bad one is accepted [%].
    """

    good_pct: float = 1.0
    bad_pct: float = 10.0
    good_refused_pct: float = 5.0
    bad_accepted_pct: float = 10.0


@dataclass(frozen=True)
class Plan:
    """How many of a lot are read again, and how many of them may be wrong.

    Parameters
    ----------
    lot : int
        Readings in the lot.
    sample : int
        To be read again.
    most_wrong : int
        Accepted with up to so many wrong.
    """

    lot: int
    sample: int
    most_wrong: int

    def accepted(self, wrong: int) -> float:
        """Chance that a lot with so many wrong readings is accepted."""
        return accepted(self.lot, wrong, self.sample, self.most_wrong)


def accepted(lot: int, wrong: int, sample: int, most_wrong: int) -> float:
    """Chance of at most so many wrong ones in a sample without putting back (hypergeometric).

    Parameters
    ----------
    lot : int
        How many are in the lot [readings].
    wrong : int
        How many of them are wrong [readings].
    sample : int
        How many are read again [readings].
    most_wrong : int
        With how many wrong ones the lot is accepted [readings].

    Examples
    --------
    Of ten with two wrong, four are read again: none wrong in 70 of 210 samples.

    >>> round(accepted(10, 2, 4, 0), 4)
    0.3333

    References
    ----------
    .. [1] Hypergeometric distribution, as in ISO 2859-2 for isolated lots (its tables not read); definition from memory.
    """
    ways = sum(comb(wrong, k) * comb(lot - wrong, sample - k) for k in range(min(most_wrong, sample, wrong) + 1))
    return ways / comb(lot, sample)


def plan_for(lot: int, risks: Risks) -> Plan:
    """The smallest sample that keeps both risks; all of the lot where no smaller one does.

    Parameters
    ----------
    lot : int
        How many are in the lot [readings].
    risks : Risks
        What it is stated by.

    Examples
    --------
    >>> plan_for(100_000, Risks(0.0, 10.0))
    Plan(lot=100000, sample=22, most_wrong=0)
    """
    if lot == 0:
        return Plan(0, 0, 0)
    good, bad = int(lot * risks.good_pct / PER_CENT), max(1, ceil(lot * risks.bad_pct / PER_CENT))
    for most_wrong in range(bad):
        sample = _smallest(lot, bad, most_wrong, risks.bad_accepted_pct / PER_CENT)
        if sample >= lot:
            break
        if accepted(lot, good, sample, most_wrong) >= 1 - risks.good_refused_pct / PER_CENT:
            return Plan(lot, sample, most_wrong)
    return Plan(lot, lot, min(good, bad - 1))


def _smallest(lot: int, bad: int, most_wrong: int, most: float) -> int:
    """The smallest sample with which a bad lot is accepted no oftener than this; more read, less often accepted."""
    low, high = most_wrong + 1, lot
    while low < high:
        middle = (low + high) // 2
        if accepted(lot, bad, middle, most_wrong) <= most:
            high = middle
        else:
            low = middle + 1
    return low


def curve(plan: Plan, shares_pct: Sequence[float]) -> list[tuple[float, float]]:
    """The operating characteristic: share of wrong readings [%], and the chance that the lot is accepted.

    Parameters
    ----------
    plan : Plan
        The plan.
    shares_pct : sequence of float
        Shares of wrong readings [%]; the number of wrong ones is rounded up.
    """
    return [(share, plan.accepted(min(plan.lot, ceil(plan.lot * share / PER_CENT)))) for share in shares_pct]


@dataclass(frozen=True)
class Pair:
    """A reading and its repeat.

    Parameters
    ----------
    first_ticks, again_ticks : int
        Lengths [1/320 mm].
    first_expanded_ticks, again_expanded_ticks : int
        Expanded uncertainty of each, one-sided 95 % [1/320 mm].
    random_ticks : int
        Random part of the greater, one-sided 95 % [1/320 mm].
    """

    first_ticks: int
    again_ticks: int
    first_expanded_ticks: int
    again_expanded_ticks: int
    random_ticks: int

    @property
    def off_ticks(self) -> int:
        """By how much they differ [1/320 mm]."""
        return abs(self.first_ticks - self.again_ticks)

    @property
    def is_wrong(self) -> bool:
        """Whether they differ by more than ninety-nine in a hundred pairs do where nothing is wrong.

        >>> Pair(384_000, 384_640, 320, 320, 200).is_wrong, Pair(384_000, 384_800, 320, 320, 200).is_wrong
        (False, True)
        """
        both = sqrt(self.first_expanded_ticks**2 + self.again_expanded_ticks**2)
        return self.off_ticks > both * TWO_SIDED_99 / ONE_SIDED_95


@dataclass(frozen=True)
class Repeatability:
    """Spread of repeated readings beside what was assumed, one standard deviation [1/320 mm].

    `is_greater` says that it is more than chance explains; None with too few pairs to tell.
    """

    pairs: int
    seen_ticks: int
    assumed_ticks: int
    is_greater: bool | None


def repeatability(pairs: Sequence[Pair]) -> Repeatability | None:
    """Spread of one reading by its repeats; None without any.

    The variance of one reading is half the mean square of the differences. It is held against what the tape's divisions
    and the hand were assumed to give by the chi-square distribution at 95 %.

    Parameters
    ----------
    pairs : sequence of Pair
        Readings and their repeats [1/320 mm].

    Examples
    --------
    >>> repeatability([Pair(0, 320, 600, 600, 329), Pair(0, 320, 600, 600, 329)])
    Repeatability(pairs=2, seen_ticks=227, assumed_ticks=201, is_greater=None)

    References
    ----------
    .. [1] Standard deviation of duplicates, √(Σd² / 2k) (textbooks on measurement, from memory).
    .. [2] E. B. Wilson, M. M. Hilferty, The distribution of chi-square, PNAS 17 (1931) 684: the quantile (from memory).
    """
    if not pairs:
        return None
    seen = sqrt(sum(each.off_ticks**2 for each in pairs) / (2 * len(pairs)))
    assumed = max(each.random_ticks for each in pairs) / ONE_SIDED_95
    enough = len(pairs) >= PAIRS_LEAST and assumed > 0
    greater = len(pairs) * (seen / assumed) ** 2 > chi_square_95(len(pairs)) if enough else None
    return Repeatability(len(pairs), ceil(seen), ceil(assumed), greater)


def chi_square_95(degrees: int) -> float:
    """The value that chi-square stays below in ninety-five of a hundred cases, to about one in a hundred.

    Parameters
    ----------
    degrees : int
        Degrees of freedom.

    Examples
    --------
    >>> round(chi_square_95(10), 1)
    18.3
    """
    part = 2 / (9 * degrees)
    return degrees * (1 - part + ONE_SIDED_95 * sqrt(part)) ** 3


__all__ = [
    "Pair",
    "Plan",
    "Repeatability",
    "Risks",
    "accepted",
    "chi_square_95",
    "curve",
    "plan_for",
    "repeatability",
]
