"""How far may a reading be wrong? Twin: pwa/rules/measuring/instruments.js."""

from __future__ import annotations

from dataclasses import dataclass
from math import isqrt

from spanwalk.rules import constants
from spanwalk.rules.record_view import Facet, Table, Tables

TICKS_PER_TENTH_MM = constants.TICKS_PER_TENTH_MM
TICKS_PER_64TH_INCH = constants.TICKS_PER_64TH_INCH
TICKS_PER_METRE = constants.TICKS_PER_METRE
TICKS_PER_FOOT = constants.TICKS_PER_FOOT
ONE_SIDED_95_THOUSANDTHS = constants.ONE_SIDED_95_THOUSANDTHS
"""Coverage factor of a one-sided 95 % limit of a normal distribution (1.6449, rounded up)."""
DEFAULT_GRADUATION = constants.DEFAULT_GRADUATION
"""Where the survey does not say: the coarsest division of the tapes that are offered."""


@dataclass(frozen=True)
class Uncertainty:
    """What one reading may be wrong by [1/320 mm], rounded up.

    `limit_ticks` is the instrument's permissible error; `systematic_ticks` and `random_ticks` are its one-sided 95 %
    parts (the same tape errs alike each time; setting and reading it do not); `expanded_ticks` joins both.
    """

    limit_ticks: int
    graduation_ticks: int
    systematic_ticks: int
    random_ticks: int
    expanded_ticks: int


def reading_uncertainty(reading: Facet, tables: Tables) -> Uncertainty:
    """One-sided 95 % uncertainty of one reading, from the instrument's class, its divisions and its setting.

    The permissible error counts as a rectangular distribution, the division likewise (graduation / √12), setting by
    hand as a standard deviation; they add in squares. A tape from its hook is read at one end, else at both; where
    nobody says, both ends and the hook's share of the error count.

    Parameters
    ----------
    reading : mapping
        `identity` facet of a cavity reading: `length_ticks` [1/320 mm], `instrument`, `graduation`, `from_hook`.
    tables : mapping
        Reference tables; `instruments` is used.

    Returns
    -------
    Uncertainty
        All parts [1/320 mm].

    References
    ----------
    .. [1] JCGM 100:2008, 4.3.7 (rectangular distribution), 5.1.2 (sum of variances).
    .. [2] 2014/32/EU Annex X (MI-008): a + b for each metre begun, c from an end surface.
    """
    instruments = tables["instruments"]
    limit = limit_ticks(reading, instruments)
    if str(reading.get("instrument", "")).startswith("gauge"):
        return Uncertainty(limit, 0, limit, 0, limit)
    division = _graduation(reading, instruments)
    setting = instruments["repeatability"][0]["repeatability_tenths_mm"] * TICKS_PER_TENTH_MM
    systematic = 4 * limit * limit
    ends_read = 1 if reading.get("from_hook") else 2
    random = ends_read * division * division + 12 * setting * setting
    return Uncertainty(limit, division, _limit(systematic), _limit(random), _limit(systematic + random))


def one_sided_95(deviation_ticks: int) -> int:
    """The one-sided 95 % part that one standard deviation comes to [1/320 mm], rounded up.

    Parameters
    ----------
    deviation_ticks : int
        One standard deviation [1/320 mm].

    Examples
    --------
    >>> one_sided_95(320)
    527
    """
    return -(-deviation_ticks * ONE_SIDED_95_THOUSANDTHS // 1000)


def limit_ticks(reading: Facet, instruments: Table) -> int:
    """Permissible error of the instrument at this length [1/320 mm], from its hook where nobody says otherwise.

    Parameters
    ----------
    reading : mapping
        `identity` facet of a cavity reading.
    instruments : mapping
        The table of instruments.

    Examples
    --------
    >>> table = {"tapes": [{"instrument": "tape-class-ii", "a_tenths_mm": 3, "b_tenths_mm": 2, "c_tenths_mm": 2}]}
    >>> limit_ticks({"length_ticks": 1200 * 320, "instrument": "tape-class-ii", "from_hook": True}, table)  # 0.9 mm
    288
    """
    length = reading["length_ticks"]
    name = reading.get("instrument")
    for row in instruments.get("tapes", []):
        if row["instrument"] == name:
            metres = -(-length // TICKS_PER_METRE)
            hook = row["c_tenths_mm"] if reading.get("from_hook", True) else 0
            return int((row["a_tenths_mm"] + row["b_tenths_mm"] * metres + hook) * TICKS_PER_TENTH_MM)
    if name == "us-tape":
        reaching = [row for row in instruments["us_tapes"] if length <= row["up_to_ft"] * TICKS_PER_FOOT]
        row = (reaching or instruments["us_tapes"][-1:])[0]
        return int(row["limit_64ths_in"] * TICKS_PER_64TH_INCH)
    return int(instruments["gauges"][0]["limit_tenths_mm"] * TICKS_PER_TENTH_MM)


def _graduation(reading: Facet, instruments: Table) -> int:
    wanted = reading.get("graduation") or DEFAULT_GRADUATION
    return int(next(row["graduation_ticks"] for row in instruments["graduations"] if row["graduation"] == wanted))


def _limit(twelvefold_variance: int) -> int:
    """1.645 · √(v / 12), rounded up."""
    square = ONE_SIDED_95_THOUSANDTHS**2 * twelvefold_variance
    root = isqrt(square // 12_000_000)
    return root if 12_000_000 * root * root == square else root + 1
