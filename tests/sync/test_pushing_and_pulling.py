"""Push and pull together: pages, echo, digest, what is repeated and what a backup changes."""

from __future__ import annotations

import gzip
import threading
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import brotli
import orjson
import pytest
from sqlalchemy import select
from sqlalchemy.exc import IntegrityError
from tests.support.installation import DEVICES, Installation, installed, new_id

from spanwalk.app import create_app
from spanwalk.services.bootstrap import begin_incarnation
from spanwalk.services.people.people import set_role
from spanwalk.services.sync import pushing
from spanwalk.services.sync.state import site_records
from spanwalk.storage import json_text
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import Operation, db
from spanwalk.sync.canonical import canonical, operation_hash
from spanwalk.sync.digest import digest, digest_line


@pytest.fixture
def alone(back_end: str, tmp_path: Any) -> Iterator[Installation]:
    """An installation for one test."""
    with installed(tmp_path / "data", back_end) as made:
        yield made


def floors(here: Installation, count: int) -> list[dict[str, Any]]:
    return [
        here.operation("surveyor", new_id(), "floor", "identity", {"name": f"F{n}", "parent": here.site})
        for n in range(count)
    ]


def all_pages(here: Installation, name: str, limit: int, query: str = "") -> list[dict[str, Any]]:
    pages, since = [], 0
    while True:
        pages.append(here.pull(name, f"since={since}&limit={limit}&{query}"))
        since = pages[-1]["next"]
        if not pages[-1]["more"]:
            return pages


def test_pages_hold_every_record_once_in_order_and_the_last_has_count_and_digest(alone: Installation) -> None:
    alone.push("surveyor", *floors(alone, 25))
    pages = all_pages(alone, "surveyor", 10)
    sequences = [record["seq"] for page in pages for record in page["records"]]
    assert [len(page["records"]) for page in pages] == [10, 10, 6]
    assert sequences == sorted(set(sequences))
    assert ["sum" in page for page in pages] == [False, False, True]
    lines = [digest_line(record) for page in pages for record in page["records"]]
    assert (pages[-1]["count"], pages[-1]["sum"]) == digest(line for line in lines if line is not None)


def test_nothing_new_is_one_short_page(alone: Installation) -> None:
    head = alone.pull("surveyor")["head"]
    page = alone.pull("surveyor", f"since={head}")
    assert (page["records"], page["next"], page["more"]) == ([], head, False)


def test_own_values_are_not_sent_back_but_their_writers_are(alone: Installation) -> None:
    (operation,) = floors(alone, 1)
    alone.push("surveyor", operation)
    mine = alone.pull("surveyor", f"device={DEVICES['surveyor']}")["records"][-1]
    assert mine["facets"]["identity"]["op"] == operation["id"]
    assert "value" not in mine["facets"]["identity"]
    others = alone.pull("surveyor", f"device={DEVICES['crew']}")["records"][-1]
    assert others["facets"]["identity"]["value"] == operation["to"]


def test_the_digest_is_the_same_whether_or_not_own_values_were_left_out(alone: Installation) -> None:
    alone.push("surveyor", *floors(alone, 3))
    with_echo, without = alone.pull("surveyor"), alone.pull("surveyor", f"device={DEVICES['surveyor']}")
    assert with_echo["sum"] == without["sum"]


def removed_floor(here: Installation) -> str:
    (made,) = floors(here, 1)
    gone = here.operation("surveyor", made["record"], "floor", "life", kind="remove", seen={"identity": made["id"]})
    answers = here.push("surveyor", made, gone)
    assert [answer["result"] for answer in answers] == ["applied", "applied"]
    return str(made["record"])


def test_a_first_pull_brings_no_tombstones_and_a_later_one_does(alone: Installation) -> None:
    before = alone.pull("surveyor")["head"]
    record = removed_floor(alone)
    assert record not in {each["id"] for each in alone.pull("surveyor")["records"]}
    later = {each["id"]: each for each in alone.pull("surveyor", f"since={before}")["records"]}
    assert later[record]["removed"]
    assert later[record]["facets"]["life"]["value"] == {"removed": True}


def test_later_pages_of_a_first_pull_leave_out_old_tombstones_only(alone: Installation) -> None:
    record = removed_floor(alone)
    head = alone.pull("surveyor")["head"]
    assert record not in {each["id"] for each in alone.pull("surveyor", f"since=1&first_head={head}")["records"]}
    assert record in {each["id"] for each in alone.pull("surveyor", f"since=1&first_head={head - 1}")["records"]}


def test_a_removed_record_with_an_open_conflict_is_brought_at_first_and_counted(alone: Installation) -> None:
    record = removed_floor(alone)
    without = alone.pull("surveyor")["count"]
    (answer,) = alone.push(
        "manager",
        alone.operation("manager", record, "floor", "identity", {"name": "Late", "parent": alone.site}),
    )
    assert answer["result"] == "conflict"
    page = alone.pull("surveyor")
    assert record in {each["id"] for each in page["records"]}
    assert page["count"] == without + 1


def test_a_conflict_answer_holds_the_kept_state_and_the_conflict(alone: Installation) -> None:
    (made,) = floors(alone, 1)
    alone.push("surveyor", made)
    late = alone.operation("manager", made["record"], "floor", "identity", {"name": "Other", "parent": alone.site})
    (answer,) = alone.push("manager", late)
    assert answer["result"] == "conflict"
    assert answer["record"]["facets"]["identity"]["value"]["name"] == "F0"
    assert [conflict["id"] for conflict in answer["record"]["conflicts"]] == [late["id"]]
    assert answer["seq"] == answer["record"]["seq"]


def test_a_push_again_repeats_its_answers_and_writes_nothing(alone: Installation) -> None:
    operations = floors(alone, 5)
    operations[2]["to"] = {"name": "no parent"}
    told = alone.push("surveyor", *operations)
    head = alone.pull("surveyor")["head"]
    assert alone.push("surveyor", *operations) == told
    assert alone.pull("surveyor")["head"] == head


def test_what_refers_to_a_refused_record_names_the_refusal_even_when_that_is_sent_again(
    alone: Installation,
) -> None:
    """The answer was lost, and meanwhile the person has got the right: the old refusal stands, and is named."""
    floor, room = new_id(), new_id()
    made = [
        alone.operation("crew", floor, "floor", "identity", {"name": "Ground", "parent": alone.site}),
        alone.operation("crew", room, "room", "identity", {"name": "Boiler", "parent": floor}),
    ]
    alone.push("crew", *made)
    with alone.app.app_context(), writing() as session:
        set_role(session, alone.site, alone.people["crew"], "surveyor")
    again = alone.operation("crew", room, "room", "identity", {"name": "Plant", "parent": floor}, seen=made[1]["id"])
    _, _, answer = alone.push("crew", *made, again)
    assert (answer["code"], answer["facts"]["operation"]) == ("refers-to-refused", made[0]["id"])
    corrected = alone.operation("crew", floor, "floor", "identity", made[0]["to"], replaces=made[0]["id"])
    ceiling = alone.operation("crew", room, "room", "ceiling", {"note": "low"})
    early, mended, late = alone.push("crew", ceiling, corrected, ceiling)
    assert early["facts"]["operation"] in (made[1]["id"], again["id"])
    assert (mended["result"], late) == ("applied", early)
    hours = alone.operation("crew", room, "room", "hours", {"hours_year": 8})
    before, made_now = alone.push("crew", hours, alone.operation("crew", room, "room", "identity", made[1]["to"]))
    assert (before["code"], made_now["result"]) == ("refers-to-refused", "applied")


def test_every_operation_received_is_in_the_log_with_who_made_and_who_sent_it(alone: Installation) -> None:
    (operation,) = floors(alone, 1)
    alone.push("manager", operation)
    with alone.app.app_context(), reading() as session:
        row = session.execute(select(Operation).where(Operation.id == operation["id"])).scalar_one()
        assert (row.person, row.sender, row.result) == (
            alone.people["surveyor"],
            alone.people["manager"],
            "applied",
        )
        assert row.hash == operation_hash(operation)
        assert json_text.loads(row.body) == operation


def test_a_server_set_back_is_told_by_its_incarnation(alone: Installation) -> None:
    before = alone.pull("surveyor")["incarnation"]
    with alone.app.app_context():
        begin_incarnation()
    answer = alone.call("surveyor", "GET", f"/api/sites/{{site}}/pull?incarnation={before}")
    assert (answer.status_code, answer.json["code"]) == (409, "incarnation-changed")
    assert answer.json["incarnation"] == alone.pull("surveyor")["incarnation"]


def test_a_cursor_ahead_of_the_server_is_told_so(alone: Installation) -> None:
    answer = alone.call("surveyor", "GET", "/api/sites/{site}/pull?since=999")
    assert (answer.status_code, answer.json["code"]) == (409, "cursor-ahead")


@pytest.mark.parametrize(
    "query",
    ["since=-1", "since=x", "since=1.5", "limit=many", "device=phone", "since=" + "9" * 30, "since=٣"],
)
def test_a_query_that_cannot_be_used_is_named(alone: Installation, query: str) -> None:
    answer = alone.call("surveyor", "GET", f"/api/sites/{{site}}/pull?{query}")
    assert (answer.status_code, answer.json["code"]) == (422, "query-wrong")
    assert answer.json["field"] == query.split("=")[0]


@pytest.mark.parametrize(
    ("accepted", "coding"),
    [("gzip", "gzip"), ("gzip, deflate, br", "br"), ("br;q=0, gzip", "gzip"), ("br", "br"), ("*", "br")],
)
def test_long_pages_are_compressed_as_is_accepted(alone: Installation, accepted: str, coding: str) -> None:
    alone.push("surveyor", *floors(alone, 50))
    plain = alone.call("surveyor", "GET", "/api/sites/{site}/pull")
    short = alone.call("surveyor", "GET", "/api/sites/{site}/pull", headers={"Accept-Encoding": accepted})
    assert "Content-Encoding" not in plain.headers
    assert short.headers["Content-Encoding"] == coding
    assert short.headers["Vary"] == "Accept-Encoding"
    assert {"br": brotli.decompress, "gzip": gzip.decompress}[coding](short.data) == plain.data
    assert len(short.data) < len(plain.data) / 2


@pytest.mark.parametrize("accepted", ["gzip;q=0", "deflate", "identity, gzip;q=0.0"])  # RFC 9110, 12.5.3: 0 is "not"
def test_a_long_page_is_not_zipped_for_who_refuses_it(alone: Installation, accepted: str) -> None:
    alone.push("surveyor", *floors(alone, 50))
    answer = alone.call("surveyor", "GET", "/api/sites/{site}/pull", headers={"Accept-Encoding": accepted})
    assert "Content-Encoding" not in answer.headers


# -- many at once


def test_a_reader_pulling_in_a_loop_never_skips_a_sequence(alone: Installation) -> None:
    """Six writers, one reader whose cursor follows: at the end it holds all that was written."""
    seen: set[str] = set()
    stop = threading.Event()
    failures: list[BaseException] = []

    def write(number: int) -> None:
        try:
            client, device = alone.app.test_client(), new_id()
            for counter in range(20):
                operation = alone.operation(
                    "surveyor", new_id(), "floor", "identity", {"name": "W", "parent": alone.site}
                )
                operation["id"] = f"{device}.0000000e.{counter}"
                body = orjson.dumps({"device": device, "operations": [operation]})
                client.set_cookie("spanwalk_session", token)
                answer = client.post(
                    f"/api/sites/{alone.site}/push", data=body, headers={"Sec-Fetch-Site": "same-origin"}
                )
                assert answer.json["answers"][0]["result"] == "applied", answer.text
        except BaseException as failure:
            failures.append(failure)

    def read() -> None:
        client, cursor = alone.app.test_client(), 0
        client.set_cookie("spanwalk_session", token)
        while True:
            last = stop.is_set()
            page = client.get(f"/api/sites/{alone.site}/pull?since={cursor}&limit=3").json
            seen.update(record["id"] for record in page["records"])
            cursor = page["next"]
            if last and not page["more"]:
                return

    token = alone.client("surveyor").get_cookie("spanwalk_session").value  # type: ignore[union-attr]
    writers = [threading.Thread(target=write, args=(number,)) for number in range(6)]
    reader = threading.Thread(target=read)
    for thread in (*writers, reader):
        thread.start()
    for thread in writers:
        thread.join()
    stop.set()
    reader.join()
    assert failures == []
    with alone.app.app_context(), reading() as session:
        assert seen == {record["id"] for record in site_records(session, alone.site)}


# -- the database says no


def test_when_the_database_refuses_one_operation_the_others_arrive(
    alone: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    operations = floors(alone, 9)
    bad, write = operations[4]["id"], pushing.write

    def refusing(session: Any, member: Any, decision: Any) -> None:
        if any(row.operation.id == bad and row.operation.body != "{}" for row in decision.log):
            raise IntegrityError("insert", {}, Exception("a rule of the database"))
        write(session, member, decision)

    monkeypatch.setattr(pushing, "write", refusing)
    answers = alone.push("surveyor", *operations)
    assert [answer["result"] for answer in answers] == ["applied"] * 4 + ["refused"] + ["applied"] * 4
    assert answers[4]["code"] == "database-refused"


def test_a_locked_database_is_told_as_busy_and_nothing_is_answered(alone: Installation) -> None:
    cookie = alone.client("surveyor").get_cookie("spanwalk_session")
    impatient = create_app(replace(alone.app.extensions["spanwalk"], busy_timeout_s=0.05))
    client = impatient.test_client()
    client.set_cookie("spanwalk_session", cookie.value if cookie else "")
    operations = floors(alone, 1)
    body = orjson.dumps({"device": DEVICES["surveyor"], "operations": operations})
    to = f"/api/sites/{alone.site}/push"
    with alone.app.app_context(), writing() as session:
        pushing.lock_site(session, alone.site)
        answer = client.post(to, data=body, headers={"Sec-Fetch-Site": "same-origin"})
    assert (answer.status_code, answer.headers["Retry-After"]) == (503, "5")
    assert (answer.json or {})["code"] == "database-busy"
    assert [each["result"] for each in alone.push("surveyor", *operations)] == ["applied"], "sent again when free"
    with impatient.app_context():
        db.engine.dispose()


# -- one text for one value


@pytest.mark.parametrize(
    "value",
    [
        {"b": 1, "a": [1.5, 0.0001, -2]},
        'é \u2028 " \\ \n',
        [True, False, None],
        {"ü": {}},
        123456789012345,
        0.1 + 0.2,
        99999.9999,
    ],
)
def test_the_database_and_the_rules_write_a_value_alike(value: Any) -> None:
    assert json_text.dumps(value) == canonical(value)
