"""What is wrong with a facet's value, as a code and the facts of its sentence: field, value and what would be right."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from spanwalk.records.field_types import Check, check_of, quick_check_of
from spanwalk.records.json_values import plain_json, short
from spanwalk.records.specification import IDENTITY, Field, fields_of, spec, where

TICKS_PER_MM = 320
CHOICE_LETTERS_MOST = 80


@dataclass(frozen=True)
class Wrong:
    """What is wrong with a value: code and facts (field, value and what would be right)."""

    code: str
    facts: dict[str, object]


@cache
def _checks(type_name: str, facet: str) -> dict[str, Check]:
    return {name: check_of(field) for name, field in fields_of(type_name, facet).items()}


@cache
def _quick_checks(type_name: str, facet: str) -> tuple[dict[str, Check], frozenset[str]]:
    """By field its quick test, and the fields that must be there."""
    known = fields_of(type_name, facet)
    needed = frozenset(name for name, field in known.items() if field.required)
    return {name: quick_check_of(field) for name, field in known.items()}, needed


def plainly_right(type_name: str, facet: str, value: object) -> bool:
    """Whether a value is right beyond doubt, and tidy: one look at what nearly all values are."""
    if facet not in spec().types[type_name].facets:
        return False
    if emptied(facet, value):
        return True
    checks, needed = _quick_checks(type_name, facet)
    if type(value) is not dict or not needed <= value.keys():
        return False
    for name, item in value.items():
        check = checks.get(name)
        if check is None or check(item) is not None:
            return False
    return True


def emptied(facet: str, value: object) -> bool:
    """Whether a facet is emptied: it says nothing again, as before it was first written. Identity never is."""
    return bool(facet != IDENTITY and value == {})


def check_values(type_name: str, facet: str, values: list[object], newer: bool = False) -> dict[int, Wrong]:
    """What is wrong with the values of one facet; nothing for those that are right.

    Parameters
    ----------
    type_name, facet : str
        As in the spec.
    values : list
        Values of that facet, from one batch.
    newer : bool
        They were written under a newer spec: fields and choices that this one does not know are kept.

    Returns
    -------
    dict of int to Wrong
        By place in `values`: the first thing that is wrong.
    """
    found = ((place, check_value(type_name, facet, value, newer)) for place, value in enumerate(values))
    return {place: wrong for place, wrong in found if wrong is not None}


def check_value(type_name: str, facet: str, value: object, newer: bool = False) -> Wrong | None:
    """The first thing that is wrong with a facet's value, or None; parameters as of `check_values`."""
    if facet in spec().types[type_name].facets:
        wrong = None if emptied(facet, value) else _first_wrong(type_name, facet, value, newer)
        if wrong is not None or not newer:
            return wrong
    plain = isinstance(value, dict) and plain_json(value) and None not in value.values()
    return None if plain else Wrong("value-not-plain", _facts(type_name, facet, value))


def _first_wrong(type_name: str, facet: str, value: object, newer: bool) -> Wrong | None:
    if not isinstance(value, dict):
        return Wrong("value-not-object", _facts(type_name, facet, value))
    known, checks = fields_of(type_name, facet), _checks(type_name, facet)
    for name in value if not newer else ():
        if name not in known:
            about = {"field": name, "title": name, "right": sorted(known)}
            return Wrong("field-unknown", _facts(type_name, facet, value[name]) | about)
    for name, field in known.items():
        if name not in value and not field.required:
            continue
        code = checks[name](value[name]) if name in value else "field-missing"
        if code is not None and not (newer and is_newer_choice(field, value.get(name))):
            return Wrong(code, _facts(type_name, facet, value.get(name), field))
    return None


def wrong_field(type_name: str, facet: str, name: str, value: object, code: str) -> Wrong:
    """What is told of a field of the spec whose value is found wrong by what no spec knows: with what would be right."""
    return Wrong(code, _facts(type_name, facet, value, fields_of(type_name, facet)[name]))


def is_newer_choice(field: Field, value: object) -> bool:
    """Whether a value may be a choice of a newer spec: short text where the field has choices, or a list of such."""
    texts = value if isinstance(value, list) and field.of.items else [value]
    chosen = field.of.chosen or bool(field.choices and field.of.items)
    return chosen and all(isinstance(each, str) and 0 < len(each) <= CHOICE_LETTERS_MOST for each in texts)


def not_ours(type_name: str, facet: str, value: dict[str, object]) -> frozenset[str]:
    """The fields of a value that this spec does not know, or whose choice it does not know."""
    known, checks = fields_of(type_name, facet), _checks(type_name, facet)
    return frozenset(
        name
        for name, each in value.items()
        if name not in known or (is_newer_choice(known[name], each) and checks[name](each) is not None)
    )


def _facts(type_name: str, facet: str, value: object, field: Field | None = None) -> dict[str, object]:
    about = {"type": type_name, "facet": facet, "where": where(type_name, facet), "value": short(value)}
    return about if field is None else about | _field_facts(field, value)


def _field_facts(field: Field, value: object) -> dict[str, object]:
    """What would be right for a field; lengths in millimetres."""
    unit, divide = ("mm", TICKS_PER_MM) if field.of.ticks else (field.unit, 1)
    most = field.max if field.max is not None else field.of.letters
    facts: dict[str, object] = {"field": field.name, "title": field.title}
    facts |= {k: _scaled(v, divide) for k, v in (("min", field.min), ("max", most)) if v is not None}
    if field.of.ticks and isinstance(value, (int, float)) and not isinstance(value, bool):
        facts["value"] = _scaled(value, divide)
    told = {"unit": unit, "choices": list(field.choices), "decimals": field.of.decimals, "example": field.of.example}
    return facts | {name: each for name, each in told.items() if each}


def _scaled(value: float, divide: int) -> float:
    scaled = round(value / divide, 3) if divide > 1 else value
    return int(scaled) if scaled == int(scaled) else scaled
