"""Pushes that are wrong: a sentence that names the field, the value and what would be right; the rest arrives."""

from __future__ import annotations

import gzip
import json
from typing import Any

import orjson
import pytest
from tests.support.installation import DEVICES, Installation, new_id

PUSH = "/api/sites/{site}/push"


def problem(here: Installation, data: bytes, status: int, name: str = "surveyor", **headers: str) -> Any:
    answer = here.call(
        name, "POST", PUSH, data=data, headers={k.replace("_", "-"): v for k, v in headers.items()}
    )
    assert answer.status_code == status, answer.text
    assert answer.mimetype == "application/problem+json"
    assert {"type", "title", "status", "detail", "code"} <= set(answer.json)
    return answer.json


# -- the envelope


@pytest.mark.parametrize("data", [b"", b"{", b"not json", b'{"device": }', b"\xff\xfe", b"[" * 100_000])
def test_what_is_not_json_is_said_to_be_so_and_nothing_is_taken(here: Installation, data: bytes) -> None:
    assert problem(here, data, 422)["code"] == "push-not-json"


@pytest.mark.parametrize("data", [b"[]", b"5", b'"x"', b"null"])
def test_what_is_no_object_is_said_to_be_so(here: Installation, data: bytes) -> None:
    assert problem(here, data, 422)["code"] == "push-not-object"


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"device": None}, "device"),
        ({"device": "phone 1"}, "device"),
        ({"operations": {}}, "operations"),
        ({"unsent": 3}, "unsent"),
        ({"unsent": {"operations": -1}}, "unsent.operations"),
        ({"incarnation": 7}, "incarnation"),
    ],
)
def test_a_field_of_the_envelope_that_is_wrong_is_named(
    here: Installation, more: dict[str, Any], field: str
) -> None:
    told = problem(here, orjson.dumps({"device": DEVICES["surveyor"], "operations": []} | more), 422)
    assert (told["code"], told["field"]) == ("push-field-wrong", field)
    assert field in told["detail"]


def test_more_than_a_thousand_operations_at_once_are_not_taken(here: Installation) -> None:
    told = problem(here, orjson.dumps({"device": DEVICES["surveyor"], "operations": [{}] * 1001}), 413)
    assert (told["code"], told["value"], told["most"]) == ("push-too-many", 1001, 1000)


def test_four_megabytes_are_the_most_zipped_or_not(here: Installation) -> None:
    long = b'{"x": "' + b" " * 4_000_000 + b'"}'
    assert problem(here, long, 413)["code"] == "push-too-large"
    assert problem(here, gzip.compress(long), 413, Content_Encoding="gzip")["code"] == "push-too-large"


def test_what_says_that_it_is_gzip_and_is_not_is_said_to_be_so(here: Installation) -> None:
    whole = gzip.compress(orjson.dumps({"device": DEVICES["surveyor"]}))
    assert problem(here, b"{}", 422, Content_Encoding="gzip")["code"] == "push-not-gzip"
    assert problem(here, whole[:-4], 422, Content_Encoding="gzip")["code"] == "push-not-gzip"
    assert problem(here, b"{}", 422, Content_Encoding="br")["code"] == "encoding-unknown"


def test_a_zipped_push_is_taken(here: Installation) -> None:
    operation = here.operation(
        "surveyor", new_id(), "floor", "identity", {"name": "Zip", "parent": here.site}
    )
    body = gzip.compress(orjson.dumps({"device": DEVICES["surveyor"], "operations": [operation]}))
    answer = here.call("surveyor", "POST", PUSH, data=body, headers={"Content-Encoding": "gzip"})
    assert answer.json["answers"][0]["result"] == "applied"


def test_a_push_to_a_site_one_is_not_on_finds_no_site(here: Installation) -> None:
    body = orjson.dumps({"device": DEVICES["stranger"], "operations": []})
    assert problem(here, body, 404, name="stranger")["code"] == "site-unknown"
    answer = here.call("surveyor", "POST", f"/api/sites/{new_id()}/push", data=body)
    assert (answer.status_code, answer.json["code"]) == (404, "site-unknown")


def test_an_address_that_is_no_site_and_a_method_that_is_none(here: Installation) -> None:
    assert here.call("surveyor", "POST", "/api/sites/12/push", data=b"{}").json["code"] == "http-404"
    answer = here.call("surveyor", "PUT", PUSH, data=b"{}")
    assert (answer.status_code, answer.json["code"], answer.headers["Allow"]) == (
        405,
        "http-405",
        "OPTIONS, POST",
    )


def test_another_incarnation_is_answered_before_anything_is_taken(here: Installation) -> None:
    floor = new_id()
    operation = here.operation("surveyor", floor, "floor", "identity", {"name": "Up", "parent": here.site})
    body = {"device": DEVICES["surveyor"], "incarnation": new_id(), "operations": [operation]}
    told = problem(here, orjson.dumps(body), 409)
    assert told["code"] == "incarnation-changed"
    assert told["incarnation"] == here.pull("surveyor")["incarnation"]
    assert floor not in {record["id"] for record in here.pull("surveyor")["records"]}


# -- single operations


def refused(here: Installation, name: str = "surveyor", **wrong: Any) -> Any:
    """The answer to one wrong operation among two good ones, which both arrive."""
    first = here.operation(name, new_id(), "floor", "identity", {"name": "Before", "parent": here.site})
    last = here.operation(name, new_id(), "floor", "identity", {"name": "After", "parent": here.site})
    good = {"name": "Ground", "parent": here.site}
    bad = here.operation(name, new_id(), "floor", "identity", good) | wrong
    answers = here.push(name, first, bad, last)
    assert [answer["result"] for answer in answers] == ["applied", "refused", "applied"]
    return answers[1]


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"by": "me"}, "by"),
        ({"by": None}, "by"),
        ({"record": "room 12"}, "record"),
        ({"record": "00000000-0000-4000-8000-00000000000A"}, "record"),
        ({"type": 5}, "type"),
        ({"facet": "No Facet"}, "facet"),
        ({"kind": "delete"}, "kind"),
        ({"settles": "c"}, "settles"),
        ({"settles": [1]}, "settles"),
        ({"replaces": {}}, "replaces"),
        ({"device_time": "x" * 41}, "device_time"),
        ({"spec": "1"}, "spec"),
        ({"spec": True}, "spec"),
        ({"seen": {}}, "seen"),
        ({"to": None}, "to"),
        ({"to": [1]}, "to"),
        ({"facet": "life"}, "facet"),
        ({"kind": "remove"}, "facet"),
        ({"kind": "remove", "facet": "life", "seen": "x"}, "seen"),
        ({"kind": "remove", "facet": "life", "seen": {"identity": 1}}, "seen"),
    ],
)
def test_a_fixed_field_that_is_wrong_is_named_with_its_value_and_what_is_right(
    here: Installation, wrong: dict[str, Any], field: str
) -> None:
    answer = refused(here, **wrong)
    assert (answer["code"], answer["facts"]["field"]) == ("operation-field-wrong", field)
    assert answer["facts"]["right"]


@pytest.mark.parametrize(
    "id", ["", "7", "phone.1.2", None, 5, {"a": 1}, "00000000-0000-4000-8000-000000000001.XYZ.1"]
)
def test_an_operation_without_a_usable_id_is_refused_by_its_place(here: Installation, id: Any) -> None:
    answer = refused(here, id=id)
    assert (answer["code"], answer["facts"]["place"]) == ("operation-field-wrong", 2)


def test_a_record_type_from_the_future_is_refused_and_asks_for_a_newer_server(here: Installation) -> None:
    answer = refused(here, type="heat_pump", spec=99)
    assert (answer["code"], answer["facts"]) == (
        "record-type-unknown",
        {"type": "heat_pump", "spec": 99, "ours": 1},
    )


def test_a_facet_that_this_spec_does_not_have_is_refused(here: Installation) -> None:
    assert refused(here, facet="colour", to={"colour": "red"})["code"] == "facet-unknown"


def test_a_facet_and_a_field_of_a_newer_spec_are_kept_and_handed_on(here: Installation) -> None:
    floor = new_id()
    to = {"name": "New", "parent": here.site, "fire_section": 4}
    answers = here.push(
        "surveyor",
        here.operation("surveyor", floor, "floor", "identity", to, spec=2),
        here.operation("surveyor", floor, "floor", "colour", {"hue": "red", "sure": True}, spec=2),
    )
    assert [answer["result"] for answer in answers] == ["applied", "applied"]
    record = next(each for each in here.pull("manager")["records"] if each["id"] == floor)
    assert record["facets"]["identity"]["value"] == to
    assert record["facets"]["colour"]["value"] == {"hue": "red", "sure": True}


def test_known_fields_of_a_newer_spec_are_still_checked(here: Installation) -> None:
    answer = refused(here, to={"name": "x" * 81, "parent": here.site, "fire_section": 4}, spec=2)
    assert (answer["code"], answer["facts"]["field"]) == ("text-long", "name")


def test_who_reads_only_does_not_write_a_facet_from_the_future(here: Installation) -> None:
    floor = here.floor()
    (answer,) = here.push("crew", here.operation("crew", floor, "floor", "colour", {"hue": "red"}, spec=2))
    assert answer["code"] == "no-right"


@pytest.mark.parametrize(
    ("name", "type", "facet", "to"),
    [
        ("surveyor", "money", "identity", {"currency": "USD"}),
        ("crew", "floor", "identity", {"name": "X"}),
        ("manager", "release", "identity", {"number": 1, "made_at": "now"}),
    ],
)
def test_a_person_without_the_right_is_refused_and_told_who_has_it(
    here: Installation, name: str, type: str, facet: str, to: dict[str, Any]
) -> None:
    (answer,) = here.push(name, here.operation(name, new_id(), type, facet, to | {"parent": here.site}))
    assert (answer["result"], answer["code"], answer["facts"]["role"]) == ("refused", "no-right", name)
    assert answer["facts"]["right"]


@pytest.mark.parametrize(
    ("value", "code"),
    [
        ({"dark_lamps": 1}, "field-missing"),
        ({"count": 0}, "number-outside"),
        ({"count": -1}, "number-outside"),
        ({"count": 10_000}, "number-outside"),
        ({"count": "5"}, "number-wrong"),
        ({"count": 5.5}, "whole-wrong"),
        ({"count": True}, "number-wrong"),
        ({"count": None}, "number-wrong"),
        ({"count": 5, "dark": 1}, "field-unknown"),
        ({"count": 5, "sure": "perhaps"}, "choice-wrong"),
        ({"count": 5, "gone": [1, 1]}, "integers-wrong"),
        ({"count": 5, "gone": 3}, "integers-wrong"),
    ],
)
def test_a_wrong_value_is_refused_with_field_value_and_what_is_right(
    here: Installation, value: dict[str, Any], code: str
) -> None:
    (answer,) = here.push("surveyor", here.operation("surveyor", new_id(), "group", "count", value))
    assert (answer["result"], answer["code"]) == ("refused", code)
    assert answer["facts"]["where"] == "Fixture group, Count" or answer["facts"]["where"].endswith("Count")


def test_a_whole_number_with_a_point_is_a_whole_number(here: Installation) -> None:
    floor = new_id()
    operation = here.operation(
        "surveyor", floor, "floor", "identity", {"name": "F", "order": 3.0, "parent": here.site}
    )
    assert here.push("surveyor", operation)[0]["result"] == "applied"
    record = next(each for each in here.pull("manager")["records"] if each["id"] == floor)
    assert repr(record["facets"]["identity"]["value"]["order"]) == "3"


def test_half_a_surrogate_pair_in_one_note_holds_back_nothing_else(here: Installation) -> None:
    good = here.operation("surveyor", new_id(), "floor", "identity", {"name": "Whole", "parent": here.site})
    half = here.operation(
        "surveyor", new_id(), "floor", "identity", {"name": "cut \ud83d", "parent": here.site}
    )
    body = json.dumps({"device": DEVICES["surveyor"], "operations": [half, good]}).encode()
    for _ in range(2):  # and again, for the stored answer
        answer = here.call("surveyor", "POST", PUSH, data=body)
        assert [each["result"] for each in answer.json["answers"]] == ["refused", "applied"]
        assert answer.json["answers"][0]["code"] == "text-not-storable"


@pytest.mark.parametrize("number", [10**30, -(10**30), 1e300])
def test_numbers_beyond_all_bounds_are_refused_and_not_a_failure(here: Installation, number: float) -> None:
    operation = here.operation(
        "surveyor", new_id(), "floor", "identity", {"name": "N", "order": number, "parent": here.site}
    )
    body = json.dumps({"device": DEVICES["surveyor"], "operations": [operation]}).encode()
    answer = here.call("surveyor", "POST", PUSH, data=body)
    assert answer.status_code == 200, answer.text
    assert answer.json["answers"][0]["result"] == "refused"


def test_a_nul_in_a_text_is_refused(here: Installation) -> None:
    assert refused(here, to={"name": "a\0b", "parent": here.site})["code"] == "text-not-storable"


def test_one_bad_operation_among_a_thousand_leaves_999(here: Installation) -> None:
    operations = [
        here.operation("surveyor", new_id(), "floor", "identity", {"name": f"F{n}", "parent": here.site})
        for n in range(1000)
    ]
    operations[500]["to"] = {"name": ""}
    answers = here.push("surveyor", *operations)
    assert [answer["result"] for answer in answers].count("applied") == 999
    assert (answers[500]["result"], answers[500]["code"]) == ("refused", "text-empty")


def test_a_refused_operation_has_a_sentence_for_every_code(here: Installation) -> None:
    from spanwalk.words import words

    answer = refused(here, to={"name": 5, "parent": here.site})
    assert answer["code"] in words()
