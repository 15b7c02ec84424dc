"""A new field is one line of spec/records.json: checks, API document, table, types, export column and form follow."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Route, expect
from tests.conftest import sign_in
from tests.support.server import Client, Server
from tests.support.specs import planted_spec

from spanwalk import records
from spanwalk.services.files import csv_out

WING = {"type": "text", "title": "Wing", "max": 5, "required": True}
OPENS = {"type": "time_of_day", "title": "Opens at"}
TIME_OF_DAY = {"json": "string", "pattern": "([01][0-9]|2[0-3]):[0-5][0-9]", "example": "07:30", "input": "line"}


def spec_with_a_wing() -> dict[str, Any]:
    document: dict[str, Any] = json.loads(records.spec_text())
    document["records"]["room"]["facets"]["identity"]["fields"]["wing"] = WING
    return document


def spec_with_a_type() -> dict[str, Any]:
    """A wing, and a field of a type that is a new row of the table."""
    document = spec_with_a_wing()
    document["field_types"]["time_of_day"] = TIME_OF_DAY
    document["records"]["room"]["facets"]["identity"]["fields"]["opens"] = OPENS
    return document


@pytest.fixture
def wing() -> Iterator[None]:
    """The spec with one line more."""
    with planted_spec(spec_with_a_wing()):
        yield


def test_it_is_checked_documented_typed_and_exported(wing: None) -> None:
    room = {"parent": "00000000-0000-4000-8000-000000000000", "number": "1", "wing": "north wing"}
    (wrong,) = records.check_values("room", "identity", [room]).values()
    assert wrong.facts["field"] == "wing"
    assert not records.check_values("room", "identity", [room | {"wing": "north"}])
    assert "wing" in json.dumps(records.openapi_components())
    assert "| `wing` | Wing | text |" in records.markdown()
    assert "wing: string;" in records.typescript()
    assert "Room: Room: Wing" in csv_out.headings()


def test_it_stands_in_the_form_with_its_check_and_so_does_one_of_a_new_type(
    server: Server, new_phone: Callable[..., BrowserContext]
) -> None:
    def answer(route: Route) -> None:
        route.fulfill(json={**route.fetch().json(), "spec": spec_with_a_type()})

    phone = new_phone(service_workers="block")
    phone.route("**/app/tables.json", answer)
    page = sign_in(phone.new_page(), server.url, "surveyor")
    client = Client(server.url, "surveyor")
    site = client.site_id()
    pulled = client.get(f"/api/sites/{site}/pull?since=0&limit=1000")["records"]
    room = next(each["id"] for each in pulled if each["type"] == "room")
    page.goto(f"{server.url}/s/{site}/record/{room}/identity")
    page.get_by_label("Wing").fill("far too long")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("alert")).to_contain_text("Wing")
    expect(page.get_by_label("Wing")).to_have_value("far too long")
    page.get_by_label("Wing").fill("north")
    page.get_by_label("Opens at").fill("25:00")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("alert")).to_have_text("Opens at: '25:00' is not taken. Type for example 07:30.")
    page.get_by_label("Opens at").fill("07:30")
    expect(page.get_by_role("alert")).to_have_count(0)
