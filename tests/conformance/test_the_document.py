"""The OpenAPI document tells the truth: drawn requests to every endpoint find no failure and no answer that it does not have."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema_rs
import pytest
import schemathesis
from flask import Response
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.core.failures import FailureGroup
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)
from tests.support.installation import OWN_PAGE, PASSWORD, Installation, installed, new_id
from tests.support.tried import note

from spanwalk import records
from spanwalk.app import create_app
from spanwalk.config import read_settings
from spanwalk.services.people.people import person_named, set_password
from spanwalk.storage.database import writing
from spanwalk.web.request.auth import COOKIE

CHECKS = [not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance]
EXAMPLES = {"owner": 12, "manager": 6, "nobody": 2}
ENDS_SIGN_IN = ("/api/session",)
DRAWN = settings(
    deadline=None, derandomize=True, database=None, phases=[Phase.generate], suppress_health_check=list(HealthCheck)
)


@schemathesis.serializer("application/zip", "application/pdf", "image/jpeg", "application/octet-stream")
def as_drawn(_: Any, value: Any) -> bytes:
    """A body that should be a zip, a PDF, a photo or a table, as it was drawn."""
    return value if isinstance(value, bytes) else str(value).encode("utf-8", "surrogatepass")


def endpoints() -> list[tuple[str, str]]:
    """Method and path of every endpoint of the document."""
    return [(method, path) for path, body in document()["paths"].items() for method in body if method != "parameters"]


@cache
def document() -> dict[str, Any]:
    app = create_app(read_settings({}))
    told: dict[str, Any] = app.test_client().get("/api/openapi.json").json
    return told


ENDPOINTS = endpoints()


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Installation]:
    with installed(tmp_path_factory.mktemp("document") / "data") as made:
        made.floor("owner")
        yield made


@pytest.fixture
def open_site(tmp_path: Path) -> Iterator[Installation]:
    """A site that no drawn request has closed."""
    with installed(tmp_path / "data") as made:
        yield made


@pytest.fixture(scope="module")
def schema(here: Installation) -> Any:
    return schemathesis.openapi.from_wsgi("/api/openapi.json", here.app)


def signed_in(here: Installation, who: str) -> str:
    """The cookie of a person, whose password may have been changed meanwhile."""
    with here.app.app_context(), writing() as session:
        set_password(session, str(person_named(session, who)), PASSWORD)
    answer = here.app.test_client().post("/api/session", json={"name": who, "password": PASSWORD}, headers=OWN_PAGE)
    return str(answer.headers["Set-Cookie"].split(";")[0].removeprefix(f"{COOKIE}="))


@pytest.fixture(scope="module")
def cookies() -> dict[str, str]:
    return {}


def ask(here: Installation, schema: Any, method: str, path: str, cookie: str | None, examples: int) -> list[int]:
    """Draw requests, right ones and wrong ones; the statuses of their answers, each of which is in the document."""
    operation = schema[path][method.upper()]
    asked: list[int] = []

    @settings(DRAWN, max_examples=examples)
    @given(case=operation.as_strategy() | operation.as_strategy(generation_mode=GenerationMode.NEGATIVE))
    def each(case: Any) -> None:
        if "site_id" in case.path_parameters:
            case.path_parameters["site_id"] = here.site
        case.headers["Sec-Fetch-Site"] = "none"
        case.cookies = {} if cookie is None else {COOKIE: cookie}
        answer = case.call(headers={"Accept-Encoding": "identity"})
        case.validate_response(answer, checks=CHECKS)
        drawn = "against" if case.meta and case.meta.generation.mode is GenerationMode.NEGATIVE else "by"
        note(f"requests drawn {drawn} the document, as {'somebody' if cookie else 'nobody'}", answer.status_code)
        asked.append(answer.status_code)

    each()
    return asked


@pytest.mark.parametrize("who", EXAMPLES)
@pytest.mark.parametrize(("method", "path"), ENDPOINTS)
def test_drawn_requests_find_no_failure_and_no_answer_that_is_not_in_the_document(
    here: Installation, schema: Any, cookies: dict[str, str], method: str, path: str, who: str
) -> None:
    if who != "nobody" and who not in cookies:
        cookies[who] = signed_in(here, who)
    asked = ask(here, schema, method, path, cookies.get(who), EXAMPLES[who])
    if path in ENDS_SIGN_IN:
        cookies.pop(who, None)
    assert asked
    assert (who == "owner") <= (path in ENDS_SIGN_IN or 401 not in asked)


@pytest.mark.parametrize(
    "planted",
    [
        lambda **_: Response(status=418),
        lambda **_: Response("{}", 200, mimetype="text/html"),
        lambda **_: Response('{"people": [{"name": 5}]}', 200, mimetype="application/json"),
        lambda **_: 1 / 0,
    ],
    ids=["a status", "a media type", "a field", "a failure"],
)
def test_an_answer_that_is_not_in_the_document_is_noticed(
    here: Installation, schema: Any, monkeypatch: pytest.MonkeyPatch, planted: Any
) -> None:
    monkeypatch.setitem(here.app.view_functions, "people.of_site", planted)
    with pytest.raises(FailureGroup):
        ask(here, schema, "get", "/api/sites/{site_id}/people", None, 1)


# -- what the document has


def test_every_endpoint_of_the_server_stands_in_the_document() -> None:
    app = create_app(read_settings({}))
    routed = {
        (method.lower(), re.sub(r"<(?:\w+(?:\([^)]*\))?:)?(\w+)>", r"{\1}", str(rule)))
        for rule in app.url_map.iter_rules()
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}
        if str(rule).startswith("/api/")
    }
    assert routed == set(ENDPOINTS)


@pytest.mark.parametrize(("method", "path"), ENDPOINTS)
def test_each_endpoint_has_its_answer_and_its_problems(method: str, path: str) -> None:
    told = document()["paths"][path][method]
    good = [status for status in told["responses"] if status < "400"]
    problems = [each["content"] for status, each in told["responses"].items() if status >= "400"]
    assert good
    assert told["summary"]
    assert "503" in told["responses"]
    assert problems
    assert sum("application/problem+json" in each for each in problems) == len(problems)
    assert "default" not in told["responses"]


def test_a_change_is_documented_with_its_body_or_with_what_is_in_its_path() -> None:
    changes = [(m, p) for m, p in ENDPOINTS if m in ("post", "put")]
    paths = document()["paths"]
    assert len(changes) > 8
    bare = [p for m, p in changes if "requestBody" not in paths[p][m]]
    assert [
        p
        for p in bare
        if "{import_id}" not in p and not p.endswith(("/anonymised", "/me/changes", "/archive", "/learning"))
    ] == []


def test_an_operation_has_what_it_replaces_and_a_conflict_has_the_child() -> None:
    messages = document()["components"]["schemas"]
    assert "from" in messages["SetOperation"]["properties"]
    assert "child" in messages["Conflict"]["properties"]


def test_the_value_of_every_facet_has_its_schema() -> None:
    messages = document()["components"]["schemas"]
    assert set(records.openapi_components()) <= set(messages)


def test_what_the_document_says_of_an_operation_is_what_the_server_reads(open_site: Installation) -> None:
    here, told = open_site, document()
    good = here.operation("surveyor", new_id(), "floor", "identity", {"name": "X", "parent": here.site})
    wrong: list[dict[str, Any]] = [
        {"by": "me"}, {"record": None}, {"facet": "life"}, {"kind": "delete"}, {"settles": "c"}, {"device_time": "x" * 41},
        {"seen": {}}, {"to": None}, {"from": 5}, {"spec": "1"}, {"formerly": {"id": 5}}, {"kind": "remove"},
    ]  # fmt: skip
    valid = jsonschema_rs.validator_for(
        told["components"]["schemas"]["PushIn"]["properties"]["operations"]["items"]
        | {"components": told["components"]}
    )
    assert valid.is_valid(good)
    said = [valid.is_valid(good | each) for each in wrong]
    results = here.push(
        "surveyor", *(here.operation("surveyor", new_id(), "floor", "identity", good["to"]) | each for each in wrong)
    )
    assert (
        said
        == [each["code"] != "operation-field-wrong" for each in results if each["result"] == "refused"]
        == [False] * len(wrong)
    )
