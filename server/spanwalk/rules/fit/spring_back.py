"""How far do the holders of a kind yield to a lamp: measured on five pairs, said by the site, or as is usual? Twin: pwa/rules/fit/spring_back.js."""

from __future__ import annotations

from dataclasses import dataclass

from spanwalk.rules.fit.prediction import factor_thousandths
from spanwalk.rules.integer_math import ceil_div, ceil_sqrt
from spanwalk.rules.record_types import KindView, SiteView
from spanwalk.rules.record_view import Facet
from spanwalk.rules.survey import facet

PAIRS = ("first_ticks", "second_ticks", "third_ticks", "fourth_ticks", "fifth_ticks")
MEASURED, OF_SITE, USUAL = "measured", "site", "usual"


@dataclass(frozen=True)
class SpringBack:
    """How far a pair yields at most [1/320 mm], and how that is known: `measured`, `site` or `usual`."""

    ticks: int
    how: str


def spring_back(kind: KindView, site: SiteView, cavities: int | None, tables: Facet) -> SpringBack:
    """How far the holders of a kind yield: from its five pairs, else as the site says, else 2 mm.

    Parameters
    ----------
    kind, site : view records
        `spring_back` facet of the kind [1/320 mm], `settings` facet of the site.
    cavities : int or None
        Those of the group, none of which may yield by more [cavities]; None counts as the most that the table of factors knows.
    tables : mapping
        Reference tables: `lamps` and `prediction`.

    Returns
    -------
    SpringBack
        Rounded up.

    References
    ----------
    .. [1] The 2 mm: common practice, from memory; no published figure found (`lamps.json`, `spring_back`).
    """
    pairs = five_pairs(kind)
    if pairs is not None:
        return SpringBack(at_most(pairs, _graduation(kind, tables), cavities, tables["prediction"]), MEASURED)
    of_site = facet(site, "settings").get("spring_back_ticks")
    if of_site is not None:
        return SpringBack(of_site, OF_SITE)
    return SpringBack(int(tables["lamps"]["spring_back"][0]["ticks"]), USUAL)


def five_pairs(kind: KindView) -> list[int] | None:
    """By how much each of five pairs yielded [1/320 mm]; None where not all five were entered."""
    said: Facet = facet(kind, "spring_back")
    found = [said[name] for name in PAIRS if said.get(name) is not None]
    return found if len(found) == len(PAIRS) else None


def is_sprung(kind: KindView) -> bool:
    """Whether the holders slide on a spring, so that a lamp in them is no gauge."""
    return bool(facet(kind, "spring_back").get("holders") == "sprung")


def at_most(pairs: list[int], graduation_ticks: int, cavities: int | None, factors: Facet) -> int:
    """What no pair of the group exceeds at 95 %: mean + r s of the five, never under the greatest of them.

    The same one-sided prediction factors as for cavities, the other way up. s is no smaller than a difference of two
    readings can tell: a division times √(2/12). What a tape errs alike each time cancels in a difference.

    Parameters
    ----------
    pairs : list of int
        By how much each pair yielded [1/320 mm].
    graduation_ticks : int
        Smallest division of what they were read with [1/320 mm].
    cavities : int or None
        How many are not to exceed it [cavities]; None for the most that the table knows.
    factors : mapping
        `prediction.json`.

    Examples
    --------
    Mean 320, s = √(25600 / 4) = 80; with r = 5.0 that is 720.

    >>> factors = {"n": [5], "degrees": [4], "m": [20], "factors": [[[5000]]]}
    >>> at_most([240, 240, 320, 400, 400], 32, 20, factors)
    720

    References
    ----------
    .. [1] ISO 16269-8:2004 (scope read, tables integrated anew), as in `cavity.trusted_cavity`.
    """
    n = len(pairs)
    mean = ceil_div(sum(pairs), n)
    seen = ceil_sqrt(ceil_div(sum((each - mean) ** 2 for each in pairs) * 1_000_000, n - 1))
    told = ceil_sqrt(ceil_div(graduation_ticks**2 * 1_000_000, 6))
    most = factors["m"][-1]
    factor = factor_thousandths(n, min(cavities or most, most), n - 1, factors) or 0
    return max(mean + ceil_div(factor * max(seen, told), 1_000_000), *pairs)


def _graduation(kind: KindView, tables: Facet) -> int:
    """Smallest division of what the pairs were read with; of a tape where nobody said [1/320 mm]."""
    tools = tables["lamps"]["spring_back_tools"]
    said = facet(kind, "spring_back").get("instrument")
    return int(next((row for row in tools if row["instrument"] == said), tools[0])["graduation_ticks"])


__all__ = ["PAIRS", "SpringBack", "at_most", "five_pairs", "is_sprung", "spring_back"]
