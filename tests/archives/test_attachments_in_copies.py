"""Attachments go with a site: in its copy and in its archive, and are there again where either is taken in."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.archives.test_making_archives import settled
from tests.support.installation import Installation, installed, new_id

from spanwalk.services.archives.verifying import verify_archive

PDF = b"%PDF-1.4\n1 0 obj<</Type/Catalog>>endobj\ntrailer<</Root 1 0 R>>\n%%EOF\n"
SHA256 = hashlib.sha256(PDF).hexdigest()
Line = dict[str, Any]


@pytest.fixture
def here(tmp_path: Path) -> Iterator[Installation]:
    with installed(tmp_path / "here") as made:
        yield made


@pytest.fixture
def elsewhere(tmp_path: Path) -> Iterator[Installation]:
    with installed(tmp_path / "elsewhere") as made:
        yield made


def attach(here: Installation) -> None:
    path = f"/api/sites/{{site}}/attachments/{SHA256}"
    assert here.call("manager", "PUT", path, data=PDF, content_type="application/octet-stream").status_code == 201
    to = {"parent": here.site, "sha256": SHA256, "media": "pdf", "name": "slip.pdf", "purpose": "invoice"}
    (answer,) = here.push("manager", here.operation("manager", new_id(), "attachment", "identity", to, spec=99))
    assert answer["result"] == "applied", answer


def copy_of(here: Installation) -> bytes:
    return here.call("owner", "GET", "/api/sites/{site}/copy.zip").data


def archive_of(here: Installation) -> bytes:
    here.call("owner", "POST", "/api/sites/{site}/archive")
    assert settled(here)["state"] == "made"
    return here.call("owner", "GET", "/api/sites/{site}/archive.zip").data


def bring(elsewhere: Installation, data: bytes) -> Any:
    return elsewhere.call("owner", "POST", "/api/site-copies", data=data, content_type="application/zip")


@pytest.mark.parametrize("leave", [copy_of, archive_of])
def test_what_leaves_with_an_attachment_is_taken_in_with_it(
    here: Installation, elsewhere: Installation, leave: Callable[[Installation], bytes]
) -> None:
    attach(here)
    answer = bring(elsewhere, leave(here))
    assert answer.status_code == 201, answer.text
    brought = elsewhere.call("owner", "GET", f"/api/sites/{here.site}/attachments/{SHA256}")
    assert (brought.status_code, brought.data) == (200, PDF)
    again = elsewhere.call("owner", "GET", f"/api/sites/{here.site}/copy.zip")
    assert f"attachments/{SHA256}" in zipfile.ZipFile(io.BytesIO(again.data)).namelist(), "and it leaves again with it"


def with_line(copy: bytes, change: Line, file: bytes = PDF) -> bytes:
    """The copy with the line of its attachment changed, and the manifest made right."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(copy)) as old, zipfile.ZipFile(out, "w") as new:
        about = json.loads(old.read("manifest.json"))
        line = json.loads(old.read("attachments.jsonl")) | change
        files = {name: old.read(name) for name in about["files"] if not name.startswith("attachments/")}
        files["attachments.jsonl"] = json.dumps(line).encode() + b"\n"
        files[f"attachments/{hashlib.sha256(file).hexdigest()}"] = file
        about["files"] = {
            name: {"sha256": hashlib.sha256(data).hexdigest(), "bytes": len(data)} for name, data in files.items()
        }
        for name, data in files.items():
            new.writestr(name, data)
        new.writestr("manifest.json", json.dumps(about))
    return out.getvalue()


@pytest.mark.parametrize(
    "change",
    [
        {"kept_as": "0" * 64},
        {"media": "html"},
        {"bytes": 1},
        {"sha256": "../../etc/passwd"},
        {"person": None},
    ],
)
def test_a_line_that_points_elsewhere_or_says_another_kind_is_refused_and_nothing_is_here(
    here: Installation, elsewhere: Installation, change: Line
) -> None:
    attach(here)
    answer = bring(elsewhere, with_line(copy_of(here), change))
    assert (answer.status_code, answer.json["code"]) == (422, "copy.line-wrong"), answer.text
    assert elsewhere.call("owner", "GET", f"/api/sites/{here.site}/contents").status_code == 404


def test_a_file_of_a_kind_that_is_never_taken_is_refused(here: Installation, elsewhere: Installation) -> None:
    attach(here)
    page = b"<html><script>alert(1)</script>"
    answer = bring(elsewhere, with_line(copy_of(here), {}, page))
    assert answer.status_code == 422, answer.text


def test_one_that_the_store_lost_is_told_and_the_rest_is_archived(here: Installation, tmp_path: Path) -> None:
    attach(here)
    store = here.app.extensions["spanwalk-photos"]
    for name in list(store.names()):
        store.drop(name)
    archive = tmp_path / "archive.zip"
    archive.write_bytes(archive_of(here))
    assert here.call("owner", "GET", "/api/sites/{site}/archive").json["attachments_missing"] == 1
    found = verify_archive(archive)
    assert (found.flaws, found.attachments) == ([], 0)
    with zipfile.ZipFile(archive) as parts:
        (about,) = [json.loads(parts.read(name)) for name in parts.namelist() if name.endswith("data/archive.json")]
    assert about["attachments_missing"] == [SHA256]


def test_an_attachment_left_out_of_an_archive_is_found_by_its_count(here: Installation, tmp_path: Path) -> None:
    attach(here)
    whole, cut = tmp_path / "whole.zip", tmp_path / "cut.zip"
    whole.write_bytes(archive_of(here))
    assert verify_archive(whole).attachments == 1
    with zipfile.ZipFile(whole) as old, zipfile.ZipFile(cut, "w") as new:
        for name in old.namelist():
            if f"/attachments/{SHA256}" not in name:
                new.writestr(name, old.read(name))
    flaws = [(each.code, each.facts.get("what")) for each in verify_archive(cut).flaws]
    assert ("count-differs", "attachments") in flaws
