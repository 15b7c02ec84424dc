"""One matrix over every endpoint: nobody signed in, someone of no site, each role."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from flask import Flask
from tests.support.installation import NAMES, PASSWORD, Installation, installed, new_id

from spanwalk.app import create_app
from spanwalk.config import read_settings
from spanwalk.records import ROLES
from spanwalk.services.people.people import add_person, set_role
from spanwalk.storage.database import writing
from spanwalk.web.request.auth import ROLES_WITH, Right

ON_A_SITE = frozenset(ROLES_WITH)
ALL_METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")


def endpoints(app: Flask) -> Iterator[tuple[str, str, Right | None]]:
    """Method, path with its holes, and right of everything that answers."""
    for rule in app.url_map.iter_rules():
        right = getattr(app.view_functions[rule.endpoint], "right", None)
        for method in sorted((rule.methods or set()) & set(ALL_METHODS)):
            yield method, str(rule), right


def undeclared(app: Flask) -> list[tuple[str, str]]:
    return [(method, path) for method, path, right in endpoints(app) if right is None]


ENDPOINTS = list(endpoints(create_app(read_settings({}))))
GUARDED = [(method, path) for method, path, right in ENDPOINTS if right is not None and right is not Right.OPEN]
OF_A_SITE = [(m, p, right) for m, p, right in ENDPOINTS if right in ON_A_SITE]


@pytest.fixture(scope="module")
def here(back_end: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Installation]:
    with installed(tmp_path_factory.mktemp("rights") / "data", back_end) as made:
        with made.app.app_context(), writing() as session:
            made.people["facility"] = add_person(session, "facility", PASSWORD)
            set_role(session, made.site, made.people["facility"], "facility")
        yield made


def filled(path: str, site: str) -> str:
    """A path with its holes filled: the site, and things that are not there."""
    path = path.replace("<uuid:site_id>", site).replace("<site_id>", site)
    path = re.sub(r"<uuid:\w+>", new_id(), path)
    path = re.sub(r"<any\((\w+)[^)]*\):\w+>", r"\1", path)
    return re.sub(r"<[^>]*>", "0" * 64, path)


def test_every_endpoint_says_who_may_use_it() -> None:
    assert undeclared(create_app(read_settings({}))) == []


def test_an_endpoint_without_a_rule_is_noticed() -> None:
    app = create_app(read_settings({}))
    app.add_url_rule("/api/forgotten", "forgotten", lambda: "")
    assert undeclared(app) == [("GET", "/api/forgotten")]


def test_there_are_endpoints_of_each_sort_to_try() -> None:
    assert {right for *_, right in ENDPOINTS} >= {
        Right.OPEN,
        Right.SIGNED_IN,
        Right.PUSH,
        Right.RECALL,
        Right.READ,
        Right.DECIDE,
    }


@pytest.mark.parametrize(("method", "path"), GUARDED)
def test_nobody_gets_in_without_signing_in(here: Installation, method: str, path: str) -> None:
    answer = here.call(None, method, filled(path, here.site))
    assert (answer.status_code, answer.json["code"]) == (401, "not-signed-in")


@pytest.mark.parametrize(("method", "path", "right"), OF_A_SITE)
def test_a_site_one_is_not_on_answers_as_if_it_did_not_exist(
    here: Installation, method: str, path: str, right: Right
) -> None:
    ours = here.call("stranger", method, filled(path, here.site))
    none = here.call("stranger", method, filled(path, new_id()))
    assert (ours.status_code, ours.json["code"]) == (404, "site-unknown")
    assert ours.json == none.json


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize(("method", "path", "right"), OF_A_SITE)
def test_each_role_does_what_its_right_says(
    here: Installation, method: str, path: str, right: Right, role: str
) -> None:
    name = next((name for name, of in NAMES.items() if of == role), role)
    answer = here.call(name, method, filled(path, here.site))
    assert answer.status_code < 500, answer.text
    refused = answer.status_code == 403 and answer.json["code"] == "role-not-enough"
    assert refused == (role not in ROLES_WITH[right])


@pytest.mark.parametrize(("method", "path"), [(m, p) for m, p, right in ENDPOINTS if right is Right.SERVER])
@pytest.mark.parametrize("name", ["surveyor", "crew", "manager", "facility"])
def test_only_an_owner_keeps_the_server(here: Installation, method: str, path: str, name: str) -> None:
    answer = here.call(name, method, filled(path, here.site))
    assert (answer.status_code, answer.json["code"]) == (403, "owner-only")


@pytest.mark.parametrize(("method", "path"), [(m, p) for m, p, *_ in ENDPOINTS if m != "GET" and p.startswith("/api/")])
@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Sec-Fetch-Site": "", "Origin": "https://elsewhere.example"},
    ],
    ids=["cross-site", "same-site", "another origin"],
)
def test_another_site_cannot_make_a_browser_change_things(
    here: Installation, method: str, path: str, headers: dict[str, str]
) -> None:
    answer = here.call("owner", method, filled(path, here.site), headers=headers)
    assert (answer.status_code, answer.json["code"]) == (403, "origin-other")


def test_our_own_origin_is_taken_from_browsers_that_say_no_more(here: Installation) -> None:
    client = here.client("owner")
    answer = client.post("/api/sites", json={"name": ""}, headers={"Origin": "http://localhost"})
    assert answer.json["code"] == "body-field-wrong"
