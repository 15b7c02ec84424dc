"""What the firm's closed sites say of a kind, and whether a site that reads otherwise believes it. Twin: pwa/rules/judging/firm_numbers.js.

Only where the owner of the site chose it (facet `learning`), and only of the spread between cavities, never of their mean.
The numbers come with the site's own record (facet `learnt`), so that a phone judges without the server.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import cast

from spanwalk.rules import constants
from spanwalk.rules.record_types import KindView, SiteView
from spanwalk.rules.record_view import Table
from spanwalk.rules.survey import facet, is_seen

AGE_FROM = constants.AGE_FROM
"""First years of bands of age, by the date on the ballast: about when electronic ballasts and T5 lamps came (common practice)."""
OWN_DEGREES = constants.OWN_DEGREES
"""Degrees of freedom that the site itself must have read of a kind before anything of other sites counts: with fewer, a site
twice or three times as wide as usual is not told from a usual one, and a bar is more often wrongly said to fit
(`tests.learning.simulated_firms`)."""
NOT_DATED = "not-dated"
YEAR = re.compile(r"(?<!\d)(?:19|20)\d\d(?!\d)")


@dataclass(frozen=True)
class FirmSpread:
    """Spread of a kind over closed sites, as a scaled inverse chi-square distribution of the variance.

    `degrees` degrees of freedom with the sum of squares `squares_ticks2` [1/320 mm, squared]; it rests on so many
    `readings` of so many `sites`.
    """

    squares_ticks2: int
    degrees: int
    sites: int
    readings: int


def age_band(made: str) -> str:
    """Band of age by the date on a ballast, as it was typed: 'before-1980', '1980-1994', '1995-2009', 'since-2010', 'not-dated'.

    Parameters
    ----------
    made : str
        Text of the date; its first year of four digits counts.

    Examples
    --------
    >>> age_band("week 12 / 1994"), age_band("2011-03"), age_band("75"), age_band("1979")
    ('1980-1994', 'since-2010', 'not-dated', 'before-1980')
    """
    found = YEAR.search(made)
    if found is None:
        return NOT_DATED
    year, first, last = int(found[0]), AGE_FROM[0], AGE_FROM[-1]
    if year < first:
        return f"before-{first}"
    if year >= last:
        return f"since-{last}"
    at = max(at for at, each in enumerate(AGE_FROM) if each <= year)
    return f"{AGE_FROM[at]}-{AGE_FROM[at + 1] - 1}"


def keys_of(kind: KindView) -> Iterator[str]:
    """Names under which numbers of a kind are kept, the narrowest first: diameter and length, then body, then age.

    Nothing of a kind whose diameter or length nobody saw.

    Parameters
    ----------
    kind : view record
        The kind.
    """
    lamps, body = facet(kind, "lamps"), facet(kind, "housing").get("body")
    diameter, length = lamps.get("diameter"), lamps.get("nominal_ft")
    if not is_seen(diameter) or not is_seen(length):
        return
    band = age_band(str(facet(kind, "ballast").get("made", "")))
    if body is not None and band != NOT_DATED:
        yield f"{diameter}/{length}/{body}/{band}"
    if body is not None:
        yield f"{diameter}/{length}/{body}"
    yield f"{diameter}/{length}"


def spread_for(kind: KindView, site: SiteView) -> FirmSpread | None:
    """The firm's spread of a kind, where the site takes the firm's numbers and there are any; the narrowest counts.

    Parameters
    ----------
    kind, site : view records
        The kind and its site.
    """
    if facet(site, "learning").get("takes") is not True:
        return None
    numbers = cast("Mapping[str, Mapping[str, Mapping[str, int]]]", facet(site, "learnt").get("numbers") or {})
    spreads = numbers.get("spread", {})
    found = next((spreads[key] for key in keys_of(kind) if key in spreads), None)
    return None if found is None else FirmSpread(**{name: int(found[name]) for name in FirmSpread.__dataclass_fields__})


def is_odd(squares_ticks2: int, degrees: int, firm: FirmSpread, factors: Table) -> bool:
    """Whether a site's own spread is so wide that sites like the firm's would show it less than three times in ten.

    The ratio of both variances against the upper 30 % point of the F distribution, which is the predictive distribution of a
    site's own variance under the firm's. So often a usual site is judged by itself for nothing, which costs it readings; at a
    rarer point (10 %) bars were wrongly said to fit up to half as often again where all later sites were wider than usual. Between two rows of the table the smaller point is taken: the site is odd sooner.

    Parameters
    ----------
    squares_ticks2 : int
        Sum of squares of the site's own readings of the kind [1/320 mm, squared].
    degrees : int
        Their degrees of freedom; at least 1.
    firm : FirmSpread
        The firm's numbers.
    factors : mapping
        `prediction.json`.

    Examples
    --------
    >>> table = {"degrees": [1, 2, 4], "conflicts": [[1, 1, 1], [1, 1, 4324], [1, 1, 4107]]}
    >>> firm = FirmSpread(4 * 100, 4, 6, 60)
    >>> is_odd(864, 2, firm, table), is_odd(865, 2, firm, table)
    (False, True)

    References
    ----------
    .. [1] Box, Sampling and Bayes' inference in scientific modelling and robustness, J. R. Stat. Soc. A 143 (1980): a prior
       is checked by the predictive distribution of what it foretells (from memory).
    """
    rows = factors["degrees"]
    row = factors["conflicts"][min(bisect_left(rows, degrees), len(rows) - 1)]
    point = int(row[min(bisect_left(rows, firm.degrees), len(rows) - 1)])
    return squares_ticks2 * firm.degrees * 1000 > point * firm.squares_ticks2 * degrees


__all__ = ["OWN_DEGREES", "FirmSpread", "age_band", "is_odd", "keys_of", "spread_for"]
