"""Pushes that are wrong: a sentence that names the field, the value and what would be right; the rest arrives."""

from __future__ import annotations

import gzip
import json
from typing import Any

import orjson
import pytest
from tests.support.installation import DEVICES, Installation, new_id

from spanwalk import records

PUSH = "/api/sites/{site}/push"
NEWER = records.spec().number + 1


def problem(here: Installation, data: bytes, status: int, name: str = "surveyor", **headers: str) -> Any:
    answer = here.call(name, "POST", PUSH, data=data, headers={k.replace("_", "-"): v for k, v in headers.items()})
    assert answer.status_code == status, answer.text
    assert answer.mimetype == "application/problem+json"
    assert {"type", "title", "status", "detail", "code"} <= set(answer.json)
    return answer.json


def pulled(here: Installation, record: str) -> Any:
    """A record as it is read, however many others were pushed before."""
    return next(each for each in here.pull("manager", "since=0&limit=5000")["records"] if each["id"] == record)


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
def test_a_field_of_the_envelope_that_is_wrong_is_named(here: Installation, more: dict[str, Any], field: str) -> None:
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
    operation = here.operation("surveyor", new_id(), "floor", "identity", {"name": "Zip", "parent": here.site})
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


@pytest.mark.parametrize("id", ["", "7", "phone.1.2", None, 5, {"a": 1}, "00000000-0000-4000-8000-000000000001.XYZ.1"])
def test_an_operation_without_a_usable_id_is_refused_by_its_place(here: Installation, id: Any) -> None:
    answer = refused(here, id=id)
    assert (answer["code"], answer["facts"]["place"]) == ("operation-field-wrong", 2)


def test_a_record_type_from_the_future_is_refused_and_asks_for_a_newer_server(here: Installation) -> None:
    answer = refused(here, type="heat_pump", spec=99)
    assert (answer["code"], answer["facts"]) == (
        "record-type-unknown",
        {"type": "heat_pump", "spec": 99, "ours": NEWER - 1},
    )


def test_a_facet_that_this_spec_does_not_have_is_refused(here: Installation) -> None:
    assert refused(here, facet="colour", to={"colour": "red"})["code"] == "facet-unknown"


def test_a_facet_and_a_field_of_a_newer_spec_are_kept_and_handed_on(here: Installation) -> None:
    floor = new_id()
    to = {"name": "New", "parent": here.site, "fire_section": 4}
    answers = here.push(
        "surveyor",
        here.operation("surveyor", floor, "floor", "identity", to, spec=NEWER),
        here.operation("surveyor", floor, "floor", "colour", {"hue": "red", "sure": True}, spec=NEWER),
    )
    assert [answer["result"] for answer in answers] == ["applied", "applied"]
    record = pulled(here, floor)
    assert record["facets"]["identity"]["value"] == to
    assert record["facets"]["colour"]["value"] == {"hue": "red", "sure": True}


def test_known_fields_of_a_newer_spec_are_still_checked(here: Installation) -> None:
    answer = refused(here, to={"name": "x" * 81, "parent": here.site, "fire_section": 4}, spec=NEWER)
    assert (answer["code"], answer["facts"]["field"]) == ("text-long", "name")


def test_who_reads_only_does_not_write_a_facet_from_the_future(here: Installation) -> None:
    floor = here.floor()
    (answer,) = here.push("crew", here.operation("crew", floor, "floor", "colour", {"hue": "red"}, spec=NEWER))
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
    operation = here.operation("surveyor", floor, "floor", "identity", {"name": "F", "order": 3.0, "parent": here.site})
    assert here.push("surveyor", operation)[0]["result"] == "applied"
    record = pulled(here, floor)
    assert repr(record["facets"]["identity"]["value"]["order"]) == "3"


def test_half_a_surrogate_pair_in_one_note_holds_back_nothing_else(here: Installation) -> None:
    good = here.operation("surveyor", new_id(), "floor", "identity", {"name": "Whole", "parent": here.site})
    half = here.operation("surveyor", new_id(), "floor", "identity", {"name": "cut \ud83d", "parent": here.site})
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


# -- nested too deep, and other things that no text can hold


def nest(deep: int) -> Any:
    value: Any = 1
    for _ in range(deep):
        value = [value]
    return value


def nested(here: Installation, deep: int) -> bytes:
    """An operation whose field holds so many lists within each other, between two good ones."""
    floors = [
        here.operation("surveyor", new_id(), "floor", "identity", {"name": f"F{n}", "parent": here.site})
        for n in range(3)
    ]
    floors[1]["to"]["data"] = "HERE"
    text = json.dumps({"device": DEVICES["surveyor"], "operations": floors})
    return text.replace('"HERE"', "[" * deep + "]" * deep).encode()


@pytest.mark.parametrize("deep", [15, 16, 100, 253, 254, 255, 900, 976, 1000, 1015])
def test_what_is_nested_too_deep_is_refused_alone_and_the_rest_arrives(here: Installation, deep: int) -> None:
    data = nested(here, deep)
    for _ in range(2):  # and again, for the stored answer
        answer = here.call("surveyor", "POST", PUSH, data=data)
        assert answer.status_code == 200, answer.text
        assert [each["result"] for each in answer.json["answers"]] == ["applied", "refused", "applied"]
        assert answer.json["answers"][1]["code"] == "nested-too-deep"
        assert answer.json["answers"][1]["facts"] == {"most": 16}


def test_sixteen_within_each_other_are_not_too_deep_the_operation_and_its_value_counted(here: Installation) -> None:
    answer = here.call("surveyor", "POST", PUSH, data=nested(here, 14))
    assert answer.json["answers"][1]["code"] == "field-unknown"


@pytest.mark.parametrize("field", ["id", "by", "seen", "from", "settles", "formerly", "spec", "anything"])
@pytest.mark.parametrize("deep", [20, 1000])
def test_no_field_of_an_operation_is_too_deep_for_an_answer(here: Installation, field: str, deep: int) -> None:
    answer = refused_as_json(here, {field: "HERE"}, "[" * deep + "]" * deep)
    assert answer["code"] in ("nested-too-deep", "operation-field-wrong")


def refused_as_json(here: Installation, wrong: dict[str, Any], raw: str) -> Any:
    """The answer to one wrong operation among two good ones, with a piece of JSON written as it is in place of HERE."""
    floors = [
        here.operation("surveyor", new_id(), "floor", "identity", {"name": f"F{n}", "parent": here.site})
        for n in range(3)
    ]
    floors[1] |= wrong
    text = json.dumps({"device": DEVICES["surveyor"], "operations": floors}).replace('"HERE"', raw)
    answer = here.call("surveyor", "POST", PUSH, data=text.encode())
    assert answer.status_code == 200, answer.text
    assert [each["result"] for each in answer.json["answers"]] == ["applied", "refused", "applied"]
    return answer.json["answers"][1]


@pytest.mark.parametrize("deep", [20, 1000])
@pytest.mark.parametrize("field", ["unsent", "incarnation", "epoch", "x"])
def test_an_envelope_that_is_nested_too_deep_is_named(here: Installation, field: str, deep: int) -> None:
    device = DEVICES["surveyor"]
    data = f'{{"device": "{device}", "operations": [], "{field}": {"[" * deep}{"]" * deep}}}'.encode()
    told = problem(here, data, 422)
    assert (told["code"], told["field"]) == ("push-field-wrong", field)


@pytest.mark.parametrize("raw", ['"\\ud800"', '"\\ud800.0000000e.1"', '{"a": "\\udfff"}', '["\\ud800"]'])
@pytest.mark.parametrize("field", ["id", "seen", "settles", "formerly", "replaces", "record", "by", "device_time"])
def test_half_a_surrogate_pair_in_any_fixed_field_is_refused_alone(here: Installation, field: str, raw: str) -> None:
    refused_as_json(here, {field: "HERE"}, raw)


def test_half_a_surrogate_pair_in_a_former_name_is_refused_alone(here: Installation) -> None:
    refused_as_json(here, {"formerly": "HERE"}, '{"id": "\\ud800", "hash": "\\ud800"}')


@pytest.mark.parametrize("field", ["device", "epoch", "incarnation", "scope", "operations"])
def test_half_a_surrogate_pair_in_the_envelope_is_no_failure(here: Installation, field: str) -> None:
    about = {"device": DEVICES["surveyor"], "operations": []} | {field: "\ud800"}
    answer = here.call("surveyor", "POST", PUSH, data=json.dumps(about).encode())
    assert answer.status_code in (200, 409, 422), answer.text
    assert answer.status_code == 200 or answer.json["code"] in ("push-field-wrong", "incarnation-changed")


@pytest.mark.parametrize("counter", ["01", "007", "٣", "1" * 16, "", "-1", "1.5"])
def test_a_counter_is_written_in_one_way(here: Installation, counter: str) -> None:
    id = f"{DEVICES['surveyor']}.0000000e.{counter}"
    assert refused(here, id=id)["code"] == "operation-field-wrong"


@pytest.mark.parametrize("epoch", ["0000000E", "e", "0000000e0", "zzzzzzzz", 5, "0000000٣"])
def test_an_epoch_is_eight_hexadecimal_digits_in_lower_case(here: Installation, epoch: Any) -> None:
    told = problem(here, orjson.dumps({"device": DEVICES["surveyor"], "operations": [], "epoch": epoch}), 422)
    assert (told["code"], told["field"]) == ("push-field-wrong", "epoch")


@pytest.mark.parametrize("name", ["since", "limit", "unsent", "unsent_photos", "first_head"])
@pytest.mark.parametrize("text", ["9" * 5000, "9" * 20, "-1", "1.5", "x", "٣"])
def test_a_number_in_the_query_that_is_none_is_named(here: Installation, name: str, text: str) -> None:
    about = {"device": DEVICES["surveyor"], "unsent": "0"} | {name: text}
    answer = here.call("surveyor", "GET", "/api/sites/{site}/pull", query_string=about)
    assert (answer.status_code, answer.json["code"], answer.json["field"]) == (422, "query-wrong", name)


def test_a_count_that_no_column_holds_is_named(here: Installation) -> None:
    about = {"device": DEVICES["surveyor"], "unsent": str(2**40)}
    answer = here.call("surveyor", "GET", "/api/sites/{site}/pull", query_string=about)
    assert (answer.status_code, answer.json["code"], answer.json["field"]) == (422, "query-wrong", "unsent")


def test_three_hundred_thousand_ids_are_no_failure(here: Installation) -> None:
    ids = [str(number) for number in range(300_000)]
    answer = here.call("manager", "POST", "/api/sites/{site}/held", json={"release": ids})
    assert (answer.status_code, answer.json["code"], answer.json["most"]) == (413, "ids-too-many", 1000)
    floor = here.floor()
    settling = here.operation("surveyor", floor, "floor", "identity", {"name": "S", "parent": here.site})
    assert here.push("surveyor", settling | {"settles": ids})[0]["result"] == "conflict"
    seen = {f"f{number}": None for number in range(200_000)} | {"identity": "x"}
    removing = here.operation("surveyor", floor, "floor", "life", kind="remove", seen=seen)
    assert here.push("surveyor", removing)[0]["result"] == "conflict"


def test_ids_that_cannot_be_ids_are_passed_over(here: Installation) -> None:
    answer = here.call("manager", "POST", "/api/sites/{site}/held", json={"release": ["a\0b", "ü"], "refuse": ["\0"]})
    assert (answer.status_code, answer.json) == (200, {"answers": []})


# -- a conflict is closed by whoever may write what it is about


DECISIONS = [{"decision": each} for each in records.spec().types["group"].facets["decision"].fields["decision"].choices]


def disputed(here: Installation, facet: str, first: Any, second: Any) -> tuple[str, str]:
    """A group of which the manager and the owner have said different things; its id and the conflict's."""
    room, kind, group = new_id(), new_id(), new_id()
    here.push(
        "manager",
        here.operation("manager", room, "room", "identity", {"number": "1", "parent": here.floor()}),
        here.operation("manager", kind, "kind", "identity", {"mark": "K1", "parent": here.site}),
        here.operation("manager", group, "group", "identity", {"parent": room, "kind": kind}),
        here.operation("manager", group, "group", facet, first),
    )
    losing = here.operation("owner", group, "group", facet, second)
    assert here.push("owner", losing)[0]["result"] == "conflict"
    return group, losing["id"]


def conflicts_of(here: Installation, id: str) -> list[str]:
    return [each["id"] for each in record_of(here, id)["conflicts"]]


def record_of(here: Installation, id: str) -> Any:
    page = here.pull("manager", "limit=2000")
    while not (found := [each for each in page["records"] if each["id"] == id]):
        assert page["more"], "the record is nowhere"
        page = here.pull("manager", f"limit=2000&since={page['next']}")
    return found[0]


def test_who_may_not_write_what_a_conflict_is_about_does_not_close_it(here: Installation) -> None:
    group, conflict = disputed(here, "decision", *DECISIONS[:2])
    counting = here.operation("surveyor", group, "group", "count", {"count": 4}, settles=[conflict])
    (answer,) = here.push("surveyor", counting)
    assert (answer["result"], answer["code"]) == ("refused", "no-right")
    assert answer["facts"]["facet"] == "Decision"
    assert answer["facts"]["role"] == "surveyor"
    assert conflicts_of(here, group) == [conflict]
    again = here.operation("manager", group, "group", "count", {"count": 4}, settles=[conflict])
    assert here.push("manager", again)[0]["result"] == "applied"
    assert conflicts_of(here, group) == []


def test_nobody_closes_a_conflict_by_signing_for_another(here: Installation) -> None:
    group, conflict = disputed(here, "decision", *DECISIONS[:2])
    signed = here.operation("surveyor", group, "group", "count", {"count": 5}, settles=[conflict])
    (answer,) = here.push("surveyor", signed | {"by": here.people["manager"]})
    assert answer["result"] == "held"
    assert conflicts_of(here, group) == [conflict]


def test_a_conflict_that_the_same_push_opens_is_guarded_too(here: Installation) -> None:
    group, _ = disputed(here, "decision", *DECISIONS[:2])
    losing = here.operation("owner", group, "group", "decision", DECISIONS[2])
    closing = here.operation("surveyor", group, "group", "count", {"count": 6}, settles=[losing["id"]])
    answers = here.push("owner", losing, closing)
    assert answers[0]["result"] == "conflict"
    assert (answers[1]["result"], answers[1]["code"]) == ("refused", "no-right")
    assert losing["id"] in conflicts_of(here, group)


def test_who_writes_what_a_conflict_is_about_closes_it_from_another_part(here: Installation) -> None:
    group, conflict = disputed(here, "count", {"count": 3}, {"count": 4})
    identity = record_of(here, group)["facets"]["identity"]
    (answer,) = here.push(
        "surveyor",
        here.operation(
            "surveyor", group, "group", "identity", identity["value"], seen=identity["op"], settles=[conflict]
        ),
    )
    assert answer["result"] == "applied"
    assert conflicts_of(here, group) == []


@pytest.mark.parametrize(
    ("zone", "result"), [("America/Denver", "applied"), ("Asia/Calcutta", "applied"), ("America/Denvr", "refused")]
)
def test_a_time_zone_that_nobody_knows_is_refused_and_not_taken_for_greenwich(
    here: Installation, zone: str, result: str
) -> None:
    held = pulled(here, here.site)["facets"]
    value = {**held["settings"]["value"], "time_zone": zone}
    told = here.operation("manager", here.site, "site", "settings", value, seen=held["settings"]["op"])
    (answer,) = here.push("manager", told)
    assert answer["result"] == result, answer
    if result == "refused":
        facts = {name: answer["facts"][name] for name in ("field", "value", "example")}
        assert (answer["code"], facts) == (
            "text-unlike",
            {"field": "time_zone", "value": zone, "example": "America/Denver"},
        )


def test_a_site_is_not_made_with_a_time_zone_that_nobody_knows(here: Installation) -> None:
    body = {"name": "Mill", "settings": {"units": "inches", "time_zone": "America/Denvr"}}
    answer = here.call("owner", "POST", "/api/sites", json=body)
    assert (answer.status_code, answer.json["code"]) == (422, "text-unlike")
