"""A copy of a whole site: out of one server, into another with its ids, or refused with the reason."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import shutil
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.photos.hostile import many_scans
from tests.photos.test_hostile_photos import alike
from tests.support.installation import Installation, installed
from tests.support.server import Client, Server

from spanwalk.cli import main
from spanwalk.services.people.people import person_named, set_password
from spanwalk.storage.database import writing

OTHER_PASSWORD = "quiet harbour lantern"


@pytest.fixture(scope="module")
def copied(demo_data: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """A copy of the demo's site by the command, and the site's id."""
    folder = tmp_path_factory.mktemp("copied")
    shutil.copytree(demo_data, folder / "data")
    path = folder / "site.zip"
    with zipfile.ZipFile(_made(folder / "data", path)) as parts:
        return path, json.loads(parts.read("manifest.json"))["site"]["id"]


def _made(data: Path, path: Path) -> Path:
    import sqlite3

    (site,) = sqlite3.connect(data / "spanwalk.db").execute("SELECT id FROM site WHERE kind = 'building'").fetchone()
    assert main(["copy-site", site, str(path), "--data", str(data)]) == 0
    return path


@pytest.fixture
def elsewhere(tmp_path: Path) -> Iterator[Installation]:
    with installed(tmp_path / "elsewhere") as here:
        yield here


def bring(here: Installation, data: bytes, name: str = "owner") -> Any:
    return here.call(name, "POST", "/api/site-copies", data=data, content_type="application/zip")


def changed(path: Path, name: str, change: Any, manifest: bool = False) -> bytes:
    """The copy with one file changed (None: left out), and with `manifest` its hash made right again."""
    out = io.BytesIO()
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(out, "w") as new:
        about = json.loads(old.read("manifest.json"))
        data = change(old.read(name))
        if manifest and name != "manifest.json":
            about["files"][name] = {"sha256": hashlib.sha256(data).hexdigest(), "bytes": len(data)}
        for each in old.namelist():
            if each == name and data is None:
                continue
            told = data if each == name else old.read(each)
            new.writestr(each, json.dumps(about) if each == "manifest.json" and each != name else told)
    return out.getvalue()


def test_a_copy_says_what_is_in_it_and_any_tool_can_read_it(copied: tuple[Path, str]) -> None:
    with zipfile.ZipFile(copied[0]) as parts:
        assert parts.testzip() is None
        readme = parts.read("README.md").decode()
        about = json.loads(parts.read("manifest.json"))
        names = set(parts.namelist()) - {"README.md", "manifest.json"}
        assert set(about["files"]) == names
        folders = {name.split("/")[0] + ("/" if "/" in name else "") for name in names}
        assert [each for each in folders if f"`{each}`" not in readme] == []
        lines = [json.loads(line) for line in parts.read("records.jsonl").splitlines()]
        assert len(lines) > 200
        rooms = list(csv.reader(io.StringIO(parts.read("tables/rooms.csv").decode("utf-8-sig"))))
        assert len(rooms) - 1 == sum(each["type"] == "room" and not each["removed"] for each in lines)
        hashes = {name: hashlib.sha256(parts.read(name)).hexdigest() for name in names}
        assert hashes == {name: said["sha256"] for name, said in about["files"].items()}
        assert "password" not in parts.read("people.jsonl").decode()


def test_a_copy_is_taken_in_elsewhere_with_all_ids(
    copied: tuple[Path, str], elsewhere: Installation, demo_data: Path
) -> None:
    path, site = copied
    answer = bring(elsewhere, path.read_bytes())
    assert (answer.status_code, answer.json) == (201, {"id": site})
    pulled = elsewhere.call("owner", "GET", f"/api/sites/{site}/pull?since=0&limit=5000").json
    with zipfile.ZipFile(path) as parts:
        lines = [json.loads(line) for line in parts.read("records.jsonl").splitlines()]
        photos = [name for name in parts.namelist() if name.startswith("photos/")]
        data = parts.read(photos[0])
    ours = {each["id"]: each["facets"] for each in pulled["records"]}
    theirs = {each["id"]: json.loads(each["facets"]) for each in lines}
    assert ours.keys() == theirs.keys()
    differing = [
        id for id in ours if {n: f["op"] for n, f in ours[id].items()} != {n: f["op"] for n, f in theirs[id].items()}
    ]
    assert differing == []
    name = photos[0].removeprefix("photos/").removesuffix(".jpg")
    brought = elsewhere.call("owner", "GET", f"/api/sites/{site}/photos/{name}").data
    assert alike(brought, data) < 2, "made anew, as whatever comes from outside"


def test_a_copy_whose_photo_is_a_weapon_is_refused_whole(copied: tuple[Path, str], elsewhere: Installation) -> None:
    with zipfile.ZipFile(copied[0]) as parts:
        photo = next(name for name in parts.namelist() if name.startswith("photos/"))
    answer = bring(elsewhere, changed(copied[0], photo, lambda _: many_scans(500), manifest=True))
    assert (answer.status_code, answer.json["code"]) == (422, "copy.photo-wrong")
    assert elsewhere.call("owner", "GET", f"/api/sites/{copied[1]}/contents").status_code == 404


def test_a_copy_is_taken_in_once(copied: tuple[Path, str], elsewhere: Installation) -> None:
    assert bring(elsewhere, copied[0].read_bytes()).status_code == 201
    again = bring(elsewhere, copied[0].read_bytes())
    assert (again.status_code, again.json["code"]) == (409, "copy.here-already")


def test_people_who_are_new_here_have_no_password_and_no_name_of_another(
    copied: tuple[Path, str], elsewhere: Installation
) -> None:
    site = bring(elsewhere, copied[0].read_bytes()).json["id"]
    people = elsewhere.call("owner", "GET", f"/api/sites/{site}/people").json["people"]
    names = {each["name"]: each for each in people}
    assert {"manager (2)", "owner", "owner (2)"} <= set(names)
    assert names["owner"]["id"] == elsewhere.people["owner"]
    assert elsewhere.call("manager", "GET", f"/api/sites/{site}/pull?since=0").status_code == 404
    signed = elsewhere.app.test_client().post(
        "/api/session", json={"name": "manager (2)", "password": ""}, headers={"Sec-Fetch-Site": "same-origin"}
    )
    assert signed.status_code in (401, 422)


def _operation_cut(data: bytes) -> bytes:
    return b"\n".join(data.splitlines()[:-1]) + b"\n"


def _other_value(data: bytes) -> bytes:
    assert b"Undercroft" in data
    return data.replace(b"Undercroft", b"Overcroft", 1)


@pytest.mark.parametrize(
    ("name", "change", "manifest", "code"),
    [
        ("records.jsonl", _other_value, False, "copy.file-differs"),
        ("records.jsonl", _other_value, True, "copy.sums-differ"),
        ("operations.jsonl", _operation_cut, True, "copy.not-whole"),
        ("operations.jsonl", lambda data: b"{]\n" + data, True, "copy.line-wrong"),
        ("photos.jsonl", lambda data: None, False, "copy.file-differs"),
        ("manifest.json", lambda data: b"{}", False, "copy.not-a-copy"),
        ("manifest.json", lambda data: data.replace(b'"spec":', b'"spec":9'), False, "copy.newer"),
    ],
    ids=[
        "a changed file",
        "a changed record",
        "a cut log",
        "a broken line",
        "a file gone",
        "no manifest",
        "a newer spec",
    ],
)
def test_a_copy_that_was_changed_or_cut_is_refused_and_nothing_of_it_is_here(
    copied: tuple[Path, str], elsewhere: Installation, name: str, change: Any, manifest: bool, code: str
) -> None:
    path, site = copied
    answer = bring(elsewhere, changed(path, name, change, manifest))
    assert (answer.status_code, answer.json["code"]) == (422, code)
    assert elsewhere.call("owner", "GET", f"/api/sites/{site}/pull?since=0").status_code == 404


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04 no", b"hello"])
def test_what_is_no_copy_is_refused(elsewhere: Installation, data: bytes) -> None:
    answer = bring(elsewhere, data)
    assert (answer.status_code, answer.json["code"]) == (422, "copy.not-a-copy")


def test_only_an_owner_takes_a_copy(elsewhere: Installation) -> None:
    assert elsewhere.call("manager", "GET", "/api/sites/{site}/copy.zip").json["code"] == "owner-only"
    answer = elsewhere.call("owner", "GET", "/api/sites/{site}/copy.zip")
    assert (answer.status_code, answer.mimetype) == (200, "application/zip")


def test_the_commands_take_it_in_and_say_why_not(
    copied: tuple[Path, str], demo_data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, site = copied
    with installed(tmp_path / "data"):
        pass
    told = ["bring-site", str(path), "--owner", "owner", "--data", str(tmp_path / "data")]
    assert main(told) == 0
    assert site in capsys.readouterr().out
    assert main(told) == 1
    assert "already" in capsys.readouterr().err
    assert main([*told[:2], "--owner", "nobody", *told[4:]]) == 1
    assert main(["copy-site", "no such site", str(tmp_path / "x.zip"), "--data", str(tmp_path / "data")]) == 1


def test_crews_and_desk_go_on_where_a_copy_was_taken_in(copied: tuple[Path, str], tmp_path: Path) -> None:
    with installed(tmp_path / "data") as here:
        bring(here, copied[0].read_bytes())
        with here.app.app_context(), writing() as session:  # `serve` takes nobody with the demo's password
            for name in here.people:
                set_password(session, str(person_named(session, name)), OTHER_PASSWORD)
    server = Server(tmp_path / "data", command="serve").start()
    try:
        owner = Client(server.url, "owner", OTHER_PASSWORD)
        told = owner.get(f"/api/sites/{copied[1]}/completeness")
        assert told["rooms"]["known"] > 10
    finally:
        server.stop()
