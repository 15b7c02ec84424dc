"""A type of field is one row of the table: check, reason, JSON Schema, declaration and column follow from it."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema_rs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.records.test_the_spec import likely, nested, right_value
from tests.support.specs import planted_spec

from spanwalk import records
from spanwalk.records.field_types import check_of, quick_check_of
from spanwalk.records.json_schema import field_schema
from spanwalk.sync.canonical import canonical, tidy
from spanwalk.words import say, words

VECTORS = json.loads((Path(__file__).parents[1] / "vectors" / "field_types.json").read_text(encoding="utf-8"))
CASES = list(enumerate(VECTORS["cases"], 1))
ID = "00000000-0000-4000-8000-000000000001"


def spec_with(*fields: dict[str, Any]) -> dict[str, Any]:
    """The spec with the planted rows, and on the room's identity the fields tried."""
    document: dict[str, Any] = json.loads(records.spec_text())
    document["field_types"] |= VECTORS["planted"]
    named = {f"tried_{place}": field for place, field in enumerate(fields)}
    document["records"]["room"]["facets"]["identity"]["fields"] |= named
    return document


@pytest.fixture(scope="module")
def tried() -> Iterator[dict[str, records.Field]]:
    """The fields of all cases, as the spec has them."""
    with planted_spec(spec_with(*(case["field"] for _, case in CASES))):
        yield records.fields_of("room", "identity")


@pytest.mark.parametrize(("place", "case"), CASES, ids=[f"{place}-{case['field']['type']}" for place, case in CASES])
def test_each_case_is_found_by_the_server(tried: dict[str, records.Field], place: int, case: dict[str, Any]) -> None:
    field = tried[f"tried_{place - 1}"]
    assert check_of(field)(case["value"]) == case["server"]
    assert (quick_check_of(field)(case["value"]) is None) == (case["server"] is None)
    value = {"parent": ID, "number": "1", field.name: case["value"]}
    wrong = records.check_value("room", "identity", value)
    assert (wrong.code if wrong else None) == case["server"]
    if wrong is not None:
        assert wrong.code in words()
        assert field.title in say(wrong.code, wrong.facts)


def test_the_reason_of_a_planted_type_names_field_value_and_what_would_be_right(
    tried: dict[str, records.Field],
) -> None:
    place = next(n for n, case in CASES if case["value"] == "24:00")
    wrong = records.check_value("room", "identity", {"parent": ID, "number": "1", f"tried_{place - 1}": "24:00"})
    assert wrong is not None
    assert say(wrong.code, wrong.facts) == "Room, Room: T is 24:00; it must be like 07:30."


def test_a_planted_type_is_documented_declared_and_exported_without_a_line_of_code() -> None:
    document = spec_with(
        {"type": "time_of_day", "title": "Opens at"}, {"type": "several_tenths", "title": "Doses", "max": 9}
    )
    with planted_spec(document):
        properties = records.openapi_components()["room_identity"]["properties"]
        declared, described = records.typescript(), records.markdown()
        columns = {field for _, field, _ in records.export_columns("room")}
    assert properties["tried_0"]["pattern"] == "^([01][0-9]|2[0-3]):[0-5][0-9]$"
    assert properties["tried_1"]["items"] == {"type": "number", "maximum": 9}
    assert "tried_0?: string;" in declared
    assert "tried_1?: number[];" in declared
    assert "| `tried_0` | Opens at | time_of_day |  | like 07:30 |" in described
    assert {"tried_0", "tried_1"} <= columns


# -- the check and the document agree, by a validator of JSON Schema (Draft 2020-12) that knows nothing of us

ALL_FIELDS = [
    (type_name, facet, name)
    for type_name, record in records.spec().types.items()
    for facet in record.facets
    for name in records.fields_of(type_name, facet)
]
UNSAID = {"decimals-many", "text-not-storable", "data-wrong"}
"""What JSON Schema does not say: decimal places, letters that no store keeps, how long and deep data is."""


def agree(field: records.Field, value: Any) -> None:
    code = check_of(field)(tidy(value))
    try:
        valid = jsonschema_rs.is_valid(field_schema(field), tidy(value))
    except ValueError:  # a number or a letter that JSON cannot carry
        valid = False
    assert valid == (code is None) or (valid and code in UNSAID), (field.name, value, code)


@pytest.mark.parametrize(("type_name", "facet", "name"), ALL_FIELDS)
def test_a_value_is_right_for_the_server_where_its_json_schema_takes_it(type_name: str, facet: str, name: str) -> None:
    field = records.fields_of(type_name, facet)[name]
    agree(field, right_value(field))
    for value in likely(field):
        agree(field, value)


@settings(max_examples=400, deadline=None)
@given(st.sampled_from(ALL_FIELDS), nested)
def test_no_drawn_value_is_right_for_one_and_wrong_for_the_other(which: tuple[str, str, str], value: Any) -> None:
    type_name, facet, name = which
    field = records.fields_of(type_name, facet)[name]
    agree(field, value)
    if quick_check_of(field)(value) is None:
        assert canonical(value) == canonical(tidy(value))
