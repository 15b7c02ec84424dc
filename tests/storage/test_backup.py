"""Backup and restore on one machine: what phones were told was applied comes back from them."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.photos.test_taking_photos_in import jpeg
from tests.support.installation import DEVICES, Installation, installed, new_id

from spanwalk import cli
from spanwalk.storage.tables import db


@pytest.fixture
def here(tmp_path: Path) -> Iterator[Installation]:
    with installed(tmp_path / "data") as made:
        yield made


def floor(here: Installation, name: str) -> dict[str, Any]:
    return here.operation("surveyor", new_id(), "floor", "identity", {"name": name, "parent": here.site})


def run(here: Installation, *arguments: str) -> int:
    """A command on the installation's data folder, its own connections closed first as a stopped server's are."""
    with here.app.app_context():
        db.engine.dispose()
    if arguments[0] == "restore":
        here.clients.clear()  # nobody is signed in after it
    return cli.main([*arguments, "--data", str(here.app.extensions["spanwalk"].data)])


def names(here: Installation) -> set[str]:
    records = here.pull("surveyor")["records"]
    return {record["facets"]["identity"]["value"]["name"] for record in records if record["type"] == "floor"}


def test_a_backup_put_back_is_yesterdays_site_under_a_new_incarnation(here: Installation, tmp_path: Path) -> None:
    yesterday, today = floor(here, "yesterday"), floor(here, "today")
    here.push("surveyor", yesterday)
    before = here.pull("surveyor")["incarnation"]
    assert run(here, "backup", str(tmp_path / "backup")) == 0
    here.push("surveyor", today)
    assert run(here, "restore", str(tmp_path / "backup"), "--replace") == 0
    assert names(here) == {"yesterday"}
    assert here.pull("surveyor")["incarnation"] != before


def test_what_a_phone_was_told_was_applied_comes_back_when_it_sends_it_again(
    here: Installation, tmp_path: Path
) -> None:
    yesterday, today = floor(here, "yesterday"), floor(here, "today")
    here.push("surveyor", yesterday)
    old = here.pull("surveyor")["incarnation"]
    run(here, "backup", str(tmp_path / "backup"))
    here.push("surveyor", today)
    run(here, "restore", str(tmp_path / "backup"), "--replace")
    told = here.call(
        "surveyor", "POST", "/api/sites/{site}/push", json={"device": DEVICES["surveyor"], "incarnation": old}
    )
    assert told.json["code"] == "incarnation-changed"
    answers = here.push("surveyor", yesterday, today, incarnation=told.json["incarnation"])
    assert [answer["result"] for answer in answers] == ["applied", "applied"]
    assert names(here) == {"yesterday", "today"}


def test_phones_learn_up_to_where_a_backup_holds_the_site(here: Installation, tmp_path: Path) -> None:
    here.push("surveyor", floor(here, "one"))
    head = here.pull("surveyor")["head"]
    assert here.pull("surveyor")["backed_up"] == 0
    run(here, "backup", str(tmp_path / "backup"))
    here.push("surveyor", floor(here, "two"))
    assert here.pull("surveyor")["backed_up"] == head


def test_photos_are_in_the_backup_and_newer_ones_stay(here: Installation, tmp_path: Path) -> None:
    old, new = jpeg(), jpeg()
    for data, step in ((old, "backup"), (new, None)):
        path = f"/api/sites/{{site}}/photos/{hashlib.sha256(data).hexdigest()}"
        assert here.call("surveyor", "PUT", path, data=data).status_code == 201
        if step:
            run(here, "backup", str(tmp_path / "backup"))
    named, newer = (hashlib.sha256(data).hexdigest() for data in (old, new))
    photos = here.app.extensions["spanwalk-photos"]
    before = photos.get(newer)
    assert (tmp_path / "backup" / "photos" / named[:2] / named).read_bytes() == photos.get(named)
    run(here, "restore", str(tmp_path / "backup"), "--replace")
    assert photos.get(newer) == before
    for data in (old, new):
        path = f"/api/sites/{{site}}/photos/{hashlib.sha256(data).hexdigest()}"
        assert here.call("surveyor", "GET", path).status_code == 200, "phones have dropped their copies"


def test_a_backup_never_writes_over_another(
    here: Installation, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(here, "backup", str(tmp_path / "backup")) == 0
    assert run(here, "backup", str(tmp_path / "backup")) == 2
    assert "name a folder that does not exist" in capsys.readouterr().err


def test_a_folder_without_a_backup_is_said_to_hold_none(
    here: Installation, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(here, "restore", str(tmp_path), "--replace") == 2
    assert "holds no backup" in capsys.readouterr().err
    assert names(here) == set()
