"""What a wheel serves: the page packed, compressed beforehand, the same bytes from the same page; editable installs stay loose."""

from __future__ import annotations

import gzip
import hashlib
import json
import re
import subprocess
import sys
import zipfile
from pathlib import Path
from typing import Any

import brotli
import pytest
from flask import Flask
from tests.support.machine import ROOT
from tests.support.packed import packed_page_of_the_run

from spanwalk.package_folders import reference_folder
from spanwalk.web import pages
from spanwalk.web.pages import Pages

BUILD_SECONDS = 300
A_YEAR = "public, max-age=31536000, immutable"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return packed_page_of_the_run(tmp_path_factory)


@pytest.fixture(scope="module")
def packed(folder: Path) -> Pages:
    return Pages(folder, reference_folder())


def sent(packed: Pages, name: str, **headers: str) -> Any:
    """The answer that a file of the page is sent as."""
    with Flask("a").test_request_context(headers={key.replace("_", "-"): value for key, value in headers.items()}):
        return pages.send(packed.files[name])


def name_of(packed: Pages, stem: str) -> str:
    (found,) = (name for name in packed.files if re.fullmatch(rf"{stem}-[0-9a-f]{{12}}\.\w+", name))
    return found


# -- what is in it


def test_the_shell_asks_for_one_style_sheet_and_one_script_by_their_hashes(packed: Pages) -> None:
    shell = packed.shell.data.decode()
    assert re.findall(r'rel="stylesheet" href="/app/(.*?)"', shell) == [name_of(packed, "style")]
    assert re.findall(r'<script type="module" src="/app/(.*?)"', shell) == [name_of(packed, "main")]
    assert len(re.findall(r"<script\b", shell)) == 2, "the script and the import map"


def test_the_import_map_leads_to_each_part_that_comes_later(packed: Pages) -> None:
    (text,) = re.findall(r'<script type="importmap">(.*?)</script>', packed.shell.data.decode())
    leads = json.loads(text)["imports"]
    assert {"#main", "#near", "#shared", "#desk", "#crew"} <= set(leads)
    assert {address.removeprefix("/app/") for address in leads.values()} <= set(packed.files)
    assert leads["#desk"] == f"/app/{name_of(packed, 'desk')}"


def test_the_shell_of_a_sites_address_names_what_its_screen_needs(packed: Pages) -> None:
    room = packed.shell_of("/s/0-a/room/1-b").data.decode()
    at_once = re.findall(r'<link rel="(?:modulepreload|preload)" href="/app/(.*?)"', room)
    later = re.findall(r'<link data-rel="modulepreload" href="/app/(.*?)"', room)
    assert at_once == ["tables.json"]
    assert later == [name_of(packed, each) for each in ("surveying", "close", "near")]
    assert {*at_once, *later} <= set(packed.files)
    read = packed.shell_of("/s/0-a/group/1-b/read").data.decode()
    assert all(name_of(packed, each) in read for each in ("screens_b", "close", "judged", "near"))
    desk = packed.shell_of("/s/0-a/desk").data.decode()
    assert all(each in desk for each in (name_of(packed, "desk"), name_of(packed, "shared")))


def test_a_link_to_a_group_waits_for_nothing_that_only_typing_and_counting_need(packed: Pages) -> None:
    group = packed.shell_of("/s/0-a/group/1-b").data.decode()
    later = re.findall(r'<link data-rel="modulepreload" href="/app/(.*?)"', group)
    assert later == [name_of(packed, each) for each in ("group_screen", "close", "judged")]
    apart = {"views/measuring/tape_pad.js", "views/forms/facet_form.js", "views/syncing/conflicts.js"}
    texts = "".join(packed.files[each].data.decode() for each in later)
    assert not [each for each in apart if f"$m['{each}'] =" in texts]


def test_only_the_shells_of_sites_ask_ahead_and_no_phone_keeps_what_does(packed: Pages) -> None:
    script = '<script async src="/app/ask_ahead.js"'
    assert packed.shell_of("/s/0-a/desk").data.decode().count(script) == 1
    assert script not in packed.shell.data.decode()
    assert "ask_ahead.js" in packed.files
    assert b"ask_ahead" not in packed.worker.data


@pytest.mark.parametrize("path", ["/", "/sign-in", "/me", "/F/2YMAV64G"])
def test_every_other_address_has_the_shell_that_phones_keep(packed: Pages, path: str) -> None:
    assert packed.shell_of(path) is packed.shell


def test_the_list_by_which_shells_are_made_is_not_served_and_not_kept(packed: Pages) -> None:
    assert "at-once.json" not in packed.files
    assert b"at-once" not in packed.worker.data


def test_no_loose_module_is_left_in_it(packed: Pages) -> None:
    scripts = {re.sub(r"-[0-9a-f]{12}", "", name) for name in packed.files if name.endswith(".js")}
    assert {"main.js", "desk.js", "crew.js", "views/scanning/scan_worker.js"} <= scripts
    assert not [name for name in scripts if "/" in name and not name.endswith("_worker.js")]
    assert len([name for name in packed.files if name.endswith(".css")]) == 1


def test_a_name_holds_the_hash_of_what_it_names(packed: Pages) -> None:
    named = {name: found[1] for name in packed.files if (found := re.search(r"-([0-9a-f]{12})\.", name))}
    assert len(named) >= 4
    assert named == {name: packed.files[name].sha256[:12] for name in named}


def test_the_licences_of_what_others_wrote_are_there(packed: Pages) -> None:
    licences = {name for name in packed.files if name.startswith("vendor/licences/")}
    assert {"vendor/licences/preact.txt", "vendor/licences/htm.txt", "vendor/licences/idb.txt"} <= licences
    assert b"/app/vendor/licences/" in packed.files[name_of(packed, "main")].data


def test_the_scanner_is_kept_later_and_all_else_at_once(packed: Pages) -> None:
    listed = {
        name: set(json.loads(text))
        for name, text in re.findall(r"^const (PRECACHE|LATER) = (.*);$", packed.worker.data.decode(), re.MULTILINE)
    }
    assert listed["LATER"] == {
        "/app/vendor/zxing_reader.wasm",
        "/app/views/scanning/scan_worker.js",
        "/app/words/es.json",
    }
    assert {
        "/",
        "/app/tables.json",
        "/app/words-of-desks.json",
        "/app/words-of-sites.json",
        *(f"/app/{name_of(packed, stem)}" for stem in ("main", "style", "desk", "crew")),
    } <= (listed["PRECACHE"])


def test_the_tables_are_those_that_the_server_would_make(packed: Pages, tmp_path: Path) -> None:
    made = Pages(tmp_path, reference_folder())
    for name in ("tables.json", "words-of-sites.json", "words-of-desks.json"):
        assert packed.files[name].data == made.files[name].data
        assert "br" in packed.files[name].coded


def test_tables_that_are_not_the_servers_own_are_made_anew(folder: Path, tmp_path: Path) -> None:
    """A wheel whose words were changed by hand still says what its server says."""
    made = tmp_path / "page"
    made.mkdir()
    for name in ("index.html", "service-worker.js"):
        (made / name).write_bytes((folder / name).read_bytes())
    (made / "tables.json").write_text('{"words": {}}')
    assert json.loads(Pages(made, reference_folder()).files["tables.json"].data)["words"]


# -- how it is sent


def test_what_is_compressed_says_the_same(packed: Pages) -> None:
    both = [(file, file.coded["br"]) for file in packed.files.values() if "br" in file.coded]
    assert len(both) >= 8
    assert [file.sha256 for file, short in both if brotli.decompress(short) != file.data] == []


@pytest.mark.parametrize(
    ("accepted", "coding"),
    [
        ("gzip, deflate, br", "br"),
        ("gzip", "gzip"),
        ("br;q=0, gzip", "gzip"),
        ("identity", None),
        ("", None),
    ],
)
def test_the_shortest_form_that_is_accepted_is_sent(packed: Pages, accepted: str, coding: str | None) -> None:
    main = name_of(packed, "main")
    answer = sent(packed, main, Accept_Encoding=accepted)
    assert answer.headers.get("Content-Encoding") == coding
    plain = {"br": brotli.decompress, "gzip": gzip.decompress, None: bytes}[coding](answer.data)
    assert hashlib.sha256(plain).hexdigest() == packed.files[main].sha256
    assert "Accept-Encoding" in answer.headers["Vary"]


def test_each_form_has_a_tag_of_its_own_and_is_not_sent_twice(packed: Pages) -> None:
    main = name_of(packed, "main")
    tags = {
        accepted: sent(packed, main, Accept_Encoding=accepted).headers["ETag"]
        for accepted in ("br", "gzip", "identity")
    }
    assert len(set(tags.values())) == 3
    assert sent(packed, main, Accept_Encoding="br", If_None_Match=tags["br"]).status_code == 304


def test_what_has_its_hash_in_its_name_is_kept_for_good_and_the_rest_is_asked_for(packed: Pages) -> None:
    assert sent(packed, name_of(packed, "main")).headers["Cache-Control"] == A_YEAR
    assert sent(packed, name_of(packed, "style")).headers["Cache-Control"] == A_YEAR
    assert sent(packed, "tables.json").headers["Cache-Control"] == "no-cache"
    assert sent(packed, "vendor/zxing_reader.wasm").headers["Cache-Control"] == "no-cache"


def test_a_name_with_the_hash_of_something_else_is_not_kept_for_good(tmp_path: Path) -> None:
    (tmp_path / "main-0123456789ab.js").write_text("export {};")
    assert sent(Pages(tmp_path, tmp_path / "none"), "main-0123456789ab.js").headers["Cache-Control"] == "no-cache"


# -- how it is made


def built(folder: Path, what: str) -> dict[str, bytes]:
    """The files of a wheel of this checkout, built in a process of its own; and the wheel itself, as ''."""
    command = [sys.executable, "-m", "hatchling", "build", "-t", what, "-d", str(folder)]
    subprocess.run(command, cwd=ROOT, check=True, capture_output=True, timeout=BUILD_SECONDS)
    (wheel,) = folder.glob("*.whl")
    with zipfile.ZipFile(wheel) as opened:
        return {name: opened.read(name) for name in opened.namelist()} | {"": wheel.read_bytes()}


def test_two_builds_of_the_same_page_give_the_same_wheel_and_it_holds_the_packed_page(
    tmp_path: Path, folder: Path
) -> None:
    first, second = built(tmp_path / "first", "wheel"), built(tmp_path / "second", "wheel")
    assert first[""] == second[""]
    inside = {
        name.removeprefix("spanwalk/_pwa/"): data for name, data in first.items() if name.startswith("spanwalk/_pwa/")
    }
    assert inside == {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    assert not [name for name in first if "packing" in name]


def test_an_editable_install_serves_the_checkouts_own_files(tmp_path: Path) -> None:
    made = built(tmp_path, "wheel:editable")
    assert not [name for name in made if "_pwa" in name]
    assert any(str(ROOT / "server") in data.decode() for name, data in made.items() if name.endswith(".pth"))


def test_what_packs_the_page_is_pinned_to_one_version() -> None:
    import tomllib

    asked = tomllib.loads((ROOT / "pyproject.toml").read_text())["build-system"]["requires"]
    assert [each for each in asked if "==" not in each] == []
    locked = (ROOT / "requirements.lock").read_text().splitlines()
    assert [each for each in asked if each.lower() not in [line.lower() for line in locked]] == []
