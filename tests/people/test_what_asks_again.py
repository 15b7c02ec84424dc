"""Whatever takes data away or deletes it asks once more who one is; the page knows each such address."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from flask import Flask
from sqlalchemy import update
from tests.people.test_rights import filled
from tests.support.installation import PASSWORD, Installation

from spanwalk.app import create_app
from spanwalk.config import read_settings
from spanwalk.services.clock import later
from spanwalk.storage.database import writing
from spanwalk.storage.tables import Session
from spanwalk.web.request.leaving import TAKEN_AWAY

PAGE = Path(__file__).resolve().parents[2] / "pwa/views/downloads.js"
WITHOUT_DATA = {
    "files.template_text",  # an empty table
    "files.template_workbook",
    "labels.sheets",  # printed by who reads all of it anyway; several times a day
}
"""What leaves as a file and says nothing of a building or a person that one has not on the screen already."""


def files_that_leave(app: Flask) -> dict[str, str]:
    """Endpoints that answer with a file to be taken away, by the document; with their path."""
    found = {}
    for path, told in app.test_client().get("/api/openapi.json").json["paths"].items():
        kinds = {
            kind for answer in told.get("get", {}).get("responses", {}).values() for kind in answer.get("content", {})
        }
        if kinds & set(TAKEN_AWAY):
            rule = next(each for each in app.url_map.iter_rules() if _plain(str(each)) == _plain(path))
            found[rule.endpoint] = str(rule)
    return found


def _plain(path: str) -> str:
    return re.sub(r"<[^>]*>|\{[^}]*\}", "*", path)


@pytest.fixture(scope="module")
def app() -> Flask:
    return create_app(read_settings({}))


def test_every_file_that_leaves_asks_again_but_for_those_without_data(app: Flask) -> None:
    leaving = files_that_leave(app)
    assert {"privacy.own", "privacy.of_person", "audit.of_site_as_csv", "site_copy.out", "tables.whole"} <= set(leaving)
    silent = {each for each in leaving if not getattr(app.view_functions[each], "asks_again", False)}
    assert silent == WITHOUT_DATA


def test_the_page_asks_before_it_follows_a_link_to_each_of_them(app: Flask) -> None:
    """A browser that follows a plain link would show the refusal in the place of the page."""
    pattern = re.search(r"const ASKS =\s*/(.*)/;", PAGE.read_text("utf-8"))
    assert pattern is not None
    known = re.compile(pattern[1].replace(r"\/", "/"))
    leaving = {endpoint: filled(path, "0a") for endpoint, path in files_that_leave(app).items()}
    assert {each for each, path in leaving.items() if not known.search(path)} == WITHOUT_DATA


@pytest.mark.parametrize(
    ("name", "method", "path"),
    [
        ("surveyor", "GET", "/api/me/data.zip"),
        ("owner", "GET", "/api/people/{person}/data.zip"),
        ("owner", "POST", "/api/people/{person}/anonymised"),
        ("owner", "GET", "/api/audit.csv"),
        ("manager", "GET", "/api/sites/{site}/audit.csv"),
    ],
)
def test_what_is_kept_of_people_and_who_did_what_leave_only_after_one_more_entry(
    here: Installation, name: str, method: str, path: str
) -> None:
    path = path.replace("{person}", here.people["crew"])
    here.client(name)
    with here.app.app_context(), writing() as session:
        session.execute(update(Session).values(entered_at=later(-11 * 60)))
    answer = here.call(name, method, path)
    assert (answer.status_code, answer.json["code"]) == (403, "enter-again")
    assert here.call(name, "POST", "/api/session/entered", json={"password": PASSWORD}).status_code == 204
    assert here.call(name, method, path).status_code in (200, 409), "409: who has not left keeps the name"
