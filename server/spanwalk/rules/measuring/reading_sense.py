"""Does a reading make sense for the lamp that is said to be in it? Asks, never blocks. Twin: pwa/rules/measuring/reading_sense.js."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from spanwalk.rules import constants
from spanwalk.rules.record_view import Facet, Row, Tables
from spanwalk.rules.said import Said

Question = Said

TICKS_PER_TENTH_MM = constants.TICKS_PER_TENTH_MM
SHORTEST_UNDER_TENTHS_MM = constants.SHORTEST_UNDER_TENTHS_MM
"""The shortest A lies about 2.4 mm under the longest (B_min = A_max + 4.7 and a pin of 7.1 mm; IEC 60081, from memory)."""
PLAY_TENTHS_MM = 30
"""Sound sockets stand 0 to 3 mm wider than the longest lamp (inference from A, B and C; common practice)."""
NOMINAL_SLACK_TICKS = constants.NOMINAL_SLACK_TICKS
"""Within 2 mm of the length on the box, somebody read the box (common practice)."""
INCH_TICKS = constants.INCH_TICKS
HUNDRED_MM_TICKS = constants.HUNDRED_MM_TICKS
TICKS_PER_FOOT = constants.TICKS_PER_FOOT
MIDDLE_SOCKETS_TICKS = constants.MIDDLE_SOCKETS_TICKS
"""Two lamps end to end have up to 60 mm of sockets between them (common practice)."""
GAUGE_CAPS = constants.GAUGE_CAPS
NOT_SEEN = (None, "not-seen")
PER_CENT = constants.PER_CENT
OUT_OF_BAND = constants.OUT_OF_BAND
"""Questions that do not say what else the reading may be; all others do: another lamp, an inch too many."""


@dataclass(frozen=True)
class LooseBand:
    """What a reading may be at all where the lamp's length does not give the gap: nominal length ± a share of it.

    `low_ticks` and `high_ticks` [1/320 mm], `share_pct` [%], `lamp` as people say it: `T8 U-bend`.
    """

    low_ticks: int
    high_ticks: int
    share_pct: int
    lamp: str
    nominal_ft: str


def questions(length_ticks: int, lamps: Facet, uncertainty_ticks: int, tables: Tables) -> list[Question]:
    """What to ask about a reading; nothing about a good one.

    Parameters
    ----------
    length_ticks : int
        Cavity length [1/320 mm].
    lamps : mapping
        `lamps` facet of the kind: `diameter`, `cap`, `nominal_ft`.
    uncertainty_ticks : int
        One-sided 95 % uncertainty of the reading [1/320 mm].
    tables : mapping
        Reference tables; `lamps` is used.

    Returns
    -------
    list of dict
        `code` and `facts` of each question, likeliest first; empty where the reading lies between the shortest lamp less
        the uncertainty and the longest lamp with 3 mm of play and the uncertainty; within nominal length ± 10 % and the
        uncertainty where the lamp gives no such band (single pin, recessed contact, U-bend, a size that the table has not);
        and where its length was not seen.

    References
    ----------
    .. [1] IEC 60081, data sheets, dimensions A, B, C (from memory).
    """
    row = lamp_row(lamps, tables)
    if row is None:
        return _asked_loosely(length_ticks, loose_band(lamps, tables), uncertainty_ticks, tables)
    if _in_band(length_ticks, row, uncertainty_ticks):
        return []
    asked = [
        *_other_lamps(length_ticks, row["diameter"], row["nominal_ft"], {a_max_ticks(row)}, uncertainty_ticks, tables),
        *_own_lengths(length_ticks, row, uncertainty_ticks),
        *_tape_started_late(length_ticks, row, uncertainty_ticks),
        *_two_cavities(length_ticks, row, uncertainty_ticks),
    ]
    if asked:
        return asked
    low, high = a_min_ticks(row), a_max_ticks(row) + PLAY_TENTHS_MM * TICKS_PER_TENTH_MM
    return [
        {
            "code": "reading.out-of-band",
            "facts": {**_named(row), "length_ticks": length_ticks, "low_ticks": low, "high_ticks": high},
        }
    ]


def lamp_row(lamps: Facet, tables: Tables) -> Row | None:
    """The lamp's row of sizes; None for lamps whose length does not give the sockets' spacing, or not seen."""
    cap = lamps.get("cap")
    if cap not in (None, "not-seen", *GAUGE_CAPS):
        return None
    for row in tables["lamps"]["sizes"]:
        if row["diameter"] == lamps.get("diameter") and row["nominal_ft"] == lamps.get("nominal_ft"):
            return row if cap in (None, "not-seen", row["cap"]) else None
    return None


def loose_band(lamps: Facet, tables: Tables) -> LooseBand | None:
    """The band of a lamp whose length does not give the gap between sockets; None where it does, or its length was not seen.

    Parameters
    ----------
    lamps : mapping
        `lamps` facet of the kind.
    tables : mapping
        Reference tables; `lamps` is used.

    Examples
    --------
    >>> tables = {"lamps": {"sizes": [], "loose_bands": [{"share_pct": 10}]}}
    >>> band = loose_band({"cap": "U-bend", "nominal_ft": "2-ft", "diameter": "T8"}, tables)
    >>> band.low_ticks, band.high_ticks, band.lamp
    (175565, 214579, 'T8 U-bend')
    """
    nominal_ft, cap, diameter = lamps.get("nominal_ft"), lamps.get("cap"), lamps.get("diameter")
    if nominal_ft in NOT_SEEN or lamp_row(lamps, tables) is not None:
        return None
    nominal, share = nominal_ticks(str(nominal_ft)), int(tables["lamps"]["loose_bands"][0]["share_pct"])
    off = nominal * share // PER_CENT
    named = [str(each) for each in (diameter, cap) if each not in NOT_SEEN]
    return LooseBand(nominal - off, nominal + off, share, " ".join(named) or "lamp", str(nominal_ft))


def is_long(length_ticks: int, lamps: Facet, tables: Tables) -> bool:
    """Whether a reading that is asked about makes no 'fits' until it is confirmed: longer than any such lamp, or off its loose band.

    Parameters
    ----------
    length_ticks : int
        Cavity length [1/320 mm], of a reading that has a question.
    lamps, tables : mapping
        As of `questions`.
    """
    row = lamp_row(lamps, tables)
    return row is None or length_ticks > a_max_ticks(row)


def a_max_ticks(row: Row) -> int:
    """Longest cap-face to cap-face length of the lamp [1/320 mm]."""
    return int(row["a_max_tenths_mm"]) * TICKS_PER_TENTH_MM


def a_min_ticks(row: Row) -> int:
    """Shortest cap-face to cap-face length of the lamp [1/320 mm]."""
    return (int(row["a_max_tenths_mm"]) - SHORTEST_UNDER_TENTHS_MM) * TICKS_PER_TENTH_MM


def _in_band(length: int, row: Row, uncertainty: int) -> bool:
    play = PLAY_TENTHS_MM * TICKS_PER_TENTH_MM
    return a_min_ticks(row) - uncertainty <= length <= a_max_ticks(row) + play + uncertainty


def _named(row: Row) -> dict[str, object]:
    return {"diameter": row["diameter"], "nominal_ft": row["nominal_ft"], "lamp_ticks": a_max_ticks(row)}


def _asked_loosely(length: int, band: LooseBand | None, uncertainty: int, tables: Tables) -> list[Question]:
    """What to ask where only the length on the box is known."""
    if band is None or band.low_ticks - uncertainty <= length <= band.high_ticks + uncertainty:
        return []
    facts = {
        "length_ticks": length,
        "low_ticks": band.low_ticks,
        "high_ticks": band.high_ticks,
        "share_pct": band.share_pct,
    }
    asked: Said = {
        "code": "reading.out-of-loose-band",
        "facts": {"lamp": band.lamp, "nominal_ft": band.nominal_ft, **facts},
    }
    return [*_other_lamps(length, band.lamp, band.nominal_ft, set(), uncertainty, tables)] or [asked]


def _other_lamps(
    length: int, own_diameter: str, own_nominal_ft: str, seen: set[int], uncertainty: int, tables: Tables
) -> Iterator[Question]:
    for row in tables["lamps"]["sizes"]:
        if a_max_ticks(row) not in seen and _in_band(length, row, uncertainty):
            seen.add(a_max_ticks(row))
            yield {
                "code": "reading.matches-lamp",
                "facts": {
                    **_named(row),
                    "length_ticks": length,
                    "own_diameter": own_diameter,
                    "own_nominal_ft": own_nominal_ft,
                },
            }


def _own_lengths(length: int, row: Row, uncertainty: int) -> Iterator[Question]:
    low, high = (
        int(row["b_min_tenths_mm"]) * TICKS_PER_TENTH_MM,
        int(row["c_max_tenths_mm"]) * TICKS_PER_TENTH_MM,
    )
    if low - uncertainty <= length <= high + uncertainty:
        yield {"code": "reading.lamp-or-gap", "facts": {**_named(row), "length_ticks": length}}
    nominal = nominal_ticks(str(row["nominal_ft"]))
    if abs(length - nominal) <= NOMINAL_SLACK_TICKS + uncertainty:
        yield {
            "code": "reading.nominal-length",
            "facts": {**_named(row), "length_ticks": length, "nominal_ticks": nominal},
        }


def nominal_ticks(nominal_ft: str) -> int:
    """The length on the box [1/320 mm].

    Examples
    --------
    >>> nominal_ticks("1.5-ft") == 18 * 8128
    True
    """
    whole, _, half = nominal_ft.removesuffix("-ft").partition(".")
    return int(whole) * TICKS_PER_FOOT + (TICKS_PER_FOOT // 2 if half else 0)


def _tape_started_late(length: int, row: Row, uncertainty: int) -> Iterator[Question]:
    for code, late in (("reading.started-at-1", INCH_TICKS), ("reading.started-at-100", HUNDRED_MM_TICKS)):
        if _in_band(length - late, row, uncertainty):
            yield {
                "code": code,
                "facts": {**_named(row), "length_ticks": length, "without_ticks": length - late},
            }


def _two_cavities(length: int, row: Row, uncertainty: int) -> Iterator[Question]:
    least = 2 * a_min_ticks(row) - uncertainty
    most = 2 * (a_max_ticks(row) + PLAY_TENTHS_MM * TICKS_PER_TENTH_MM) + MIDDLE_SOCKETS_TICKS + uncertainty
    if least <= length <= most:
        yield {"code": "reading.two-cavities", "facts": {**_named(row), "length_ticks": length}}
