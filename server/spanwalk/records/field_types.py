"""What is wrong with a field's value: the table of field types as tests. Twin: pwa/views/forms/field_checks.js."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable
from dataclasses import replace

from spanwalk.records.json_values import is_data, is_tidy_number, plainly_data, storable
from spanwalk.records.specification import Field, spec

Check = Callable[[object], str | None]
"""A value in, the code of what is wrong with it out; None where it is right."""

DOUBTFUL = "doubtful"
"""Neither right beyond doubt nor known to be wrong."""


def check_of(field: Field) -> Check:
    """The test of a field's values, made from the row of its type."""
    return _CHECKS[field.of.json](field)


def quick_check_of(field: Field) -> Check:
    """The same, but a value that still has to be tidied, or looked at twice, is in doubt.

    Most values are right, and there are many: data is looked at once where it is right beyond doubt.
    """
    check = check_of(field)
    match field.of.json:
        case "number":
            return lambda value: check(value) if is_tidy_number(value) else DOUBTFUL
        case "array":
            return lambda value: check(value) if type(value) is list and not any(map(_is_untidy, value)) else DOUBTFUL
        case "any":
            return lambda value: None if plainly_data(value) else DOUBTFUL
    return check


def _is_untidy(value: object) -> bool:
    return type(value) is float and value.is_integer()


def letters_most(field: Field) -> int:
    """How many letters a text may have."""
    return int(field.max or field.of.letters or 0)


def _string(field: Field) -> Check:
    if field.of.chosen:
        choices, wrong = frozenset(field.choices), field.of.wrong
        return lambda value: None if type(value) is str and value in choices else wrong
    if field.of.pattern:
        matches, unlike = re.compile(field.of.pattern).fullmatch, field.of.wrong or "text-unlike"
        return lambda value: None if type(value) is str and matches(value) and storable(value) else unlike
    most = letters_most(field)

    def check(value: object) -> str | None:
        if type(value) is str and 0 < len(value) <= most and storable(value):
            return None
        if not isinstance(value, str):
            return "text-wrong"
        if not value:
            return "text-empty"
        return "text-long" if storable(value) else "text-not-storable"

    return check


def _number(field: Field) -> Check:
    low = -math.inf if field.min is None else field.min
    high = math.inf if field.max is None else field.max
    whole, places = field.of.json == "integer", field.of.decimals
    outside = "number-large" if field.min is None else "number-small" if field.max is None else "number-outside"

    def check(value: object) -> str | None:
        if type(value) is not int:
            if type(value) is not float or not math.isfinite(value):
                return "number-wrong"
            if whole:
                return "whole-wrong"
            if places is not None and round(value, places) != value:
                return "decimals-many"
        return None if low <= value <= high else outside

    return check


def _yes(field: Field) -> Check:
    wrong = field.of.wrong
    return lambda value: None if type(value) is bool else wrong


def _list(field: Field) -> Check:
    item, wrong = check_of(replace(field, of=spec().field_types[field.of.items])), field.of.wrong

    def check(value: object) -> str | None:
        if type(value) is not list or any(item(each) is not None for each in value):
            return wrong
        return wrong if len({json.dumps(each) for each in value}) < len(value) else None

    return check


def _data(field: Field) -> Check:
    wrong = field.of.wrong
    return lambda value: None if is_data(value) else wrong


_CHECKS: dict[str, Callable[[Field], Check]] = {
    "string": _string,
    "integer": _number,
    "number": _number,
    "boolean": _yes,
    "array": _list,
    "any": _data,
}
