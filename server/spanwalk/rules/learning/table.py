"""The learning table: what closed sites say together, row by row, with what it rests on; told only of enough sites.

A row of fewer sites than `LEAST_SITES` says how many there are and nothing else: of few sites each could be told from the sum.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import exp, sqrt
from typing import TypedDict

from spanwalk.rules.fit.prediction import factor_thousandths
from spanwalk.rules.judging.firm_numbers import OWN_DEGREES
from spanwalk.rules.learning.pooling import pooled_means, pooled_share
from spanwalk.rules.learning.priors import LEAST_SITES, spread_prior
from spanwalk.rules.learning.site_numbers import LIGHT, MINUTES, OF, SPREAD, THOUSAND, SiteNumber
from spanwalk.rules.record_view import Table

USUAL_LEFT = 40
"""Cavities left in the group that readings with and without are compared on."""
BELOW_SPREADS = 4
"""What the bar of that group leaves under the mean, in spreads: about 3 mm where cavities differ by 0.8 mm."""
MOST_READ = 60


class LearnRow(TypedDict):
    """One row. `value` and `apart` (between sites) in 1/320 mm, minutes, shares, or measured over forecast light.

    `degrees` of a spread's prior; `readings_without` and `readings_with` of a group of forty cavities that reads like the
    firm's usual site; `left_out` sites that were odd. Null where too few sites tell, or it does not belong to the row.
    """

    of: str
    key: str
    sites: int
    readings: int
    value: float | None
    apart: float | None
    degrees: int | None
    readings_without: int | None
    readings_with: int | None
    left_out: int


def learning_table(sites: Iterable[Sequence[SiteNumber]], factors: Table) -> list[LearnRow]:
    """What closed sites say together.

    Parameters
    ----------
    sites : iterable of sequence
        Numbers of each closed site that gives them.
    factors : mapping
        `prediction.json`.
    """
    by_row: dict[tuple[str, str], list[SiteNumber]] = {}
    for numbers in sites:
        for each in numbers:
            by_row.setdefault((each["of"], each["key"]), []).append(each)
    ordered = sorted(by_row, key=lambda at: (OF.index(at[0]), at[1]))
    return [_row(by_row[at], factors) for at in ordered]


def _row(numbers: Sequence[SiteNumber], factors: Table) -> LearnRow:
    row = _bare(numbers)
    if len(numbers) < LEAST_SITES:
        return row
    if row["of"] == SPREAD:
        return _of_spread(row, numbers, factors)
    if row["of"] in (MINUTES, LIGHT):
        return _of_mean(row, numbers)
    shares = pooled_share([(each["total"], each["n"]) for each in numbers])
    return {**row, "value": shares.share, "apart": shares.between_share}


def _bare(numbers: Sequence[SiteNumber]) -> LearnRow:
    return {
        "of": numbers[0]["of"],
        "key": numbers[0]["key"],
        "sites": len(numbers),
        "readings": sum(each["n"] for each in numbers),
        "value": None,
        "apart": None,
        "degrees": None,
        "readings_without": None,
        "readings_with": None,
        "left_out": 0,
    }


def _of_spread(row: LearnRow, numbers: Sequence[SiteNumber], factors: Table) -> LearnRow:
    prior = spread_prior(numbers)
    if prior is None:
        return row
    firm = prior.firm
    return {
        **row,
        "sites": firm.sites,
        "readings": firm.readings,
        "value": sqrt(firm.squares_ticks2 / firm.degrees),
        "degrees": firm.degrees,
        "readings_without": _enough(0, factors),
        "readings_with": _enough(firm.degrees, factors),
        "left_out": prior.left_out,
    }


def _enough(firm_degrees: int, factors: Table) -> int | None:
    """Readings after which the factor is small enough for a bar so far under the mean; the site's own spread as the firm's."""
    for n in range(2, MOST_READ):
        counts = firm_degrees if n - 1 >= OWN_DEGREES else 0
        factor = factor_thousandths(n, USUAL_LEFT, n - 1 + counts, factors)
        if factor is not None and factor <= BELOW_SPREADS * THOUSAND:
            return n
    return None


def _of_mean(row: LearnRow, numbers: Sequence[SiteNumber]) -> LearnRow:
    """Minutes, or the logarithm of a ratio of light, by sites that differ among themselves."""
    means = [each["total"] / each["n"] for each in numbers]
    within = sum(each["squares"] - each["total"] ** 2 / each["n"] for each in numbers)
    degrees = sum(each["n"] - 1 for each in numbers)
    variance = max(within / degrees if degrees else 0.0, ROUNDED)
    pooled = pooled_means(means, [variance / each["n"] for each in numbers])
    if row["of"] == LIGHT:
        return {**row, "value": exp(pooled.mean / THOUSAND), "apart": exp(sqrt(pooled.between) / THOUSAND) - 1}
    return {**row, "value": pooled.mean, "apart": sqrt(pooled.between)}


ROUNDED = 1 / 12
"""Variance that writing down whole minutes, or whole thousandths, makes by itself."""


__all__ = ["LearnRow", "learning_table"]
