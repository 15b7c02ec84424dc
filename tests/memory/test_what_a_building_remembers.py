"""Years later: what is fitted where, since when, under which warranty; failures claimed, batches recalled, tests due.

Nothing told here names a person: the firm is named, for a building outlives the people who worked on it.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import Any
from uuid import uuid4

import pypdfium2
import pytest
from sqlalchemy.orm import Session
from tests.archives.conftest import Closed, a_closed_demo
from tests.handover.some_report import a_picture
from tests.handover.test_report_of_the_demo_building import no_duty
from tests.memory.other_calendar import events_of
from tests.open_points.complete_site import Hand
from tests.support.server import PASSWORD, Client

from spanwalk.app import create_app
from spanwalk.config import read_settings
from spanwalk.rules.installing.as_fitted import released_items
from spanwalk.rules.survey import Survey
from spanwalk.services.memory.claims import claims_of
from spanwalk.services.memory.gathering import groups_that_failed, groups_that_name, records_of_spares
from spanwalk.services.memory.remembering import Memory, memory_of, spares_in, with_item
from spanwalk.services.sync.state import site_records
from spanwalk.storage.database import reading

Json = Any
TODAY = date(2028, 2, 2)


@pytest.fixture(scope="module")
def closed(demo_data: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Closed]:
    made = a_closed_demo(demo_data, tmp_path_factory.mktemp("memory"), items=ITEMS, emergency=True)
    body = {"name": "Facility desk", "password": PASSWORD, "owner": False}
    status, told = made.owner.call("POST", "/api/people", body)
    assert status == 201, told
    put = {"name": "Facility desk", "role": "facility"}
    assert made.owner.call("PUT", f"/api/sites/{made.site}/people", put)[0] in (200, 204)
    yield made
    made.server.stop()


ITEMS = [
    {"kind": "bar", "code": "TERN-4", "number": 2, "serials": ["LOT-77"]},
    {"kind": "driver", "code": "HERON-30", "number": 1, "setting_ma": 700, "serials": ["H-0001"], "spare": True},
]


@pytest.fixture(scope="module")
def facility(closed: Closed) -> Hand:
    return Hand(Client(closed.server.url, "Facility desk"), closed.site)


def group_of(closed: Closed) -> str:
    return str(closed.noted_first[0])


def remembered(hand: Hand, closed: Closed, position: int = 1) -> Json:
    return hand.client.get(f"/api/sites/{closed.site}/memory/{group_of(closed)}/{position}")


def report(hand: Hand, closed: Closed, **more: Json) -> str:
    identity = {"position": 1, "sign": "flickers", "item": "HERON-30", "serials": "H-0001", "hours": 9000}
    return hand.make("failure", group_of(closed), {**identity, "noted_at": "2028-01-10T09:00:00Z"} | more)


def count_of(closed: Closed, conversion: Json) -> int:
    group = next(each for each in closed.hand.records("group") if each["id"] == conversion["identity"]["parent"])
    return int(group["count"]["count"])


def pdf_text(data: bytes) -> str:
    return " ".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(data)).replace("\r\n", " ")


def test_the_facility_manager_reads_what_is_fitted_and_no_person_is_named(closed: Closed, facility: Hand) -> None:
    told = remembered(facility, closed)
    assert (told["state"], told["fitted_on"], told["takes_no_lamps"]) == ("done", "2026-04-02", True)
    assert [(each["code"], each["serials"]) for each in told["items"]] == [
        ("TERN-4", ["LOT-77"]),
        ("HERON-30", ["H-0001"]),
    ]
    assert told["wiring"]
    assert told["firm"] == "Slipway Electrical"
    people = {each["name"] for each in closed.owner.get(f"/api/sites/{closed.site}/people")["people"]}
    assert len(people) > 3
    assert not [name for name in people if f'"{name}"' in json.dumps(told)]
    assert remembered(facility, closed, 2)["state"] == "not-noted"


def test_warranty_runs_from_the_day_it_was_fitted_for_the_years_of_the_catalogue(
    closed: Closed, facility: Hand
) -> None:
    rows = {each["identity"]["code"]: each for each in closed.hand.records("catalogue_item")}
    checked = 0
    for item in remembered(facility, closed)["items"]:
        years = rows[item["code"]].get("supply", {}).get("warranty_years")
        assert item["warranty_years"] == years
        if years:
            checked += 1
            assert item["warranty_ends"] == f"{2026 + int(years)}-04-02"
            today = date.fromisoformat(closed.owner.get(f"/api/sites/{closed.site}/archive")["made_at"][:10])
            left = (date(2026 + int(years), 4, 2) - today).days + 1
            assert item["warranty_days_left"] in (max(0, left), max(0, left - 1))
    assert checked > 0


def test_a_failure_is_reported_on_a_closed_site_with_photos_and_gives_a_letter(closed: Closed, facility: Hand) -> None:
    failure = report(facility, closed, note="Blinks twice a minute")
    picture = a_picture(5)
    name = sha256(picture).hexdigest()
    facility.make("photo", closed.site, {"subject": failure, "purpose": "damage", "sha256": name})
    path = f"/api/sites/{closed.site}/photos/{name}"
    assert facility.client.call("PUT", path, raw=picture, Content_Type="image/jpeg")[0] == 201
    (told,) = [each for each in remembered(facility, closed)["failures"] if each["id"] == failure]
    assert (told["sign"], told["item"], told["photos"]) == ("flickers", "HERON-30", [name])
    address = f"/api/sites/{closed.site}/memory/{group_of(closed)}/1/claim-{failure}.pdf"
    text = pdf_text(facility.client.get(address))
    for wanted in (
        "Claim under warranty",
        "HERON-30",
        "H-0001",
        "2026-04-02",
        "9000",
        "Blinks twice a minute",
        "flickers",
    ):
        assert wanted in text
    assert "prove it dead" in text


def step(hand: Hand, failure: str, state: str, on: str, **more: Json) -> str:
    return hand.make("claim_step", failure, {"state": f"claim-{state}", "on": on, **more})


def claim_of(hand: Hand, closed: Closed, failure: str) -> Json:
    told = hand.client.get(f"/api/sites/{closed.site}/claims")["claims"]
    return next(each for each in told if each["failure"]["id"] == failure)


def test_a_claim_goes_its_way_on_a_closed_site_step_by_step_with_day_by_whom_and_letter(
    closed: Closed, facility: Hand
) -> None:
    failure = report(facility, closed, noted_at="2027-01-10T09:00:00Z")
    assert claim_of(facility, closed, failure)["state"] == "not-sent"
    step(facility, failure, "sent", "2028-01-11")
    pdf = b"%PDF-1.4\ntrailer<</Root 1 0 R>>\n%%EOF\n"
    name = sha256(pdf).hexdigest()
    path = f"/api/sites/{closed.site}/attachments/{name}"
    assert closed.owner.call("PUT", path, raw=pdf, Content_Type="application/octet-stream")[0] == 201
    firm = closed.hand.hand
    letter = {"sha256": name, "media": "pdf", "name": "answer.pdf", "purpose": "claim-letter"}
    attached = firm.make("attachment", closed.site, letter)
    by = {"by": "=HYPERLINK(1)", "reference": "RMA 7", "note": "שלום, keeps; =1+1", "attachment": attached}
    step(firm, failure, "accepted", "2028-01-20", **by)
    told = claim_of(facility, closed, failure)
    assert (told["state"], told["since"], told["open"]) == ("claim-accepted", "2028-01-20", True)
    assert [each["state"] for each in told["failure"]["steps"]] == ["claim-sent", "claim-accepted"]
    assert told["failure"]["steps"][1]["attachment"] == attached
    rows = list(
        csv.reader(io.StringIO(facility.client.get(f"/api/sites/{closed.site}/claims.csv").decode("utf-8-sig")))
    )
    (accepted,) = [row for row in rows if "RMA 7" in row]
    assert accepted[-3:] == ["'=HYPERLINK(1)", "RMA 7", "שלום, keeps;' =1+1".replace("' =", " '=")]
    text = pdf_text(facility.client.get(f"/api/sites/{closed.site}/memory/{group_of(closed)}/1/claim-{failure}.pdf"))
    assert "RMA 7" in text
    step(firm, failure, "replaced", "2028-02-01")
    assert claim_of(facility, closed, failure)["open"] is False
    claims = facility.client.get(f"/api/sites/{closed.site}/claims")["claims"]
    assert [each["open"] for each in claims] == sorted((each["open"] for each in claims), reverse=True)


def test_on_a_closed_site_only_letters_about_claims_are_attached(closed: Closed) -> None:
    firm = closed.hand.hand
    invoice = {"sha256": "b" * 64, "media": "pdf", "name": "bill.pdf", "purpose": "invoice"}
    operation = firm.operation(str(uuid4()), "attachment", "identity", {"parent": closed.site, **invoice})
    body = {"device": firm.device, "epoch": "0000000a", "unsent": {"operations": 0, "photos": 0}}
    status, told = closed.hand.client.call(
        "POST", f"/api/sites/{closed.site}/push", {**body, "operations": [operation]}
    )
    assert (status, told["code"]) == (409, "site-archived")


def test_all_else_stays_as_it_is_on_a_closed_site(closed: Closed, facility: Hand) -> None:
    manager = closed.hand.hand
    body = {"device": manager.device, "epoch": "0000000a", "unsent": {"operations": 0, "photos": 0}}
    for type_name, parent, to in (
        ("floor", closed.site, {"name": "Roof"}),
        ("photo", closed.site, {"subject": group_of(closed), "purpose": "other", "sha256": "a" * 64}),
    ):
        operation = manager.operation(str(uuid4()), type_name, "identity", {"parent": parent, **to})
        status, told = closed.hand.client.call(
            "POST", f"/api/sites/{closed.site}/push", {**body, "operations": [operation]}
        )
        assert (status, told["code"]) == (409, "site-archived")


def test_the_facility_manager_sees_none_of_the_firms_work(closed: Closed, facility: Hand) -> None:
    pulled = facility.client.get(f"/api/sites/{closed.site}/pull?since=0&limit=5000")["records"]
    kinds = {each["type"] for each in pulled}
    assert {"room", "group", "label"} <= kinds
    assert not kinds & {
        "installation",
        "money",
        "price",
        "release_sums",
        "catalogue_item",
        "conversion",
        "visit",
        "question",
    }
    for path in (
        "handover.pdf",
        "handover/files",
        "plan",
        "people",
        "emergency-tests",
        "audit",
        "recall?item=x",
        "releases",
    ):
        assert facility.client.call("GET", f"/api/sites/{closed.site}/{path}")[0] in (403, 405), path
    assert facility.client.call("POST", f"/api/sites/{closed.site}/archive")[0] == 403


def test_what_replaced_it_is_in_it_from_then_on_and_is_taken_from_the_spares(closed: Closed, facility: Hand) -> None:
    before = {each["code"]: each["spares"] for each in remembered(facility, closed)["items"]}
    failure = report(facility, closed)
    done = {"how": "from-spares", "item": "HERON-30", "serials": "H-0002", "on": "2028-01-12", "number": 1}
    facility.save(failure, "failure", replaced=done)
    items = remembered(facility, closed)["items"]
    (new,) = [each for each in items if each["serials"] == ["H-0002"]]
    assert (new["fitted_on"], new["spares"]) == ("2028-01-12", before["HERON-30"] - 1)


def test_a_recall_lists_exactly_the_fixtures_of_an_item_or_a_batch(closed: Closed) -> None:
    def rows(query: str) -> list[list[str]]:
        return list(closed.hand.client.get(f"/api/sites/{closed.site}/recall?{query}")["rows"])

    (row,) = rows("serial=lot-77")
    assert rows("item=TERN-4&serial=LOT-77") == [row]
    assert rows("item=TERN-4&serial=H-0001") == [] == rows("serial=LOT-7")
    room = closed.hand.hand.state(closed.hand.hand.state(group_of(closed))["parent"])["facets"]
    assert room["identity"]["value"]["number"] in row[1]
    status, problem = closed.hand.client.call("GET", f"/api/sites/{closed.site}/recall")
    assert (status, problem["code"]) == (422, "memory.recall.what")
    text = closed.hand.client.get(f"/api/sites/{closed.site}/recall.csv?serial=LOT-77").decode("utf-8-sig")
    assert list(csv.reader(io.StringIO(text)))[1] == [*row, ""]
    paper = pdf_text(closed.hand.client.get(f"/api/sites/{closed.site}/recall.pdf?serial=LOT-77"))
    assert "LOT-77" in paper
    assert "prove it dead" in paper


def test_a_recall_of_a_batch_lists_apart_where_its_number_was_not_noted(closed: Closed) -> None:
    """Who is told of the noted fixtures only believes that all others are sound."""
    other = next(
        each
        for each in filter(no_duty, closed.hand.records("conversion"))
        if any(item["code"] == "HERON-30" for item in released_items(each["identity"]["frozen"], 5, 9))
        and count_of(closed, each) > 5
    )
    fitted = [{"kind": "driver", "code": "HERON-30", "number": 1, "setting_ma": 700}]
    owner = Hand(closed.owner, closed.site)
    again = {"archived": False, "reason": "More was found"}
    assert closed.owner.call("PUT", f"/api/sites/{closed.site}/archived", again)[0] == 204
    closed.hand.note(other, 4, as_fitted={"as_released": False, "items": fitted})
    closed.hand.note(other, 5)
    closed.hand.note(other, 3, as_fitted={"as_released": False, "items": [fitted[0] | {"serials": ["H-0777"]}]})
    assert closed.owner.call("PUT", f"/api/sites/{closed.site}/archived", {"archived": True})[0] == 204
    group = other["identity"]["parent"]
    for query in ("serial=h-0001", "item=HERON-30&serial=H-0001"):
        told = owner.client.get(f"/api/sites/{closed.site}/recall?{query}")
        assert [(each["group"], each["position"]) for each in told["fixtures"]] == [(group_of(closed), 1)], query
        unsure = [(each["group"], each["position"]) for each in told["unsure_fixtures"]]
        assert {(group, 4), (group, 5)} <= set(unsure), query
        assert not {(group, 3), (group_of(closed), 1)} & set(unsure), query
        assert len(told["unsure_rows"]) == len(unsure)
    query = "item=HERON-30&serial=H-0001"
    rows = list(
        csv.reader(io.StringIO(owner.client.get(f"/api/sites/{closed.site}/recall.csv?{query}").decode("utf-8-sig")))
    )
    assert rows[0][-1] == "How sure"
    assert [row[-1] for row in rows[1:]] == ["", *["may have it: no number noted"] * len(unsure)]
    assert "May have it" in pdf_text(owner.client.get(f"/api/sites/{closed.site}/recall.pdf?{query}"))
    assert owner.client.get(f"/api/sites/{closed.site}/recall?item=HERON-30")["unsure_rows"] == []


def test_a_recall_of_some_days_lists_what_was_fitted_then(closed: Closed) -> None:
    """The fixture with the batch is of 2026-04-02 or what its phone says: asked for by its own day, and by others."""

    def told(query: str) -> Json:
        return closed.hand.client.get(f"/api/sites/{closed.site}/recall?serial=LOT-77&{query}")

    whole = told("")
    (row,) = whole["rows"]
    day = row[whole["heads"].index("Fitted on")]
    assert day
    assert told(f"fitted_from={day}&fitted_to={day}")["rows"] == [row]
    assert told(f"fitted_from={day}")["rows"] == told(f"fitted_to={day}")["rows"] == [row]
    assert told("fitted_to=2001-01-01")["rows"] == told("fitted_from=2101-01-01")["rows"] == []
    assert len(told("fitted_to=2001-01-01")["unsure_rows"]) <= len(whole["unsure_rows"])
    status, _ = closed.hand.client.call("GET", f"/api/sites/{closed.site}/recall?serial=LOT-77&fitted_from=soon")
    assert status == 422
    at = f"/api/sites/{closed.site}/recall.pdf?serial=LOT-77&fitted_from={day}"
    assert f"fitted {day} to" in pdf_text(closed.hand.client.get(at))


def test_a_recall_says_where_the_part_was_replaced_since(closed: Closed, facility: Hand) -> None:
    failure = report(facility, closed)
    done = {"how": "bought", "item": "HERON-30", "serials": "H-0444", "on": "2028-03-04"}
    facility.save(failure, "failure", replaced=done)
    told = closed.hand.client.get(f"/api/sites/{closed.site}/recall?serial=H-0001")
    (row,) = told["rows"]
    assert "2028-03-04 1 × HERON-30 (H-0444)" in row[told["heads"].index("Replaced since")]


def test_emergency_tests_are_due_a_month_and_a_year_after_the_last_and_a_failed_one_at_once(
    closed: Closed, facility: Hand
) -> None:
    group, position = closed.emergency
    path = f"/api/sites/{closed.site}/upkeep"

    def due() -> dict[str, str]:
        tests = facility.client.get(path)["tests"]
        return {each["test"]: each["due"] for each in tests if (each["group"], each["position"]) == (group, position)}

    assert due() == {"function": "2026-05-02", "duration": "2026-04-02"}
    test = {"position": position, "result": "passed", "on": "2026-08-31"}
    facility.make("function_test", group, test)
    assert due()["function"] == "2026-09-30"
    calendar = facility.client.get(f"{path}.ics").decode()
    assert max(len(line.encode()) for line in calendar.split("\r\n")) <= 75
    events = events_of(calendar)
    tests = facility.client.get(path)["tests"]
    assert {(each["LOCATION"].rsplit(", ", 1)[1], each["RRULE"]) for each in events} == {
        (each["room_name"], "FREQ=MONTHLY" if each["test"] == "function" else "FREQ=YEARLY") for each in tests
    }
    assert min(each["DTSTART"] for each in events) == min(each["due"] for each in tests).replace("-", "")
    assert len({each["UID"] for each in events}) == len(events) > 0
    facility.make("function_test", group, {**test, "result": "failed", "on": "2026-09-30"})
    assert due()["function"] > "2026-09-30"


def test_a_duration_test_is_due_as_crews_noted_it_and_one_that_was_too_short_did_not_pass(
    closed: Closed, facility: Hand
) -> None:
    group, position = closed.emergency
    path, crew = f"/api/sites/{closed.site}/upkeep", Hand(closed.owner, closed.site)

    def duration() -> tuple[str, str]:
        (found,) = (
            (each["state"], each["due"])
            for each in facility.client.get(path)["tests"]
            if (each["group"], each["position"], each["test"]) == (group, position, "duration")
        )
        return found

    at = {"position": position, "indicator": "seen", "wanted_min": 90, "noted_at": "2026-09-01T09:00:00Z"}
    crew.make("emergency_test", group, {**at, "result": "still-due", "due_on": "2031-05-06"})
    assert duration() == ("still-due", "2031-05-06")
    crew.make("emergency_test", group, {**at, "result": "passed", "minutes": 40})
    state, due = duration()
    assert (state, due < "2031-05-06") == ("too short", True)
    for result, minutes in (
        ("failed", 12),
        ("passed", 95),
        ("failed", 8),
        ("passed", 96),
        ("failed", 9),
        ("passed", 97),
    ):
        crew.make("emergency_test", group, {**at, "result": result, "minutes": minutes})
        assert duration()[0] == result, "of several on one day the one that came last counts"
    assert duration() == ("passed", "2027-09-01")


def test_failures_stand_against_what_is_fitted_and_the_life_of_the_catalogue(closed: Closed, facility: Hand) -> None:
    parts = {each["code"]: each for each in facility.client.get(f"/api/sites/{closed.site}/upkeep")["failed"]}
    driver = parts["HERON-30"]
    reported = [each for each in remembered(facility, closed)["failures"] if each["item"] == "HERON-30"]
    assert driver["failed"] == len(reported) > 0
    assert driver["failed_pct"] == round(100 * driver["failed"] / driver["fitted"], 2)
    rows = {each["identity"]["code"]: each for each in closed.hand.records("catalogue_item")}
    assert driver["life_h"] == rows["HERON-30"]["driver"].get("life_h")
    assert parts["TERN-4"]["life_h"] == rows["TERN-4"]["bar"]["l70_h"]


@pytest.fixture
def whole(closed: Closed, facility: Hand) -> Iterator[tuple[Session, Memory]]:
    """The database of the server, and the memory of the whole building."""
    failure = report(facility, closed)
    facility.make("photo", closed.site, {"subject": failure, "purpose": "damage", "sha256": "b" * 64})
    with create_app(read_settings({}, closed.server.data)).app_context(), reading() as session:
        yield session, memory_of(session, closed.site, TODAY)


def test_a_fixture_is_remembered_as_it_is_among_all_others(closed: Closed, whole: tuple[Session, Memory]) -> None:
    session, memory = whole
    by_group: dict[str, list[Json]] = {}
    for fixture in memory.fixtures():
        by_group.setdefault(fixture["group"], []).append(fixture)
    alone = {group: list(memory_of(session, closed.site, TODAY, {group}).fixtures()) for group in by_group}
    assert alone == by_group
    told = [each for fixtures in alone.values() for each in fixtures]
    assert any(failure["photos"] == ["b" * 64] for each in told for failure in each["failures"])
    assert sum(bool(each["code"]) for each in told) > 100
    assert any(item["spares"] for each in told for item in each["items"] or ())


def test_spares_are_those_that_all_records_tell_of(closed: Closed, whole: tuple[Session, Memory]) -> None:
    session, memory = whole
    of_all = spares_in(Survey(site_records(session, closed.site, who=True)))
    few = records_of_spares(session, closed.site)
    assert memory.spares == of_all == spares_in(Survey(few))
    assert sum(each["type"] == "release_sums" for each in few) == 1
    assert any(of_all.values())


def test_claims_and_recalls_are_those_of_all_fixtures(closed: Closed, whole: tuple[Session, Memory]) -> None:
    session, memory = whole

    def of(groups: set[str]) -> list[Json]:
        return list(memory_of(session, closed.site, TODAY, groups).fixtures())

    failed = groups_that_failed(session, closed.site)
    assert claims_of(of(failed)) == claims_of(memory.fixtures())
    assert failed
    for item, serial in (("TERN-4", ""), ("heron-30", ""), ("", "lot-77"), ("TERN-4", "H-0001"), ("", "LOT-7")):
        found = with_item(memory.fixtures(), item, serial)
        assert with_item(of(groups_that_name(session, closed.site, (item, serial))), item, serial) == found
