"""The page's files, its headers, the service worker's list, the API's own description."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from itertools import accumulate
from pathlib import Path
from typing import Any

import pytest
from tests.support.installation import Installation

from spanwalk import records
from spanwalk.app import create_app
from spanwalk.config import read_settings
from spanwalk.web.pages import Pages, with_import_map


def get(here: Installation, path: str, **headers: str) -> Any:
    return here.call(None, "GET", path, headers=headers)


def precache(here: Installation, name: str = "PRECACHE") -> dict[str, str]:
    text = get(here, "/service-worker.js").text
    found = re.search(rf"^const {name} = (\{{.*\}});$", text, re.MULTILINE)
    assert found is not None
    listed: dict[str, str] = json.loads(found[1])
    return listed


# -- the shell


@pytest.mark.parametrize(
    "path", ["/", "/s/abc/room/1?x=1", "/F/2YMAV64G", "/nothing/at/all", "/apiary", "/application"]
)
def test_every_address_that_is_not_the_apis_is_the_same_shell(here: Installation, path: str) -> None:
    answer = get(here, path)
    assert (answer.status_code, answer.mimetype) == (200, "text/html")
    assert answer.data == get(here, "/").data


def test_the_shell_is_the_same_for_everyone(here: Installation) -> None:
    assert here.call("owner", "GET", "/").data == here.call(None, "GET", "/").data


@pytest.mark.parametrize(
    "path",
    ["/api", "/api/", "/api/nothing", "/app/nothing.js", "/app/package.json", "/app/../pyproject.toml"],
)
def test_what_is_not_there_is_a_problem_and_not_the_shell(here: Installation, path: str) -> None:
    answer = get(here, path)
    assert answer.status_code in (404, 308)
    assert b"<!doctype" not in answer.data.lower()


def test_the_policy_allows_exactly_the_import_map_of_the_shell(here: Installation) -> None:
    answer = get(here, "/")
    (text,) = re.findall(r'<script type="importmap">(.*?)</script>', answer.text, re.DOTALL)
    hashed = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
    policy = answer.headers["Content-Security-Policy"]
    assert f"script-src 'self' 'wasm-unsafe-eval' 'sha256-{hashed}'" in policy
    assert "unsafe-inline" not in policy
    assert "'unsafe-eval'" not in policy
    imports = json.loads(text)["imports"]
    assert set(imports) == {"preact", "preact/hooks", "htm"}


def test_the_import_map_stands_before_the_first_script(here: Installation) -> None:
    shell, _ = with_import_map('<head><link rel="x"><script type="module" src="/app/main.js"></script></head>')
    assert shell.index("importmap") < shell.index("main.js")
    again, _ = with_import_map(shell)
    assert again == shell


def test_there_is_no_other_script_or_style_in_the_shell(here: Installation) -> None:
    shell = get(here, "/").text
    inline = [
        each for each in re.findall(r"<script\b([^>]*)>", shell) if "src=" not in each and "importmap" not in each
    ]
    assert inline == []
    assert "<style" not in shell
    assert "style=" not in shell


@pytest.mark.parametrize("path", ["/", "/service-worker.js", "/api/health", "/api/nothing"])
def test_the_headers_are_on_every_answer(here: Installation, path: str) -> None:
    headers = get(here, path).headers
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "same-origin"
    assert headers["Permissions-Policy"].startswith("camera=(self)")
    assert headers["Cross-Origin-Opener-Policy"] == "same-origin"
    assert "frame-ancestors 'none'" in headers["Content-Security-Policy"]


# -- files


def test_the_spec_and_the_words_are_served_to_the_page(here: Installation) -> None:
    assert get(here, "/app/spec/records.json").json == json.loads(records.spec_text())
    sentences = get(here, "/app/spec/words.en.json").json
    assert sentences["site-unknown"]
    assert sentences["push-not-json"]


def test_all_that_the_page_reads_first_is_in_one_file(here: Installation) -> None:
    tables = get(here, "/app/tables.json").json
    assert tables["spec"] == get(here, "/app/spec/records.json").json
    assert tables["words"].items() < get(here, "/app/spec/words.en.json").json.items()
    assert {name: get(here, f"/app/reference/{name}.json").json for name in tables["reference"]} == tables["reference"]
    assert set(tables["reference"]) == {"lamps", "instruments", "expansion", "combinations"}


def test_what_a_site_needs_of_the_reference_tables_is_in_one_file_with_its_smooth_numbers_as_differences(
    here: Installation,
) -> None:
    tables = get(here, "/app/tables-of-sites.json").json
    whole = {name: get(here, f"/app/reference/{name}.json").json for name in tables}
    assert set(whole) == {"prediction", "standing"}
    factors = whole["prediction"].pop("factors")
    sent = tables["prediction"].pop("factors")
    assert tables == whole
    summed = [[list(accumulate(row)) for row in rows] for rows in sent]
    summed = [list(accumulate(rows, added)) for rows in summed]
    assert list(accumulate(summed, lambda one, other: list(map(added, one, other)))) == factors
    assert factors != sent


def added(one: list[int], other: list[int]) -> list[int]:
    return [each + more for each, more in zip(one, other, strict=True)]


def test_the_sentences_of_sites_come_when_a_site_is_opened_and_those_of_commands_never(here: Installation) -> None:
    every = get(here, "/app/spec/words.en.json").json
    first, later = get(here, "/app/tables.json").json["words"], get(here, "/app/words-of-sites.json").json
    assert "page.sign-in" in first
    assert "survey.fixture-groups" in later
    desk = get(here, "/app/words-of-desks.json").json
    assert "plan.pair" in desk
    assert not desk.keys() & (first.keys() | later.keys())
    assert "doctor.well" in every
    assert not first.keys() & later.keys()
    left = every.keys() - first.keys() - later.keys() - desk.keys()
    assert {code.split(".")[0] for code in left} == {
        "doctor",
        "serving",
        "list",
        "setting",
        "explain",
        "differences",
        "keeping",
        "handover-report",
        "proof",
        "change-sheet",
        "offer-sheet",
        "order-sheet",
        "programme-sheet",
        "label-sheet",
        "alignment",
        "command",
        "metric",
        "number",
        "right",
        "vendor",
        "notice",
        "people",
        "around",
        "migrate",
        "service-unit",
        "metrics-off",
        "metrics-token-wrong",
        "fits",  # that a program asks for pages
        "files",  # that another workbook is being written
    }


def test_a_file_is_zipped_if_that_is_accepted_and_not_sent_to_who_has_it(here: Installation) -> None:
    plain = get(here, "/app/spec/records.json")
    zipped = here.call(None, "GET", "/app/spec/records.json", headers={"Accept-Encoding": "gzip"})
    assert zipped.headers["Content-Encoding"] == "gzip"
    assert len(zipped.data) < len(plain.data) / 3
    assert plain.headers["ETag"] != zipped.headers["ETag"]
    tag = plain.headers["ETag"]
    assert here.call(None, "GET", "/app/spec/records.json", headers={"If-None-Match": tag}).status_code == 304


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A page of a few files, one of each sort."""
    made = tmp_path / "pwa"
    (made / "vendor").mkdir(parents=True)
    (made / "node_modules" / "x").mkdir(parents=True)
    files = {
        "index.html": '<!doctype html><script type="module" src="/app/main.js"></script>',
        "main.js": "export {};",
        "main.test.js": "tests",
        "package.json": "{}",
        "service-worker.js": "self.x = PRECACHE;",
        "vendor/reader.wasm": "wasm",
        "vendor/reader.d.ts": "types",
        "node_modules/x/index.js": "tool",
        "app.webmanifest": "{}",
        "notes.md": "notes",
    }
    for name, text in files.items():
        (made / name).write_text(text)
    return made


def test_tools_tests_and_types_are_not_served(folder: Path, tmp_path: Path) -> None:
    names = set(Pages(folder, tmp_path / "none").files)
    assert names == {
        "main.js",
        "vendor/reader.wasm",
        "app.webmanifest",
        "spec/records.json",
        "spec/words.en.json",
        "tables-of-sites.json",
        "tables.json",
        "words/en-GB.json",
        "words/en-US.json",
        "words/es.json",
        "words-of-desks.json",
        "words-of-sites.json",
    }


def test_each_file_has_the_type_that_a_strict_browser_wants(folder: Path, tmp_path: Path) -> None:
    files = Pages(folder, tmp_path / "none").files
    assert files["main.js"].type == "text/javascript; charset=utf-8"
    assert files["vendor/reader.wasm"].type == "application/wasm"
    assert files["app.webmanifest"].type == "application/manifest+json"


def test_a_changed_file_changes_the_list_and_the_version(folder: Path, tmp_path: Path) -> None:
    pages = Pages(folder, tmp_path / "none")
    before = pages.worker.data
    pages.refresh()
    assert pages.worker.data == before
    (folder / "main.js").write_text("export const changed = true;")
    pages.refresh()
    assert pages.worker.data != before
    first, second = (data.split(b"\n")[0] for data in (before, pages.worker.data))
    assert first != second


# -- the service worker


def test_the_worker_lists_every_file_that_the_page_asks_for_with_the_hash_of_what_is_served(
    here: Installation,
) -> None:
    listed = precache(here) | precache(here, "LATER")
    assert {
        "/",
        "/app/main.js",
        "/app/tables.json",
        "/app/words-of-desks.json",
        "/app/words-of-sites.json",
        "/app/tables-of-sites.json",
    } <= set(listed)
    assert not [path for path in listed if "licences" in path or path.startswith("/app/spec/")]
    assert {path: hashed_now(here, path) for path in listed} == listed


def hashed_now(here: Installation, path: str) -> str:
    answer = get(here, path)
    assert answer.status_code == 200, path
    return hashlib.sha256(answer.data).hexdigest()[:16]


def test_what_only_the_scanner_needs_is_kept_later(here: Installation) -> None:
    later = set(precache(here, "LATER"))
    assert {
        "/app/vendor/zxing_reader.wasm",
        "/app/vendor/zxing-reader.js",
        "/app/views/scanning/scan_worker.js",
    } <= later
    assert not later & set(precache(here))


def test_the_words_of_another_language_are_kept_when_they_are_read_and_those_of_regions_at_once(
    here: Installation,
) -> None:
    at_once, later = set(precache(here)), set(precache(here, "LATER"))
    assert "/app/words/es.json" in later - at_once
    assert {"/app/words/en-GB.json", "/app/words/en-US.json"} <= at_once - later


def test_the_page_gets_a_language_without_what_only_commands_say_and_with_that_nobody_has_read_it(
    here: Installation,
) -> None:
    spanish = get(here, "/app/words/es.json").json
    assert spanish["crew.defers"].startswith("La normativa local")
    assert spanish["spec.group.supply.panel"] == "Cuadro"
    assert "notice.not-reviewed" in spanish
    assert "doctor.well" not in spanish


def test_the_worker_is_never_kept_by_a_cache(here: Installation) -> None:
    answer = get(here, "/service-worker.js")
    assert answer.headers["Cache-Control"] == "no-cache"
    assert answer.headers["Service-Worker-Allowed"] == "/"
    assert answer.mimetype == "text/javascript"


# -- the API's own description


def test_health_says_version_and_database(here: Installation) -> None:
    answer = get(here, "/api/health")
    assert (answer.status_code, answer.json["status"], answer.json["database"]) == (200, "ok", "ok")
    assert answer.json["version"]


def test_a_database_that_does_not_answer_is_told_by_health(tmp_path: Path) -> None:
    app = create_app(read_settings({}, tmp_path / "nowhere" / "at" / "all"))
    answer = app.test_client().get("/api/health")
    assert (answer.status_code, answer.json["status"]) == (503, "failing")


def test_openapi_describes_every_endpoint_and_every_facet(here: Installation) -> None:
    document = get(here, "/api/openapi.json").json
    assert document["openapi"] == "3.1.0"
    paths = {
        re.sub(r"<(?:\w+(?:\([^)]*\))?:)?(\w+)>", r"{\1}", str(rule))
        for rule in here.app.url_map.iter_rules()
        if str(rule).startswith("/api/") and rule.endpoint != "openapi"
    }
    assert set(document["paths"]) == paths
    components = document["components"]["schemas"]
    for record in records.spec().types.values():
        for facet in record.facets.values():
            assert set(components[f"{record.name}_{facet.name}"]["properties"]) - {"parent"} == set(facet.fields)
    push = document["paths"]["/api/sites/{site_id}/push"]["post"]
    assert "operations" in json.dumps(components["PushIn"])
    assert "PushIn" in json.dumps(push["requestBody"])
    assert {"200", "409"} <= set(push["responses"])


def test_a_failure_that_nobody_foresaw_is_told_without_its_inner_text() -> None:
    app = create_app(read_settings({}))
    app.add_url_rule("/api/broken", "broken", lambda: 1 / 0)
    answer = app.test_client().get("/api/broken")
    assert (answer.status_code, answer.mimetype) == (500, "application/problem+json")
    assert answer.json is not None
    assert answer.json["code"] == "http-500"
    assert "ZeroDivision" not in answer.text
