"""Which values within one facet cannot stand together? Twin: pwa/rules/combinations.js.

The table `combinations` says which fields are held against which; the rules here are the ways of doing so. Values
that were not entered, or not seen, are never held against anything.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import TypedDict

from spanwalk.rules import constants
from spanwalk.rules.integer_math import ceil_div
from spanwalk.rules.measuring.lengths import format_mm
from spanwalk.rules.record_view import Facet

Row = Facet
Value = Facet
Facts = dict[str, object]
DECIMAL_STEPS = constants.DECIMAL_STEPS
"""A field has at most four decimal places: so many steps make it whole."""


class Broken(TypedDict):
    """What cannot stand together: the field that is named, with the code and facts of the sentence."""

    field: str
    code: str
    facts: Facts


def rows_of(type_name: str, facet: str, tables: Facet) -> list[Row]:
    """What is held against what in a facet.

    Parameters
    ----------
    type_name, facet : str
        As in the spec.
    tables : mapping
        Reference tables; `combinations` is used, where it is there.
    """
    rows: list[Row] = tables.get("combinations", {}).get("rows", [])
    return [row for row in rows if (row["type"], row["facet"]) == (type_name, facet)]


def broken(value: Value, rows: Iterable[Row], fields: Mapping[str, Facet]) -> list[Broken]:
    """What in a facet's value cannot stand together.

    Parameters
    ----------
    value : mapping
        The facet's value, each field right by itself.
    rows : iterable of mapping
        Those of `rows_of` the facet.
    fields : mapping
        The facet's fields as the spec has them: `type`, `title`, `unit`.

    Returns
    -------
    list of dict
        ``{"field", "code", "facts"}``, in the order of the table; empty where all of it can be.

    Examples
    --------
    >>> row = {"rule": "not-above", "field": "coldest_c", "other": "hottest_c"}
    >>> fields = {name: {"type": "decimal", "title": name, "unit": "°C"} for name in ("coldest_c", "hottest_c")}
    >>> [each["facts"]["value"] for each in broken({"coldest_c": 30, "hottest_c": 20.5}, [row], fields)]
    ['30 °C']
    >>> broken({"coldest_c": 30}, [row], fields)
    []
    """
    found: list[Broken] = []
    for row in rows:
        if any(
            name not in value for name in (row["field"], row.get("other", row["field"]), row.get("volts", row["field"]))
        ):
            continue
        more = RULES[row["rule"]](value, row)
        if more is not None:
            told = _named(value, row, fields) | {name: _text(each, unit) for name, (each, unit) in more.items()}
            found.append({"field": row["field"], "code": f"combination.{row['rule']}", "facts": told})
    return found


def _named(value: Value, row: Row, fields: Mapping[str, Facet]) -> Facts:
    """The fields by their titles, with their values to read."""
    found = {}
    for prefix, key in (("", "field"), ("other", "other"), ("volts", "volts")):
        if key in row:
            field = fields[row[key]]
            found[f"{prefix}_title" if prefix else "title"] = field["title"]
            unit = "mm" if field["type"] == "length" else field.get("unit", "")
            said = format_mm(value[row[key]]) if field["type"] == "length" else value[row[key]]
            found[prefix or "value"] = _text(said, unit)
    return found


def _text(said: object, unit: str) -> str:
    text = ", ".join(str(each) for each in said) if isinstance(said, list) else str(said)
    return f"{text} {unit}" if text and unit else text


More = dict[str, tuple[object, str]] | None
"""What else the sentence tells, each with its unit; None where the values can stand together."""


def _not_above(value: Value, row: Row) -> More:
    return {} if value[row["field"]] > value[row["other"]] else None


def _below(value: Value, row: Row) -> More:
    return {} if value[row["field"]] >= value[row["other"]] else None


def _pairs(value: Value, row: Row) -> More:
    right, other = row["pairs"].get(value[row["field"]]), value[row["other"]]
    all_named = {each for some in row["pairs"].values() for each in some}
    return (
        {"right": (" or ".join(right), "")} if right is not None and other in all_named and other not in right else None
    )


def _not_when(value: Value, row: Row) -> More:
    said = value[row["field"]]
    says = said in row["values"] if "values" in row else bool(said)
    return {} if says and value[row["other"]] in row["when"] else None


def _positions(value: Value, row: Row) -> More:
    gone = value[row["field"]]
    most = value[row["other"]] + len(gone)
    beyond = [each for each in gone if each > most]
    return {"value": (beyond, ""), "number": (len(gone), ""), "right": (most, "")} if beyond else None


def _most_times(value: Value, row: Row) -> More:
    most = row["times"] * value[row["other"]]
    return {"right": (most, "")} if value[row["field"]] > most else None


def _filled(value: Value, row: Row) -> More:
    return None if value[row["field"]] else {}


def _power(value: Value, row: Row) -> More:
    """Milliamperes times volts, in ten-thousandths, against watts; the watts told are rounded up to a tenth."""
    volts, watts = _steps(value[row["volts"]]), _steps(value[row["other"]])
    over = [each for each in value[row["field"]] if each * volts > 1000 * watts]
    if not over:
        return None
    tenths = ceil_div(max(over) * volts, 100 * DECIMAL_STEPS)
    return {"value": (max(over), "mA"), "needs": (f"{tenths // 10}.{tenths % 10}", "W")}


def _steps(number: float) -> int:
    return round(number * DECIMAL_STEPS)


RULES: Mapping[str, Callable[[Value, Row], More]] = {
    "not-above": _not_above,
    "below": _below,
    "pairs": _pairs,
    "not-when": _not_when,
    "positions": _positions,
    "most-times": _most_times,
    "filled": _filled,
    "power": _power,
}
