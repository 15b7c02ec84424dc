"""Does a bar, or several end to end, fit between the sockets of a row? Twin: pwa/rules/fit/fit.js.

clearance = trusted cavity - bars with their tolerances - joints - change of length - an end gap at each end.
Lengths are ticks of 1/320 mm; margins are rounded up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import cast

from spanwalk.rules import constants
from spanwalk.rules.integer_math import ceil_div
from spanwalk.rules.judging.judgement_types import FitTerms, RowVerdict, Trusted
from spanwalk.rules.record_view import Facet, Row, Table
from spanwalk.rules.said import Said

TEN_THOUSANDTHS = constants.TEN_THOUSANDTHS
"""Temperatures come with at most four decimal places."""
PER_KELVIN = constants.PER_KELVIN
"""Coefficients are tenths of a millionth per kelvin."""
VERDICTS = constants.VERDICTS
"""From the best to the worst."""


@dataclass(frozen=True)
class Surroundings:
    """What the row lives in: material where the bar lies, and the range of the air's temperature [°C]."""

    material: str
    coldest_c: float
    hottest_c: float


def change_of_length(bars: Sequence[Facet], cavity_ticks: int, around: Surroundings, expansion: Table) -> int:
    """What bars gain on their housing at the worse end of the temperature range, from 20 °C.

    The bars are lit and run warmer than the air by their own rise; the housing has the air's temperature. Where
    the survey cannot name the housing's material, it grows least in heat and shrinks most in cold of all it may be.

    Parameters
    ----------
    bars : sequence of mapping
        `bar` facets: `length_ticks` [1/320 mm], `cover`, `rise_k` [K].
    cavity_ticks : int
        Cavity length [1/320 mm].
    around : Surroundings
        Housing and range of temperature.
    expansion : mapping
        `expansion.json`.

    Returns
    -------
    int
        Length lost [1/320 mm], rounded up; never below 0, since bars are put in at 20 °C.

    Examples
    --------
    An aluminium bar of 1,190 mm in steel of the same length, both at 60 °C, gains 0.54 mm.

    >>> expansion = {"reference_c": 20, "bars": [{"cover": "none", "coefficient": 234}],
    ...              "housings": [{"material": "steel", "least": 120, "most": 120}]}
    >>> bar = {"length_ticks": 380800, "cover": "none", "rise_k": 0}
    >>> change_of_length([bar], 380800, Surroundings("steel", 20, 60), expansion) / 320
    0.54375
    """
    housing = _housing(around.material, expansion)
    ends = (around.coldest_c, around.hottest_c)
    return max(
        0,
        *(
            _gain(bars, cavity_ticks, _exact(air_c) - _exact(expansion["reference_c"]), housing, expansion)
            for air_c in ends
        ),
    )


def _gain(bars: Sequence[Facet], cavity_ticks: int, warmer: int, housing: Row, expansion: Table) -> int:
    """Growth of the bars less that of the housing, the air warmer than 20 °C by so many ten-thousandths of a kelvin."""
    grown = sum(bar["length_ticks"] * _of_bar(bar, expansion) * (warmer + _exact(bar["rise_k"])) for bar in bars)
    housing_at_least = min(housing["least"] * warmer, housing["most"] * warmer)
    return ceil_div(grown - cavity_ticks * housing_at_least, PER_KELVIN * TEN_THOUSANDTHS)


def _exact(value: float) -> int:
    """A decimal of at most four places as a whole number of ten-thousandths."""
    return round(value * TEN_THOUSANDTHS)


def _of_bar(bar: Facet, expansion: Table) -> int:
    """Coefficient of a bar: that of its captive cover if it has one."""
    return int(next(row["coefficient"] for row in expansion["bars"] if row["cover"] == bar["cover"]))


def _housing(material: str, expansion: Table) -> Row:
    """Row of a housing's material; a material that the table does not name counts as 'not-seen'."""
    rows: dict[str, Row] = {row["material"]: row for row in expansion["housings"]}
    return rows.get(material) or rows["not-seen"]


def fit_row(trusted: Trusted, bars: Sequence[Facet], around: Surroundings, expansion: Table) -> RowVerdict:
    """Verdict on bars end to end in one cavity.

    Parameters
    ----------
    trusted : mapping
        What `cavity.trusted_cavity` gives.
    bars : sequence of mapping
        `bar` facets in the order they lie; not empty; lengths [1/320 mm].
    around : Surroundings
        Housing and range of temperature.
    expansion : mapping
        `expansion.json`.

    Returns
    -------
    dict
        `verdict`: 'fits' (clearance 0 or more), 'tight' (the bars go into the shortest cavity read, but not with
        all margins), 'too long', 'cannot tell'; `clearance_ticks` or null; `terms` with every number that is taken
        off, `needed_ticks` as their sum and `nominal_clearance_ticks`; `reasons` as codes and facts.
    """
    terms = _terms(trusted, bars, around, expansion)
    known = trusted["trusted_ticks"]
    clearance = None if known is None else known - terms["needed_ticks"]
    verdict = _verdict(trusted["status"], clearance, terms.get("nominal_clearance_ticks"))
    return {
        "verdict": verdict,
        "clearance_ticks": clearance,
        "terms": terms if known is None else {"trusted_ticks": known, **terms},
        "reasons": _reasons(verdict, clearance, terms, trusted),
    }


def _terms(trusted: Trusted, bars: Sequence[Facet], around: Surroundings, expansion: Table) -> FitTerms:
    """What bars need of a cavity, part by part."""
    shortest = trusted["terms"].get("shortest_ticks")
    nominal = sum(bar["length_ticks"] for bar in bars)
    tolerance, joints = sum(bar["tolerance_ticks"] for bar in bars), joints_ticks(bars)
    change = change_of_length(bars, shortest or trusted["trusted_ticks"] or nominal, around, expansion)
    gaps = 2 * max(bar["end_gap_ticks"] for bar in bars)
    terms: FitTerms = {
        "bars_ticks": nominal,
        "tolerance_ticks": tolerance,
        "joints_ticks": joints,
        "change_ticks": change,
        "end_gaps_ticks": gaps,
        "needed_ticks": nominal + tolerance + joints + change + gaps,
    }
    if shortest is not None:
        terms["nominal_clearance_ticks"] = shortest - nominal - joints
    return terms


def joints_ticks(bars: Sequence[Facet]) -> int:
    """Joints between bars end to end, the wider of two neighbours' [1/320 mm]."""
    return sum(max(one["joint_ticks"], next_one["joint_ticks"]) for one, next_one in pairwise(bars))


def _verdict(status: str, clearance: int | None, nominal: int | None) -> str:
    if nominal is not None and nominal < 0:
        return "too long"
    if status != "known" or clearance is None:
        return "cannot tell"
    if clearance >= 0:
        return "fits"
    return "cannot tell" if nominal is None else "tight"


def _reasons(verdict: str, clearance: int | None, terms: FitTerms, trusted: Trusted) -> list[Said]:
    """Why, as codes and facts; lengths are positive."""
    if verdict == "too long":
        return [{"code": "fit.too-long", "facts": {"over_ticks": -terms["nominal_clearance_ticks"]}}]
    if verdict == "fits":
        return [{"code": "fit.fits", "facts": {"clearance_ticks": clearance}}]
    if verdict == "tight":
        return [
            {
                "code": "fit.tight",
                "facts": {
                    "short_ticks": terms["needed_ticks"] - cast("int", trusted["trusted_ticks"]),
                    "nominal_clearance_ticks": terms["nominal_clearance_ticks"],
                },
            }
        ]
    return [each.copy() for each in trusted["reasons"]] or [
        {"code": "fit.not-proved", "facts": {"needed_ticks": terms["needed_ticks"]}}
    ]


__all__ = ["VERDICTS", "Surroundings", "change_of_length", "fit_row", "joints_ticks"]
