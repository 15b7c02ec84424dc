"""Closing a site makes an archive that is read and checked without us; whatever is changed in it is found and named.

The layout is a bag as RFC 8493 (BagIt 1.0) describes it; `other_reader` was written from the README inside alone.
"""

from __future__ import annotations

import csv
import hashlib
import io
import json
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from tests.archives import other_reader
from tests.archives.conftest import Closed

from spanwalk.cli import main
from spanwalk.services.archives.verifying import verify_archive

KEPT = Path(__file__).parent / "kept"
Change = Callable[[Path], str]


def test_it_is_a_bag_whose_files_any_hashing_program_checks(closed: Closed) -> None:
    bag = closed.bag
    assert (bag / "bagit.txt").read_text() == "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"
    for manifest in ("manifest-sha256.txt", "tagmanifest-sha256.txt"):
        checked = subprocess.run(
            ["sha256sum", "--check", "--strict", manifest], cwd=bag, capture_output=True, text=True, timeout=60
        )
        assert checked.returncode == 0, checked.stdout[-500:]
    listed = {line.split("  ", 1)[1] for line in (bag / "manifest-sha256.txt").read_text().splitlines()}
    there = {each.relative_to(bag).as_posix() for each in (bag / "data").rglob("*") if each.is_file()}
    assert listed == there
    info = dict(line.split(": ", 1) for line in (bag / "bag-info.txt").read_text().splitlines())
    size = sum((bag / name).stat().st_size for name in there)
    assert info["Payload-Oxum"] == f"{size}.{len(there)}"
    assert hashlib.sha256(closed.zip.read_bytes()).hexdigest() == closed.told["sha256"]


def test_the_readme_names_all_that_is_in_it(closed: Closed) -> None:
    readme = (closed.bag / "README.md").read_text()
    data = closed.bag / "data"
    shown = {f"{each.name}/" if each.is_dir() else each.name for each in data.iterdir()}
    assert len(shown) > 10
    assert [name for name in shown if f"`data/{name}`" not in readme] == []


def test_every_sort_of_record_stands_as_csv_and_json_with_the_same_rows(closed: Closed) -> None:
    counts = json.loads((closed.bag / "data/archive.json").read_text())["counts"]["records"]
    plain = closed.bag / "data/plain"
    assert {each.stem for each in plain.glob("*.csv")} == {each.stem for each in plain.glob("*.json")} == set(counts)
    rows = {name: json.loads((plain / f"{name}.json").read_text()) for name in counts}
    assert {name: len(each) for name, each in rows.items()} == counts
    with (plain / "room.csv").open(encoding="utf-8-sig", newline="") as file:
        rooms = list(csv.DictReader(file))
    assert [each["id"] for each in rooms] == [each["id"] for each in rows["room"]]
    named = [(each["identity.number"], each.get("identity.name")) for each in rows["room"]]
    assert [(each["identity.number"], each["identity.name"] or None) for each in rooms] == named


def test_it_holds_photos_reports_and_each_release_summed_as_the_release_says(closed: Closed) -> None:
    data = closed.bag / "data"
    about = json.loads((data / "archive.json").read_text())
    assert about["reports"] == ["hand-over.pdf", "hand-over.xlsx", "emergency-tests.csv", "who-did-what.csv"]
    assert (data / "reports/hand-over.pdf").read_bytes().startswith(b"%PDF-")
    assert len(list(data.glob("photos/*.jpg"))) == about["counts"]["photos"] > 1
    (release,) = about["releases"]
    conversions = closed.hand.conversions()
    assert release["groups"] == len(conversions)
    assert release["fixtures"] == closed.hand.records("release")[0]["identity"]["fixtures"]
    figures = closed.hand.figures()
    assert release["kwh_now"] == round(sum(each["energy"]["kwh_now"] for each in figures), 2)
    fitted = {line["code"]: line["fitted"] for line in closed.hand.whole()["order"]}
    assert release["parts"] == fitted


def test_somebody_elses_hundred_lines_check_and_count_it(closed: Closed) -> None:
    program = Path(other_reader.__file__)
    text = [line for line in program.read_text().splitlines() if line.strip()]
    assert len(text) <= 100
    assert "spanwalk" not in program.read_text()
    alone = subprocess.run(
        [sys.executable, "-I", str(program), str(closed.bag), closed.told["last_entry"]],
        capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    assert (alone.returncode, alone.stdout) == (0, "whole\n")


def test_the_command_says_that_it_is_whole_packed_and_unpacked(
    closed: Closed, capsys: pytest.CaptureFixture[str]
) -> None:
    last = closed.told["last_entry"]
    for archive in (closed.zip, closed.bag):
        assert main(["verify", str(archive), "--last", last]) == 0
        assert "Whole: " in capsys.readouterr().out
    assert main(["verify", str(closed.zip), "--last", "0" * 64]) == 1
    assert "was written down" in capsys.readouterr().out
    assert main(["verify", str(Path(__file__))]) == 2


# -- tampering: each change is made in a copy and must be named


def _first(bag: Path, pattern: str) -> Path:
    return min((bag / "data").glob(pattern))


def change_photo(bag: Path) -> str:
    photo = _first(bag, "photos/*.jpg")
    data = bytearray(photo.read_bytes())
    data[len(data) // 2] ^= 1
    photo.write_bytes(data)
    return photo.name


def change_record(bag: Path) -> str:
    return _edit(bag, "records.jsonl", lambda row: row["type"] == "room", "facets", '"number":"', '"number":"9')


def change_log_line(bag: Path) -> str:
    return _edit(bag, "operations.jsonl", lambda row: row["facet"] == "count", "body", '"count":', '"count":1')


def change_who(bag: Path) -> str:
    file = bag / "data/audit.jsonl"
    rows = [json.loads(line) for line in file.read_text().splitlines()]
    rows[1]["person"] = "00000000-0000-4000-8000-000000000000"
    file.write_text("".join(json.dumps(row) + "\n" for row in rows))
    return "2"


def _edit(bag: Path, name: str, which: Callable[[Any], bool], column: str, old: str, new: str) -> str:
    file = bag / "data" / name
    rows = [json.loads(line) for line in file.read_text().splitlines()]
    row = next(each for each in rows if which(each) and old in each[column])
    row[column] = row[column].replace(old, new, 1)
    file.write_text("".join(json.dumps(each) + "\n" for each in rows))
    return str(row["id"])


def drop_file(bag: Path) -> str:
    file = bag / "data/plain/room.csv"
    file.unlink()
    return "plain/room.csv"


def drop_log_line(bag: Path) -> str:
    file = bag / "data/operations.jsonl"
    kept = file.read_text().splitlines(keepends=True)
    gone = json.loads(kept.pop(len(kept) // 2))
    file.write_text("".join(kept))
    return str(gone["id"])


def add_file(bag: Path) -> str:
    (bag / "data/photos/added.jpg").write_bytes(b"not of this site")
    return "added.jpg"


def change_release(bag: Path) -> str:
    file = bag / "data/releases/release-1.json"
    rows = json.loads(file.read_text())
    rows[0]["fixtures"] += 1
    file.write_text(json.dumps(rows))
    return "release-1.json"


CHANGES: tuple[Change, ...] = (
    change_photo, change_record, change_log_line, change_who, drop_file, drop_log_line, add_file, change_release,
)  # fmt: skip


@pytest.fixture
def copied(closed: Closed, tmp_path: Path) -> Path:
    return Path(shutil.copytree(closed.bag, tmp_path / "bag"))


@pytest.mark.parametrize("change", CHANGES)
def test_whatever_is_changed_is_found_and_its_file_named_by_us_and_by_the_other(copied: Path, change: Change) -> None:
    before = {each: each.read_bytes() for each in (copied / "data").rglob("*") if each.is_file()}
    change(copied)
    after = {each: each.read_bytes() for each in (copied / "data").rglob("*") if each.is_file()}
    (name,) = [each.name for each in before.keys() | after.keys() if before.get(each) != after.get(each)]
    flaws = verify_archive(copied).flaws
    of_files = [each for each in flaws if each.code.startswith("file-")]
    assert [str(each.facts["file"]).rsplit("/", 1)[-1] for each in of_files] == [name]
    assert [each for each in other_reader.files_differ(copied) if each.endswith(name)]


def made_right(bag: Path) -> None:
    """The manifests made anew, as a careful forger would."""
    for manifest, paths in (
        ("manifest-sha256.txt", (bag / "data").rglob("*")),
        ("tagmanifest-sha256.txt", (each for each in bag.glob("*.*") if not each.name.startswith("tagmanifest"))),
    ):
        lines = [
            f"{hashlib.sha256(each.read_bytes()).hexdigest()}  {each.relative_to(bag).as_posix()}\n"
            for each in paths
            if each.is_file()
        ]
        (bag / manifest).write_text("".join(lines))


FORGED: tuple[tuple[Change, str, str], ...] = (
    (change_record, "record-differs", "record"),
    (change_log_line, "audit.operation-changed", "operation"),
    (change_who, "audit.entry-changed", "entry"),
    (drop_log_line, "audit.operation-missing", "operation"),
    (add_file, "count-differs", "photos"),
    (change_release, "sum-differs", "release 1 fixtures"),
)


@pytest.mark.parametrize(("change", "code", "other"), FORGED)
def test_a_forger_who_makes_the_manifests_right_is_found_by_the_chain_the_counts_or_the_sums(
    copied: Path, change: Change, code: str, other: str
) -> None:
    named = change(copied)
    made_right(copied)
    flaws = verify_archive(copied).flaws
    assert not [each for each in flaws if each.code.startswith("file-")]
    (first, *_) = [each for each in flaws if each.code == code]
    told = " ".join(str(value) for value in first.facts.values())
    assert named in told or code in ("audit.operation-missing", "count-differs", "sum-differs")
    assert [each for each in other_reader.check(copied) if each.startswith(other)]


def test_a_zip_that_holds_a_file_twice_or_rubbish_is_told_and_nothing_breaks(closed: Closed, tmp_path: Path) -> None:
    import zipfile

    path = Path(shutil.copy(closed.zip, tmp_path / "twice.zip"))
    with zipfile.ZipFile(path, "a") as parts:
        name = next(each for each in parts.namelist() if each.endswith("/archive.json"))
        with pytest.warns(UserWarning, match="Duplicate name"):
            parts.writestr(name, parts.read(name))
    assert [each.code for each in verify_archive(path).flaws] == ["file-twice"]
    bag = shutil.copytree(closed.bag, tmp_path / "rubbish")
    for name in ("audit.jsonl", "records.jsonl", "archive.json"):
        (bag / "data" / name).write_bytes(b"\xff\x00[1,2\n")
    assert "file-unreadable" in {each.code for each in verify_archive(bag).flaws}


# -- as it is kept


@pytest.mark.parametrize("archive", sorted(KEPT.glob("*.zip")), ids=lambda path: path.stem)
def test_archives_of_every_layout_so_far_are_whole_for_this_version(archive: Path, tmp_path: Path) -> None:
    found = verify_archive(archive)
    assert (found.flaws, found.whole) == ([], True)
    assert found.operations > 0
    assert found.photos > 0
    assert found.records > 0


def test_there_is_an_archive_of_each_layout_among_those_that_are_kept() -> None:
    from spanwalk.services.archives.layout import VERSION

    kept = sorted(int(each.stem.rsplit("-", 1)[1]) for each in KEPT.glob("layout-*.zip"))
    assert kept == list(range(1, VERSION + 1))


def test_the_archive_is_taken_in_on_another_server_with_its_ids(
    closed: Closed, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    import zipfile

    from tests.support.installation import installed

    with installed(tmp_path / "elsewhere") as here:
        answer = here.call(
            "owner", "POST", "/api/site-copies", data=closed.zip.read_bytes(), content_type="application/zip"
        )
        assert (answer.status_code, answer.json) == (201, {"id": closed.site})
        pulled = here.call("owner", "GET", f"/api/sites/{closed.site}/pull?since=0&limit=5000").json["records"]
    with zipfile.ZipFile(closed.zip) as parts:
        name = next(each for each in parts.namelist() if each.endswith("/records.jsonl"))
        lines = [json.loads(line) for line in io.BytesIO(parts.read(name))]
    assert {each["id"] for each in pulled} == {each["id"] for each in lines}


def test_the_command_writes_one_too(closed: Closed, tmp_path: Path) -> None:
    path = tmp_path / "by-command.zip"
    assert main(["archive-site", closed.site, str(path), "--data", str(closed.server.data)]) == 0
    assert verify_archive(path).flaws == []
    assert main(["archive-site", closed.site, str(path), "--data", str(closed.server.data)]) == 1
