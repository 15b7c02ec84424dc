"""records.json is the one place that says what a record is: all else follows from it."""

from __future__ import annotations

import copy
import json
import re
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.support.specs import planted_spec

from spanwalk import records
from spanwalk.records import check_values, may_read, may_write, parse_spec
from spanwalk.sync.canonical import canonical, tidy
from spanwalk.words import say, words

ID = "00000000-0000-4000-8000-000000000001"


def wrong(type: str, facet: str, value: Any, newer: bool = False) -> Any:
    return check_values(type, facet, [value], newer).get(0)


def code(type: str, facet: str, value: Any, newer: bool = False) -> str | None:
    found = wrong(type, facet, value, newer)
    return None if found is None else str(found.code)


# -- limits: below, at, above


def test_a_count_has_the_limits_of_the_spec() -> None:
    field = records.spec().types["group"].facets["count"].fields["count"]
    assert field.min is not None
    assert field.max is not None
    tried = {count: code("group", "count", {"count": count}) for count in (0, field.min, field.max, field.max + 1)}
    assert list(tried.values()) == ["number-outside", None, None, "number-outside"]


def test_a_text_has_the_length_of_the_spec() -> None:
    assert code("floor", "identity", {"name": "x" * 80, "parent": ID}) is None
    assert code("floor", "identity", {"name": "x" * 81, "parent": ID}) == "text-long"
    assert code("floor", "identity", {"name": "", "parent": ID}) == "text-empty"


def test_decimals_have_four_places_at_most() -> None:
    assert code("kind", "lamps", {"lamp_w": 32.1234}) is None
    assert code("kind", "lamps", {"lamp_w": 32.12345}) == "decimals-many"


def test_a_choice_is_one_of_its_words() -> None:
    found = wrong("kind", "lamps", {"diameter": "T9"})
    assert found.code == "choice-wrong"
    assert found.facts["choices"] == ["not-seen", "T5", "T8", "T12"]
    assert say(found.code, found.facts) == "Kind, Lamps: Diameter is T9; it must be one of: not seen, T5, T8, T12."


def test_a_length_is_told_in_millimetres() -> None:
    found = wrong("kind", "ballast_space", {"length_ticks": 1})
    assert found.code == "number-outside"
    assert found.facts["unit"] == "mm"
    assert "ticks" not in say(found.code, found.facts)


def test_a_missing_parent_is_named() -> None:
    found = wrong("floor", "identity", {"name": "Ground"})
    assert (found.code, found.facts["field"]) == ("field-missing", "parent")


@pytest.mark.parametrize("value", [None, [], "x", 5, True])
def test_a_value_that_is_no_object_is_said_to_be_so(value: Any) -> None:
    assert code("floor", "identity", value) == "value-not-object"


def test_a_facet_can_be_emptied_again_whatever_it_requires_but_identity_cannot() -> None:
    assert code("room", "size", {}) is None
    assert code("room", "progress", {}) is None
    assert code("floor", "identity", {}) == "field-missing"


@pytest.mark.parametrize(
    "frozen", [{"a": 1.5, "b": [None, True, "x"]}, [], {"small": 0.0001}, {"zero": 0.0}, "text", 5]
)
def test_data_is_any_json_that_all_sides_write_alike(frozen: Any) -> None:
    value = {"release": ID, "number": 1, "arrangement": "a", "frozen": frozen, "parent": ID}
    assert code("conversion", "identity", value) is None


@pytest.mark.parametrize("frozen", [{"a": 1e-5}, {"a": 1e16}, {"é": 1}, {"a": "\ud800"}, ["x" * 250_000]])
def test_data_that_would_be_written_differently_is_refused(frozen: Any) -> None:
    value = {"release": ID, "number": 1, "arrangement": "a", "frozen": frozen, "parent": ID}
    assert code("conversion", "identity", value) == "data-wrong"


# -- every refusal has words, and schema and reason agree


plain_text = st.text(st.characters(exclude_characters="{}"), max_size=90)
json_values = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**6), 10**6) | st.floats(allow_nan=False) | plain_text,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(plain_text, inner, max_size=3),
    max_leaves=6,
)
facets = [(record.name, facet.name) for record in records.spec().types.values() for facet in record.facets.values()]


@settings(max_examples=400, deadline=None)
@given(st.sampled_from(facets), st.data())
def test_whatever_is_refused_is_refused_with_a_reason_that_has_a_sentence(which: tuple[str, str], data: Any) -> None:
    type, facet = which
    fields = records.spec().types[type].facets[facet].fields
    names = st.sampled_from([*fields, "parent", "no such field"])
    value = data.draw(st.dictionaries(names, json_values, max_size=4) | json_values)
    found = wrong(type, facet, value)
    if found is not None:
        assert found.code != "value-wrong"
        assert found.code in words()
        sentence = say(found.code, found.facts)
        assert not re.search(r"\{[a-z_]+\}", sentence.replace(str(found.facts.get("value")), ""))
        json.dumps(found.facts).encode()


def right_value(field: records.Field) -> Any:
    """Some value that the field takes."""
    least = int(field.min or 0)
    some = {
        "text": "x",
        "note": "x",
        "choices": list(field.choices[:1]),
        "integers": [least],
        "yes": True,
        "ref": ID,
        "time": "17:30",
        "zone": "America/Denver",
    }
    some |= {"sha256": "f" * 64, "data": {}, "integer": least, "length": least, "decimal": least}
    return field.choices[0] if field.type == "choice" else some[field.type]


def likely(field: records.Field) -> list[Any]:
    """Values at, beside and between the limits of a field, and a few that are nothing like it."""
    steps = (-1, 0, 1, 0.5, 0.00001)
    near = [limit + step for limit in (field.min, field.max) if limit is not None for step in steps]
    most = int(field.max or 9) if field.type in ("text", "note") else 9
    texts = ["", "x", "a" * most, "b" * (most + 1), "\0", ID, ID.upper(), "f" * 64]
    lists = [[], list(field.choices[:2]), ["x"], near[:2], [1, 1]]
    return [*field.choices, *near, *texts, *lists, True, None, {}, 7, 2.0, right_value(field)]


@pytest.mark.parametrize(("type", "facet"), facets)
def test_the_quick_test_says_right_only_where_the_schema_does(type: str, facet: str) -> None:
    fields = records.fields_of(type, facet)
    right = {name: right_value(field) for name, field in fields.items()}
    for name, field in fields.items():
        without = {other: item for other, item in right.items() if other != name}
        for value in (without, *(right | {name: item} for item in likely(field))):
            quick = records.plainly_right(type, facet, value)
            said = not check_values(type, facet, [value])
            assert quick <= said, value
            rare = any(fields[each].type == "data" for each in value)
            whole = any(isinstance(item, float) and item.is_integer() for item in value.values())
            assert rare or whole or quick == said, value


edges = st.sampled_from(
    [0, -0.0, 2.0, 1e-4, 9e-5, 0.12345, 1e15, 10**15, 10**15 - 1, 2**64, -(10**15), True, "\0", "\ud800"]
)
inner_keys = st.sampled_from(["a", "count", "é", "\0", "\ud800", "", "\x7f"])
nested = st.recursive(
    edges | json_values,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(inner_keys, inner, max_size=3),
    max_leaves=8,
)


@st.composite
def facet_values(draw: st.DrawFn, type: str, facet: str) -> dict[str, Any]:
    """A value of a facet, nearly right: now and then a field is left out, has another's value, or is not one."""
    named = records.fields_of("floor", "identity") | records.fields_of(type, facet)
    value = {name: right_value(field) for name, field in named.items()}
    for name in draw(st.lists(st.sampled_from(sorted(named)), max_size=2)):
        value[name] = draw(nested if named[name].type == "data" else st.sampled_from(likely(named[name])) | nested)
    for name in draw(st.lists(st.sampled_from([*named, "no such field"]), max_size=1)):
        value = value | {name: 1} if name not in value else {k: v for k, v in value.items() if k != name}
    return value


@settings(max_examples=600, deadline=None)
@given(st.sampled_from(facets), st.booleans(), st.data())
def test_no_drawn_value_passes_the_quick_test_that_its_schema_refuses_or_that_is_not_tidy(
    which: tuple[str, str], newer: bool, data: Any
) -> None:
    type, facet = which
    value = data.draw(facet_values(type, facet))
    if records.plainly_right(type, facet, value):
        assert not check_values(type, facet, [value], newer), value
        assert canonical(value) == canonical(tidy(value))


def reading(shown: Any) -> dict[str, Any]:
    """A reading with a verdict of any data."""
    fields = records.spec().types["cavity_reading"].facets["identity"].fields
    value = {name: right_value(field) for name, field in fields.items() if field.type not in ("choices", "integers")}
    return value | {"parent": ID, "verdict_seen": shown}


def nest(deep: int) -> Any:
    """A number in so many lists."""
    return [nest(deep - 1)] if deep else 1


@settings(max_examples=400, deadline=None)
@given(nested, st.booleans())
def test_no_drawn_data_passes_the_quick_test_that_its_schema_refuses_or_that_is_not_tidy(
    shown: Any, newer: bool
) -> None:
    value = reading(shown)
    if records.plainly_right("cavity_reading", "identity", value):
        assert not check_values("cavity_reading", "identity", [value], newer), value
        assert canonical(value) == canonical(tidy(value))


@pytest.mark.parametrize("newer", [False, True])
@pytest.mark.parametrize(
    "shown",
    [
        *map(nest, range(1, 15)),
        *[["\x7f" * n] for n in (33_000, 33_400, 40_000)],
        ["é" * 40_000],
        {"a": ["x" * 199_990]},
    ],
)
def test_deep_and_long_data_passes_the_quick_test_only_where_the_schema_takes_it(shown: Any, newer: bool) -> None:
    value = reading(shown)
    quick = records.plainly_right("cavity_reading", "identity", value)
    assert quick <= (not check_values("cavity_reading", "identity", [value], newer))


@pytest.mark.parametrize(
    "shown",
    [
        {},
        {"verdict": "fits", "cavity": {"l": 3.41, "fc": [52, 0, 55]}, "notes": "behind the tank, très bas", "at": None},
        [{"rows": [[1, 2], [3, True]]}, "a", -7, 0.0001],
        {"notes": "x" * 30_000},
        nest(11),
    ],
)
def test_ordinary_data_passes_the_quick_test(shown: Any) -> None:
    assert records.plainly_right("cavity_reading", "identity", reading(shown))


# -- rights


def test_rights_are_those_of_the_spec() -> None:
    assert may_write("surveyor", "room", "size")
    assert not may_write("crew", "room", "size")
    assert may_write("crew", "installation", "identity")
    assert not may_write("surveyor", "group", "decision")
    assert not may_read("crew", "money")
    assert may_read("manager", "money")


def test_life_goes_with_identity() -> None:
    for record in records.spec().types.values():
        for role in records.ROLES:
            assert may_write(role, record.name, "life") == may_write(role, record.name, "identity")


def test_only_the_server_makes_conversions() -> None:
    assert not any(may_write(role, "conversion", "identity") for role in records.ROLES)
    assert may_write("server", "conversion", "identity")


def test_who_writes_a_type_reads_it() -> None:
    for record in records.spec().types.values():
        for facet in record.facets.values():
            assert facet.write - {"server"} <= record.read


# -- a new field is one line


def test_a_new_field_is_one_line_in_the_spec() -> None:
    document = json.loads(records.spec_text())
    document["records"]["floor"]["facets"]["identity"]["fields"]["lift"] = {
        "type": "yes",
        "title": "Lift stops here",
    }
    with planted_spec(document):
        assert records.spec().types["floor"].facets["identity"].fields["lift"].title == "Lift stops here"
        schema = records.openapi_components()["floor_identity"]
    assert schema["properties"]["lift"] == {"title": "Lift stops here", "type": "boolean"}


def test_an_attribute_that_nothing_reads_is_an_error() -> None:
    document = json.loads(records.spec_text())
    broken = copy.deepcopy(document)
    broken["records"]["floor"]["facets"]["identity"]["fields"]["name"]["colour"] = "red"
    with pytest.raises(ValueError, match=r"floor\.identity\.name has \['colour'\]"):
        parse_spec(broken)


def test_a_field_whose_type_is_in_no_row_of_the_table_is_an_error() -> None:
    document = json.loads(records.spec_text())
    document["records"]["floor"]["facets"]["identity"]["fields"]["name"]["type"] = "colour"
    with pytest.raises(ValueError, match=r"floor\.identity\.name has type colour, which is not in field_types"):
        parse_spec(document)


# -- what is made of it


def test_the_documentation_names_every_field() -> None:
    text = records.markdown()
    for record in records.spec().types.values():
        assert f"(`{record.name}`)" in text
        for facet in record.facets.values():
            assert all(f"| `{field}` |" in text for field in facet.fields)


def test_the_declarations_name_every_field() -> None:
    text = records.typescript()
    assert "export type CavityReadingFacets = {" in text
    assert 'diameter?: "not-seen" | "T5" | "T8" | "T12";' in text


def test_export_columns_have_their_unit() -> None:
    assert ("lamps", "lamp_w", "Lamps: Lamp watts [W]") in records.export_columns("kind")


def test_no_code_has_two_sentences_and_no_sentence_is_empty() -> None:
    assert all(sentence.strip() for sentence in words().values())
