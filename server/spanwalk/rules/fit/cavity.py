"""How long is every cavity of a group, at least, from the few that were read? Twin: pwa/rules/fit/cavity.js.

One-sided 95 % throughout. Cavities are rounded down, spreads and margins up; lengths are ticks of 1/320 mm.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import cast

from spanwalk.rules import constants
from spanwalk.rules.fit.prediction import could_be_shorter, factor_thousandths
from spanwalk.rules.fit.spring_back import SpringBack
from spanwalk.rules.integer_math import ceil_div, ceil_sqrt
from spanwalk.rules.judging.firm_numbers import OWN_DEGREES, FirmSpread, is_odd
from spanwalk.rules.judging.judgement_types import Bought, CavityTerms, Limit, Trusted
from spanwalk.rules.record_view import Table
from spanwalk.rules.said import Said

LEAST_GAP_TICKS = constants.LEAST_GAP_TICKS
"""Two makes of socket stand at least 2 mm apart; less is one make, loosely fitted (common practice)."""
GAP_TO_RANGE = constants.GAP_TO_RANGE
"""The gap between two clusters is more than twice as wide as either cluster (common practice)."""
CLUSTER_LEAST = constants.CLUSTER_LEAST
"""One cavity by itself is a bent pair or a slip, not a make."""
MOST_MORE = constants.MOST_MORE
"""Nobody reads more than a hundred further cavities; beyond that, only reading all of them is of use."""
BASES = constants.BASES
"""What a trusted cavity rests on; of equal lengths the later is named."""
HELD_BY = {
    "cavity.two-clusters": "two clusters",
    "cavity.two-makes-seen": "two clusters",
    "cavity.reading-asked": "reading asked",
}
"""Status of a cavity whose verdict is held back, by the first reason."""
FIRST_READINGS = constants.FIRST_READINGS
"""Where nothing was read: two give a spread, a third shows whether one of them is wild (common practice)."""


@dataclass(frozen=True)
class Cavity:
    """One cavity that was read, all its readings joined.

    `inside` is false where its fixture or row is not among those counted: it tells of the kind, but is none of
    the population.
    """

    length_ticks: int
    systematic_ticks: int
    expanded_ticks: int
    graduation_ticks: int
    inside: bool = True


@dataclass(frozen=True)
class Spread:
    """Sum of squares [1/320 mm, squared] about the mean, and its degrees of freedom."""

    squares_ticks2: int
    degrees: int


@dataclass(frozen=True)
class Sample:
    """What is known of the cavities of one group.

    `elsewhere` is the spread within the other groups of the kind; `gauged_ticks` are lengths that a go gauge
    proved, less its error; `stopped_ticks` those that a gauge did not pass, in cavities without a reading;
    `lamp_ticks` is what the lamps sitting in the rows prove, by a `spring_back`; `spread_floor_ticks` is the site's;
    `asked` readings wait for a confirmation and are none of the cavities; `firm` is what the firm's closed sites say of the
    spread, where the site takes it.
    """

    cavities: tuple[Cavity, ...]
    population: int | None
    elsewhere: Spread = Spread(0, 0)
    spread_floor_ticks: int = 0
    lamp_ticks: int | None = None
    alike: str = "not-sure"
    gauged_ticks: tuple[int, ...] = ()
    stopped_ticks: tuple[int, ...] = ()
    spring_back: SpringBack | None = None
    asked: int = 0
    firm: FirmSpread | None = None


def joined(readings: Sequence[tuple[int, int, int, int]], inside: bool = True) -> Cavity:
    """Several readings of one cavity as one.

    The mean, not the shortest: careful people who read twice must not be punished by the lower of two honest
    readings. What is random falls with the number of readings, what is systematic stays.

    Parameters
    ----------
    readings : sequence of tuple
        Length, systematic part, random part and smallest division of each reading [1/320 mm]; not empty.
    inside : bool
        Whether the cavity is one of those counted.

    Examples
    --------
    >>> joined([(384_000, 240, 300, 508), (384_320, 240, 300, 508)]).length_ticks
    384160
    """
    lengths, systematics, randoms, graduations = zip(*readings, strict=True)
    systematic, n = max(systematics), len(readings)
    expanded = ceil_sqrt(systematic**2 + ceil_div(max(randoms) ** 2, n))
    return Cavity(sum(lengths) // n, systematic, expanded, max(graduations), inside)


def spread_of(lengths_ticks: Sequence[int]) -> Spread:
    """Spread within one group, about its mean rounded down, which can only make it greater.

    Parameters
    ----------
    lengths_ticks : sequence of int
        Lengths of different cavities [1/320 mm].

    Examples
    --------
    >>> spread_of([384_000, 384_320])
    Spread(squares_ticks2=51200, degrees=1)
    """
    if not lengths_ticks:
        return Spread(0, 0)
    mean = sum(lengths_ticks) // len(lengths_ticks)
    return Spread(sum((each - mean) ** 2 for each in lengths_ticks), len(lengths_ticks) - 1)


def pooled(spreads: Iterable[Spread]) -> Spread:
    """Spreads of several groups as one."""
    every = list(spreads)
    return Spread(sum(each.squares_ticks2 for each in every), sum(each.degrees for each in every))


def without(whole: Spread, part: Spread) -> Spread:
    """What is left of pooled spreads when one of them is taken out: that of the other groups of a kind.

    Examples
    --------
    >>> without(pooled([Spread(51_200, 1), Spread(800, 2)]), Spread(800, 2))
    Spread(squares_ticks2=51200, degrees=1)
    """
    return Spread(whole.squares_ticks2 - part.squares_ticks2, whole.degrees - part.degrees)


def gap_between_clusters(lengths_ticks: Sequence[int]) -> int | None:
    """Gap between two clusters of lengths, as two makes of socket would leave; None where there is one cluster.

    Parameters
    ----------
    lengths_ticks : sequence of int
        Lengths of different cavities of a group [1/320 mm].

    Returns
    -------
    int or None
        Gap [1/320 mm]: at least 2 mm, more than twice either cluster's range, two cavities on each side.

    Examples
    --------
    >>> gap_between_clusters([383_000, 383_000, 384_500, 384_500]), gap_between_clusters([383_000, 384_500, 384_500])
    (1500, None)
    """
    ordered = sorted(lengths_ticks)
    gaps = [(ordered[at] - ordered[at - 1], at) for at in range(CLUSTER_LEAST, len(ordered) - CLUSTER_LEAST + 1)]
    if not gaps:
        return None
    gap, at = max(gaps)
    widest = max(ordered[at - 1] - ordered[0], ordered[-1] - ordered[at])
    return gap if gap >= LEAST_GAP_TICKS and gap > GAP_TO_RANGE * widest else None


def trusted_cavity(sample: Sample, factors: Table) -> Trusted:
    """The length that every cavity of a group has, at 95 %.

    All read: the shortest less its uncertainty. Some read: mean - r s, never above the shortest, less the
    systematic part of the uncertainty (what is random is already in s); or what the lamps prove, if that is more.
    Never above the shortest reading less its uncertainty.

    Parameters
    ----------
    sample : Sample
        The group's cavities [1/320 mm] and what is known beside them.
    factors : mapping
        `prediction.json`.

    Returns
    -------
    dict
        `status` ('known', 'two clusters', 'reading asked', 'cannot tell'), `trusted_ticks` and `basis` ('all', 'sample',
        'lamp') or null, `read_ticks` and `read_basis` (the same without the lamp), `spring_back` (how the holders' yielding
        is known: 'measured', 'site', 'usual') or null where the lamp is no gauge, `n` cavities read, `m` not read, `population`, `terms` with each number, `reasons` as codes and facts,
        `could_be_shorter` (without a distribution) or null.

    References
    ----------
    .. [1] ISO 16269-8:2004, prediction of all m future observations (scope read, tables integrated anew).
    .. [2] JCGM 100:2008 for the uncertainty of one reading.
    """
    m = not_read(sample)
    limit = _limit(sample, m, 0, factors)
    bounds = [] if m is None else _bounds(sample, m, factors)
    holding = [*_two_makes(sample, m), *_asked(sample)]
    best, read = _greatest(bounds), _greatest([bound for bound in bounds if bound[1] != "lamp"])
    return {
        "status": HELD_BY[holding[0]["code"]] if bounds and holding else "known" if bounds else "cannot tell",
        "trusted_ticks": best[0],
        "basis": best[1],
        "read_ticks": read[0],
        "read_basis": read[1],
        "spring_back": sample.spring_back.how if sample.spring_back else None,
        "n": len(sample.cavities),
        "m": m,
        "population": sample.population,
        "terms": {**_terms(sample), **(limit or {}), **_gap(holding)},
        "reasons": [*holding, *([] if bounds else _why_unknown(sample, m))],
        "could_be_shorter": _converse(sample, m),
    }


def _greatest(bounds: Sequence[tuple[int, str]]) -> tuple[int | None, str | None]:
    """The greatest of what is proved, and what it rests on."""
    return max(bounds, key=lambda bound: (bound[0], BASES.index(bound[1])), default=(None, None))


def measure_more(sample: Sample, needed_ticks: int, factors: Table) -> int | None:
    """How many further cavities to read until a bar fits, if they read like those so far.

    Parameters
    ----------
    sample : Sample
        The group's cavities [1/320 mm].
    needed_ticks : int
        Cavity that the bar needs, all margins in it [1/320 mm].
    factors : mapping
        `prediction.json`.

    Returns
    -------
    int or None
        Fewest further cavities; all that are left where no sample is enough; None where reading does not help.
    """
    m = not_read(sample)
    if not m:
        return None
    if not sample.cavities:
        return min(FIRST_READINGS, m)
    if _shortest_trusted(sample) < needed_ticks:
        return None
    for more in range(1, min(m, MOST_MORE + 1)):
        limit = _limit(sample, m - more, more, factors)
        if limit is not None and limit["limit_ticks"] >= needed_ticks:
            return more
    return m


def by_gauge(sample: Sample, needed_ticks: int, factors: Table) -> int | None:
    """How many cavities without a reading a go gauge has to pass until a bar fits.

    Parameters
    ----------
    sample : Sample
        The group's cavities [1/320 mm].
    needed_ticks : int
        Cavity that the bar needs, all margins in it [1/320 mm]; what the gauge proves is no less.
    factors : mapping
        `prediction.json`.

    Returns
    -------
    int or None
        Fewest cavities, so that the limit for those neither read nor gauged reaches it; None where a gauge does not help.
    """
    m = not_read(sample)
    if not m or sample.stopped_ticks or (sample.cavities and _shortest_trusted(sample) < needed_ticks):
        return None
    gauged = sum(1 for each in sample.gauged_ticks if each >= needed_ticks)
    for more in range(1, min(m - gauged, MOST_MORE + 1)):
        limit = _limit(sample, m - gauged - more, 0, factors)
        if limit is not None and limit["limit_ticks"] >= needed_ticks:
            return more
    return max(m - gauged, 0)


def bought_by(sample: Sample, more: int, factors: Table) -> Bought:
    """What reading so many more cavities buys, if they read like those so far.

    Parameters
    ----------
    sample : Sample
        The group's cavities [1/320 mm]; its population is known.
    more : int
        Further cavities of the population [cavities].
    factors : mapping
        `prediction.json`.

    Returns
    -------
    dict
        `trusted_ticks` by then, or null; `m` cavities still not read; `could_be_shorter` of these, without a distribution.
    """
    m = not_read(sample) or 0
    left, inside = max(m - more, 0), sum(1 for each in sample.cavities if each.inside)
    limit = _limit(sample, left, more, factors)
    tops = [_shortest_trusted(sample)] if sample.cavities and (limit is not None or left == 0) else []
    proved = [*tops, *([] if limit is None else [limit["limit_ticks"]])]
    return {
        "trusted_ticks": min(proved, default=None),
        "m": left,
        "could_be_shorter": could_be_shorter(inside + m, inside + m - left),
    }


def not_read(sample: Sample) -> int | None:
    """Cavities of the population that were not read; None where nobody counted."""
    inside = sum(1 for each in sample.cavities if each.inside)
    return None if sample.population is None else max(sample.population - inside, 0)


def _bounds(sample: Sample, m: int, factors: Table) -> list[tuple[int, str]]:
    """Everything that is proved of all cavities, with what it rests on."""
    gauged = min(sample.gauged_ticks, default=None)
    ways: list[tuple[int, int | None]] = [(m, None)]
    if gauged is not None:
        ways.append((max(m - len(sample.gauged_ticks), 0), gauged))
    found = [] if sample.stopped_ticks else [each for way in ways for each in _read(sample, *way, factors)]
    if sample.lamp_ticks is not None and (sample.cavities or gauged is not None):
        found.append((sample.lamp_ticks, "lamp"))
    tops = [_shortest_trusted(sample)] if sample.cavities else []
    tops += [each - 1 for each in sample.stopped_ticks]
    return [(min([ticks, *tops]), basis) for ticks, basis in found]


def _read(sample: Sample, m: int, gauged: int | None, factors: Table) -> list[tuple[int, str]]:
    """What the readings prove, the cavities that a gauge passed counted as read or not."""
    proved = [] if gauged is None else [gauged]
    if m == 0 and (sample.cavities or proved):
        shortest = [_shortest_trusted(sample)] if sample.cavities else []
        return [(min([*shortest, *proved]), "all")]
    limit = _limit(sample, m, 0, factors)
    return [] if limit is None else [(min([limit["limit_ticks"], *proved]), "sample")]


def _limit(sample: Sample, m: int | None, more: int, factors: Table) -> Limit | None:
    """Lower prediction limit for m cavities after `more` further readings like those so far; None where there is none."""
    if not m or not sample.cavities:
        return None
    lengths = [each.length_ticks for each in sample.cavities]
    spread = pooled([spread_of(lengths), sample.elsewhere])
    firm = believed_firm(sample, more, factors)
    degrees, spread_milliticks = spread.degrees + more, _spread_milliticks(sample, spread)
    if firm is not None:
        degrees += firm.degrees
        spread_milliticks = max(spread_milliticks, _spread_milliticks(sample, pooled([spread, _as_spread(firm)])))
    factor = factor_thousandths(len(lengths) + more, m, degrees, factors) if degrees else None
    if factor is None:
        return None
    mean = sum(lengths) // len(lengths)
    below = ceil_div(factor * spread_milliticks, 1_000_000)
    systematic = max(each.systematic_ticks for each in sample.cavities)
    return {
        "mean_ticks": mean,
        "spread_ticks": ceil_div(spread_milliticks, 1000),
        "degrees": degrees,
        "factor_thousandths": factor,
        "below_ticks": below,
        "systematic_ticks": systematic,
        "limit_ticks": min(mean - below, *lengths) - systematic,
    }


def believed_firm(sample: Sample, more: int, factors: Table) -> FirmSpread | None:
    """What the firm's closed sites say of the spread, where it counts; None where it does not.

    It counts once the site itself has read enough of the kind, and unless it reads so wide that it is none of the firm's
    usual sites. It adds certainty and may make the spread greater, but never smaller than what was read here.

    Parameters
    ----------
    sample : Sample
        The group's cavities [1/320 mm].
    more : int
        Further readings that are thought of [cavities].
    factors : mapping
        `prediction.json`.
    """
    own = pooled([spread_of([each.length_ticks for each in sample.cavities]), sample.elsewhere])
    if sample.firm is None or own.degrees + more < OWN_DEGREES:
        return None
    odd = own.degrees > 0 and is_odd(own.squares_ticks2, own.degrees, sample.firm, factors)
    return None if odd else sample.firm


def _as_spread(firm: FirmSpread) -> Spread:
    return Spread(firm.squares_ticks2, firm.degrees)


def _spread_milliticks(sample: Sample, spread: Spread) -> int:
    """Standard deviation between cavities, no smaller than the tape can tell and than the site assumes."""
    graduation = max(each.graduation_ticks for each in sample.cavities)
    tape = ceil_sqrt(ceil_div(graduation**2 * 1_000_000, 12))
    seen = ceil_sqrt(ceil_div(spread.squares_ticks2 * 1_000_000, spread.degrees)) if spread.degrees else 0
    return max(seen, tape, sample.spread_floor_ticks * 1000)


def _shortest_trusted(sample: Sample) -> int:
    return min(each.length_ticks - each.expanded_ticks for each in sample.cavities)


def _two_makes(sample: Sample, m: int | None) -> list[Said]:
    """What holds back a verdict on cavities that nobody read: two clusters, whatever 'alike' says, or two makes that somebody saw."""
    if m == 0:
        return []
    gap = gap_between_clusters([each.length_ticks for each in sample.cavities])
    if gap is not None:
        return [{"code": "cavity.two-clusters", "facts": {"gap_ticks": gap}}]
    return [{"code": "cavity.two-makes-seen", "facts": {}}] if sample.alike == "two-makes-seen" else []


def _asked(sample: Sample) -> list[Said]:
    """What holds back a verdict on any cavity: readings that are not what the lamp leaves, until somebody confirms them."""
    return [{"code": "cavity.reading-asked", "facts": {"n": sample.asked}}] if sample.asked else []


def _gap(holding: Sequence[Said]) -> CavityTerms:
    gaps = [cast("int", reason["facts"]["gap_ticks"]) for reason in holding if "gap_ticks" in reason["facts"]]
    return {"gap_ticks": gaps[0]} if gaps else {}


def _why_unknown(sample: Sample, m: int | None) -> list[Said]:
    """Why nothing is proved of all cavities; nothing more where all that was read waits for a confirmation."""
    nothing = not sample.cavities and not sample.gauged_ticks and not sample.stopped_ticks
    return [] if nothing and sample.asked else [_unknown(sample, m)]


def _unknown(sample: Sample, m: int | None) -> Said:
    n = len(sample.cavities)
    if not n and not sample.gauged_ticks and not sample.stopped_ticks:
        return {"code": "cavity.no-reading", "facts": {}}
    if m is None:
        return {"code": "cavity.not-counted", "facts": {"n": n}}
    if sample.stopped_ticks:
        return {"code": "cavity.gauge-does-not-go", "facts": {"length_ticks": min(sample.stopped_ticks)}}
    if not n:
        return {"code": "cavity.only-gauged", "facts": {"m": m}}
    if n == 1:
        return {"code": "cavity.one-reading", "facts": {"m": m}}
    return {"code": "cavity.too-many", "facts": {"m": m}}


def _terms(sample: Sample) -> CavityTerms:
    """Numbers shown beside the trusted cavity."""
    terms: CavityTerms = {} if sample.lamp_ticks is None else {"lamp_ticks": sample.lamp_ticks}
    if sample.spring_back is not None:
        terms["spring_back_ticks"] = sample.spring_back.ticks
    if sample.cavities:
        terms["shortest_ticks"] = min(each.length_ticks for each in sample.cavities)
        terms["shortest_trusted_ticks"] = _shortest_trusted(sample)
    return terms


def _converse(sample: Sample, m: int | None) -> int | None:
    """Of those not read, how many could be shorter than the shortest; None where nothing was read or is left."""
    inside = sum(1 for each in sample.cavities if each.inside)
    return could_be_shorter(inside + m, inside) if m and inside else None


__all__ = [
    "Cavity",
    "Sample",
    "Spread",
    "believed_firm",
    "bought_by",
    "by_gauge",
    "gap_between_clusters",
    "joined",
    "measure_more",
    "not_read",
    "pooled",
    "spread_of",
    "trusted_cavity",
    "without",
]
