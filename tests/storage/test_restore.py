"""Putting a backup back: nothing unchecked gets in, nobody who was put out comes back, and all of it is there."""

from __future__ import annotations

import hashlib
import io
import json
import os
import shutil
import sqlite3
import stat
import zipfile
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pyotp
import pytest
from sqlalchemy import select
from tests.photos.test_taking_photos_in import jpeg
from tests.support import back_ends
from tests.support.back_ends import ONE_MACHINE, SCALED_OUT
from tests.support.installation import DEVICES, OWN_PAGE, PASSWORD, Installation, installed, new_id

from spanwalk import cli
from spanwalk.app import create_app
from spanwalk.config import SettingWrong, read_settings
from spanwalk.services.attachments.attachments import name_kept
from spanwalk.services.backups.backing_up import back_up, back_up_dated
from spanwalk.services.backups.carried import TABLES, How
from spanwalk.services.backups.restoring import put_back
from spanwalk.services.bootstrap import prepare_database
from spanwalk.services.people.people import set_password, set_role
from spanwalk.services.people.ranks import set_state
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import Base, db

NEW_PASSWORD = "another span to walk"


@pytest.fixture
def here(tmp_path: Path) -> Iterator[Installation]:
    with installed(tmp_path / "data") as made:
        yield made


@pytest.fixture
def backup(here: Installation, tmp_path: Path) -> Path:
    """A backup of an installation with a floor and a photo."""
    here.floor()
    photo(here)
    folder = tmp_path / "backup"
    assert run(here, "backup", str(folder)) == 0
    return folder


def run(here: Installation, *arguments: str) -> int:
    """A command on the installation's data folder, its own connections closed first as a stopped server's are."""
    with here.app.app_context():
        db.engine.dispose()
    return cli.main([*arguments, "--data", str(here.app.extensions["spanwalk"].data)])


def photo(here: Installation, name: str = "surveyor") -> str:
    data = jpeg()
    sha256 = hashlib.sha256(data).hexdigest()
    assert here.call(name, "PUT", f"/api/sites/{{site}}/photos/{sha256}", data=data).status_code == 201
    return sha256


def floor(here: Installation, name: str) -> dict[str, Any]:
    return here.operation("surveyor", new_id(), "floor", "identity", {"name": name, "parent": here.site})


def sign_in(here: Installation, name: str, password: str) -> int:
    body = {"name": name, "password": password}
    return here.app.test_client().post("/api/session", json=body, headers=OWN_PAGE).status_code


def floors(here: Installation, name: str = "owner") -> set[str]:
    """Names of the floors, as somebody who signs in anew reads them."""
    here.clients.clear()
    records = here.pull(name)["records"]
    return {each["facets"]["identity"]["value"]["name"] for each in records if each["type"] == "floor"}


# -- nobody who was put out comes back


def test_a_cookie_that_was_signed_out_stays_out(here: Installation, tmp_path: Path) -> None:
    """Of a backup of before, which had who was signed in."""
    here.floor()
    cookie = here.client("surveyor")
    old = tmp_path / "old"
    old.mkdir()
    live = here.app.extensions["spanwalk"].data / "spanwalk.db"
    with closing(sqlite3.connect(live)) as database, closing(sqlite3.connect(old / "spanwalk.db")) as kept:
        database.backup(kept)
        assert kept.execute("SELECT count(*) FROM session").fetchone() == (1,)
    assert cookie.delete("/api/session", headers=OWN_PAGE).status_code == 204
    assert run(here, "restore", str(old), "--replace") == 0
    with here.app.app_context(), reading() as session:
        assert session.execute(select(Base.metadata.tables["session"])).all() == []
    assert sign_in(here, "surveyor", PASSWORD) == 200


def test_who_is_signed_in_when_a_backup_is_put_back_signs_in_anew(here: Installation, backup: Path) -> None:
    signed_in = here.client("manager")
    assert signed_in.get("/api/me/sessions").status_code == 200
    assert run(here, "restore", str(backup), "--replace") == 0
    assert signed_in.get("/api/me/sessions").status_code == 401


def test_a_password_that_was_changed_since_stays_changed(here: Installation, backup: Path) -> None:
    with here.app.app_context(), writing() as session:
        set_password(session, here.people["surveyor"], NEW_PASSWORD)
    assert run(here, "restore", str(backup), "--replace") == 0
    assert sign_in(here, "surveyor", PASSWORD) == 401
    assert sign_in(here, "surveyor", NEW_PASSWORD) == 200


def test_who_was_taken_off_the_site_since_stays_off(here: Installation, backup: Path) -> None:
    with here.app.app_context(), writing() as session:
        set_role(session, here.site, here.people["crew"], None)
    assert run(here, "restore", str(backup), "--replace") == 0
    here.clients.clear()
    assert here.call("crew", "GET", "/api/sites/{site}/pull").json["code"] == "site-left"


def test_who_was_disabled_since_stays_disabled(here: Installation, backup: Path) -> None:
    with here.app.app_context(), writing() as session:
        set_state(session, None, here.people["crew"], "disabled")
    assert run(here, "restore", str(backup), "--replace") == 0
    assert sign_in(here, "crew", PASSWORD) == 403


def test_a_phone_that_was_shut_out_since_stays_out(here: Installation, backup: Path) -> None:
    path = f"/api/sites/{{site}}/devices/{DEVICES['surveyor']}"
    assert here.call("manager", "DELETE", path).status_code == 204
    assert run(here, "restore", str(backup), "--replace") == 0
    here.clients.clear()
    phones = here.call("manager", "GET", "/api/sites/{site}/devices").json["devices"]
    out = [each["id"] for each in phones if each["revoked_at"] is not None]
    assert out == [DEVICES["surveyor"]]


def test_who_came_since_is_still_there_and_may_send_again(here: Installation, backup: Path) -> None:
    with here.app.app_context(), writing() as session:
        set_role(session, here.site, here.people["stranger"], "surveyor")
    assert run(here, "restore", str(backup), "--replace") == 0
    here.clients.clear()
    answer = here.push(
        "stranger", here.operation("stranger", new_id(), "floor", "identity", {"name": "x", "parent": here.site})
    )
    assert answer[0]["result"] == "applied"


def test_of_another_installation_nothing_is_carried(tmp_path: Path, here: Installation, backup: Path) -> None:
    with installed(tmp_path / "elsewhere") as other:
        assert run(other, "restore", str(backup), "--replace") == 0
        with other.app.app_context(), reading() as session:
            people = set(session.execute(select(Base.metadata.tables["person"].c.id)).scalars())
    assert people == set(here.people.values())


def test_every_table_says_which_database_its_rows_come_from() -> None:
    assert set(Base.metadata.tables) - set(TABLES) == set()
    assert TABLES["session"] is How.NEITHER


# -- nothing unchecked gets in


def damaged(name: str) -> Callable[[Path], None]:
    def damage(folder: Path) -> None:
        file = next(folder.rglob(name))
        data = bytearray(file.read_bytes())
        data[len(data) // 2] ^= 0xFF
        file.write_bytes(bytes(data))

    return damage


def cut(folder: Path) -> None:
    file = folder / "spanwalk.db"
    os.truncate(file, file.stat().st_size // 2)


def rows_taken(folder: Path) -> None:
    """A database that is whole as a file and lacks records: what no check of the file finds."""
    with closing(sqlite3.connect(folder / "spanwalk.db")) as database, database:
        database.execute("DELETE FROM record WHERE type = 'floor'")


def rehashed(folder: Path) -> None:
    """The same by somebody who puts the hash right too."""
    rows_taken(folder)
    data = (folder / "spanwalk.db").read_bytes()
    manifest = json.loads((folder / "manifest.json").read_text())
    manifest["database"] |= {"sha256": hashlib.sha256(data).hexdigest(), "bytes": len(data)}
    signed(folder, manifest)


def without_manifest(folder: Path) -> None:
    rows_taken(folder)
    (folder / "manifest.json").unlink()


def of_a_newer_version(folder: Path) -> None:
    manifest = json.loads((folder / "manifest.json").read_text())
    manifest["spec"] = 10_000
    signed(folder, manifest)


def signed(folder: Path, manifest: dict[str, Any]) -> None:
    from spanwalk.services.backups.manifest import sum_of

    manifest["sum"] = sum_of(manifest)  # type: ignore[arg-type]
    (folder / "manifest.json").write_text(json.dumps(manifest))


def photo_gone(folder: Path) -> None:
    next((folder / "photos").rglob("*/*")).unlink()


@pytest.mark.parametrize(
    ("harm", "told"),
    [
        (cut, "cut or changed"),
        (damaged("spanwalk.db"), "cut or changed"),
        (damaged("manifest.json"), "manifest"),
        (rows_taken, "cut or changed"),
        (rehashed, "damaged"),
        (without_manifest, "does not hold together"),
        (of_a_newer_version, "newer version"),
        (photo_gone, "lacks photos/"),
        (damaged("??/*"), "cut or changed"),
    ],
    ids=lambda each: getattr(each, "__name__", None),
)
def test_a_backup_that_is_not_whole_is_refused_with_a_sentence_and_nothing_changes(
    here: Installation, backup: Path, capsys: pytest.CaptureFixture[str], harm: Callable[[Path], None], told: str
) -> None:
    harm(backup)
    here.push("surveyor", floor(here, "since"))
    assert run(here, "restore", str(backup), "--replace") == 2
    assert told in capsys.readouterr().err
    assert floors(here) == {"Ground", "since"}
    assert run(here, "restore", str(backup), "--check") == 2


def test_data_that_is_here_is_not_overwritten_unless_asked(
    here: Installation, backup: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    here.push("surveyor", floor(here, "since"))
    assert run(here, "restore", str(backup)) == 2
    assert "--replace" in capsys.readouterr().err
    assert floors(here) == {"Ground", "since"}


def test_an_empty_installation_needs_no_leave(tmp_path: Path, here: Installation, backup: Path) -> None:
    assert cli.main(["restore", str(backup), "--data", str(tmp_path / "new")]) == 0
    with closing(sqlite3.connect(tmp_path / "new" / "spanwalk.db")) as database:
        assert database.execute("SELECT count(*) FROM record WHERE type = 'floor'").fetchone() == (1,)


def test_what_was_here_before_a_restore_can_be_put_back_too(
    here: Installation, backup: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    here.push("surveyor", floor(here, "since"))
    assert run(here, "restore", str(backup), "--replace") == 0
    assert floors(here) == {"Ground"}
    (aside,) = here.app.extensions["spanwalk"].data.glob("before-restore-*")
    assert str(aside) in capsys.readouterr().out
    assert run(here, "restore", str(aside), "--replace") == 0
    assert floors(here) == {"Ground", "since"}


def test_what_a_restore_puts_aside_is_sealed_as_backups_are_and_let_go_after_its_time(
    here: Installation,
    backup: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """It held names that were taken out since, for ever and readable by who finds the folder."""
    here.push("surveyor", floor(here, "Zanzibar mezzanine"))
    key = tmp_path / "key.txt"
    cli.main(["backup-key", str(key)])
    monkeypatch.setenv("SPANWALK_BACKUP_KEY", capsys.readouterr().out.split("SPANWALK_BACKUP_KEY=")[1].strip())
    assert run(here, "restore", str(backup), "--replace") == 0
    data = here.app.extensions["spanwalk"].data
    (aside,) = data.glob("before-restore-*")
    assert b"Zanzibar" not in b"".join(path.read_bytes() for path in aside.rglob("*") if path.is_file())
    assert "in 30 days" in capsys.readouterr().out
    assert run(here, "restore", str(aside), "--replace", "--identity", str(key)) == 0
    assert floors(here) == {"Ground", "Zanzibar mezzanine"}
    old, other = data / "before-restore-2026-01-02T030405Z", data / "before-restore-of-mine"
    aside.rename(old)
    other.mkdir()
    assert run(here, "tidy") == 0
    assert "1 folders that restores left" in capsys.readouterr().out
    assert not old.exists()
    assert other.exists(), "only what a restore made is let go"
    assert len(list(data.glob("before-restore-20*"))) == 1, "the one of a moment ago stays"


def test_what_is_put_aside_tells_phones_nothing_and_is_no_backup(here: Installation, backup: Path) -> None:
    from spanwalk.services.backups.remembered import last_backup

    data = here.app.extensions["spanwalk"].data
    before = last_backup(data)
    assert before is not None
    assert (before["where"], before["sealed"]) == (str(backup), False)
    here.push("surveyor", floor(here, "since"))
    with here.app.app_context(), reading() as session:
        told = session.execute(select(Base.metadata.tables["site"].c.backed_up)).scalars().all()
    assert run(here, "restore", str(backup), "--replace") == 0
    assert last_backup(data) == before
    with here.app.app_context(), reading() as session:
        assert sorted(session.execute(select(Base.metadata.tables["site"].c.backed_up)).scalars()) <= sorted(told)


def test_a_check_says_that_all_is_whole_and_changes_nothing(
    here: Installation, backup: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = here.pull("surveyor")["incarnation"]
    assert run(here, "restore", str(backup), "--check") == 0
    assert "is whole: 1 site, 1 photo." in capsys.readouterr().out
    assert here.pull("surveyor")["incarnation"] == before


# -- the drill: every record and every photo


def rows_of(app: Any) -> dict[str, list[tuple[Any, ...]]]:
    """All rows of what a backup must bring back, in the order of their keys."""
    found = {}
    with app.app_context(), reading() as session:
        for table in Base.metadata.sorted_tables:
            if TABLES[table.name] not in (How.NEITHER, How.CHAIN) and table.name != "server":
                query = select(*(column for column in table.c if column.name != "backed_up"))
                found[table.name] = sorted(map(tuple, session.execute(query)), key=repr)
    return found


def photos_of(app: Any, names: list[str]) -> dict[str, bytes | None]:
    return {name: app.extensions["spanwalk-photos"].get(name) for name in names}


def fill(here: Installation) -> list[str]:
    """Floors, rooms, one removed, one in conflict, one refused, one held; photos; somebody invited. The photos' names."""
    ground = here.floor()
    rooms = [new_id() for _ in range(12)]
    to = {"name": "Corridor", "parent": ground}
    here.push(
        "surveyor",
        *(here.operation("surveyor", id, "room", "identity", to | {"number": str(n)}) for n, id in enumerate(rooms)),
    )
    here.push("manager", here.operation("manager", rooms[0], "room", "identity", to | {"number": "other"}))
    seen = next(each for each in here.pull("surveyor")["records"] if each["id"] == rooms[1])
    ops = {name: held["op"] for name, held in seen["facets"].items()}
    here.push("surveyor", here.operation("surveyor", rooms[1], "room", "life", None, kind="remove", seen=ops))
    here.push("surveyor", here.operation("surveyor", new_id(), "room", "identity", {"number": 7}))
    for role in ("surveyor", None):
        with here.app.app_context(), writing() as session:
            set_role(session, here.site, here.people["stranger"], role)
    to = {"name": "Attic", "parent": here.site}
    (held,) = here.push("stranger", here.operation("stranger", new_id(), "floor", "identity", to))
    assert held["result"] == "held", held
    return [*(photo(here) for _ in range(3)), attachment(here)]


def attachment(here: Installation) -> str:
    """The name under which the store has it."""
    data = b"%PDF-1.4\ntrailer<</Root 1 0 R>>\n%%EOF\n"
    sha256 = hashlib.sha256(data).hexdigest()
    assert here.call("manager", "PUT", f"/api/sites/{{site}}/attachments/{sha256}", data=data).status_code == 201
    return name_kept(sha256)


@pytest.mark.parametrize(
    ("source", "target"),
    [(ONE_MACHINE, ONE_MACHINE), (SCALED_OUT, SCALED_OUT), (SCALED_OUT, ONE_MACHINE), (ONE_MACHINE, SCALED_OUT)],
)
def test_a_drill_brings_back_every_record_and_every_photo(tmp_path: Path, source: str, target: str) -> None:
    if SCALED_OUT in (source, target):
        back_ends.there(back_ends.postgres.cluster, back_ends.object_store.store)
    with installed(tmp_path / "source", source) as here:
        names = fill(here)
        with here.app.app_context():
            back_up(here.app.extensions["spanwalk"], tmp_path / "backup")
        wanted, pictures = rows_of(here.app), photos_of(here.app, names)
    (tmp_path / "target").mkdir()
    app = create_app(read_settings(back_ends.settings(target), tmp_path / "target"))
    with app.app_context():
        prepare_database()
        put_back(app.extensions["spanwalk"], tmp_path / "backup")
    found = rows_of(app)
    assert len(wanted["record"]) == 14
    assert len(wanted["operation"]) == 19
    assert {name: found[name] for name in wanted} == wanted
    assert photos_of(app, names) == pictures
    assert None not in pictures.values()
    with app.app_context():
        db.engine.dispose()


# -- several backups, kept n, sealed


def test_of_several_backups_the_newest_are_kept_and_photos_that_none_has_go(here: Installation, tmp_path: Path) -> None:
    place = tmp_path / "place"
    gone, kept = photo(here), photo(here)
    settings = here.app.extensions["spanwalk"]
    with here.app.app_context():
        first = back_up_dated(settings, str(place), 2)
        with writing() as session:
            table = Base.metadata.tables["photo"]
            session.execute(table.delete().where(table.c.sha256 == gone))
        second, third = (back_up_dated(settings, str(place), 2) for _ in range(2))
    assert third.let_go == (Path(first.where).name,)
    assert {path.name for path in place.iterdir()} == {"photos", Path(second.where).name, Path(third.where).name}
    assert {path.name for path in place.glob("photos/*/*")} == {kept}
    assert cli.main(["restore", third.where, "--data", str(tmp_path / "new")]) == 0


def test_a_place_of_several_backups_asks_which(
    here: Installation, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for _ in range(2):
        assert run(here, "backup", "--to", str(tmp_path / "place"), "--keep", "5") == 0
    assert cli.main(["restore", str(tmp_path / "place"), "--data", str(tmp_path / "new")]) == 2
    assert "several backups" in capsys.readouterr().err


def test_a_sealed_backup_is_read_with_its_key_only(
    here: Installation, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    here.push("surveyor", floor(here, "Mezzanine of the sealed"))
    sha256 = photo(here)
    kept = here.app.extensions["spanwalk-photos"].get(sha256)
    key = tmp_path / "key.txt"
    assert cli.main(["backup-key", str(key)]) == 0
    public = capsys.readouterr().out.split("SPANWALK_BACKUP_KEY=")[1].strip()
    monkeypatch.setenv("SPANWALK_BACKUP_KEY", public)
    for _ in range(2):
        assert run(here, "backup", "--to", str(tmp_path / "place")) == 0
    one, two = sorted(path for path in (tmp_path / "place").iterdir() if path.name != "photos")
    everything = b"".join(path.read_bytes() for path in (tmp_path / "place").rglob("*") if path.is_file())
    assert b"Mezzanine" not in everything
    assert kept not in everything
    monkeypatch.delenv("SPANWALK_BACKUP_KEY")
    new = ["--data", str(tmp_path / "new")]
    assert cli.main(["restore", str(two), *new]) == 2
    assert "--identity" in capsys.readouterr().err
    assert cli.main(["restore", str(two), "--check", *new]) == 0
    other = tmp_path / "other.txt"
    cli.main(["backup-key", str(other)])
    assert cli.main(["restore", str(two), "--identity", str(other), *new]) == 2
    assert cli.main(["restore", str(two), "--identity", str(key), *new]) == 0
    assert (tmp_path / "new" / "photos" / sha256[:2] / sha256).read_bytes() == kept
    assert one.name < two.name


def test_a_private_key_as_the_setting_is_refused_and_not_repeated(
    here: Installation, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    cli.main(["backup-key", str(tmp_path / "key.txt")])
    private = (tmp_path / "key.txt").read_text().splitlines()[1]
    monkeypatch.setenv("SPANWALK_BACKUP_KEY", private)
    assert run(here, "backup", str(tmp_path / "backup")) == 2
    told = capsys.readouterr()
    assert "private key" in told.err
    assert private not in told.err + told.out


def test_backups_lie_in_a_bucket_as_in_a_folder(tmp_path: Path) -> None:
    back_ends.there(back_ends.postgres.cluster, back_ends.object_store.store)
    with installed(tmp_path / "source", SCALED_OUT) as here:
        names = fill(here)
        settings = here.app.extensions["spanwalk"]
        beside = settings.photo_url.removesuffix("photos") + "backups"
        with here.app.app_context():
            back_up_dated(settings, beside, 1)
            made = back_up_dated(settings, beside, 1)
            with writing() as session:
                set_password(session, here.people["surveyor"], NEW_PASSWORD)
            for name in names:
                here.app.extensions["spanwalk-photos"].drop(name)
            with pytest.raises(SettingWrong, match="--replace"):
                put_back(settings, made.where)
            put_back(settings, made.where, replace=True)
        assert len(made.let_go) == 1
        assert sign_in(here, "surveyor", NEW_PASSWORD) == 200
        assert None not in photos_of(here.app, names).values()
        with here.app.app_context():
            db.engine.dispose()


# -- files that only who runs the server reads


def open_to_others(*folders: Path) -> list[str]:
    paths = [path for folder in folders for path in (folder, *folder.rglob("*"))]
    assert len(paths) > 3
    return [f"{path} {stat.filemode(path.stat().st_mode)}" for path in paths if path.stat().st_mode & 0o077]


def test_what_commands_write_is_readable_by_nobody_else(here: Installation, backup: Path, tmp_path: Path) -> None:
    data = here.app.extensions["spanwalk"].data
    shutil.rmtree(data / "photos")
    shutil.rmtree(backup)
    before = os.umask(0o022)
    try:
        for path in (data, data / "spanwalk.db"):
            path.chmod(path.stat().st_mode | 0o055)
        assert run(here, "backup", str(tmp_path / "made" / "backup")) == 1, "a photo is missing"
        assert run(here, "copy-site", here.site, str(tmp_path / "made" / "site.zip")) == 0
        assert run(here, "restore", str(tmp_path / "made" / "backup"), "--replace") == 0
        cli.main(["backup-key", str(tmp_path / "made" / "key.txt")])
    finally:
        os.umask(before)
    assert open_to_others(data, tmp_path / "made") == []


def test_what_a_server_writes_is_readable_by_nobody_else(demo_data: Path) -> None:
    assert open_to_others(demo_data) == []


# -- second factors, codes and phones


def with_authenticator(here: Installation, name: str) -> tuple[str, list[str]]:
    """Give a person an authenticator: its key and the recovery codes."""
    made = here.call(name, "POST", "/api/me/factors/authenticator", json={}).json
    proven = here.call(name, "PUT", "/api/me/factors/authenticator", json={"code": pyotp.TOTP(made["secret"]).now()})
    assert proven.status_code == 200, proven.text
    return made["secret"], proven.json["codes"]


def signing_in(here: Installation, name: str, **more: str) -> tuple[int, str | None]:
    body = {"name": name, "password": PASSWORD, **more}
    answer = here.app.test_client().post("/api/session", json=body, headers=OWN_PAGE)
    return answer.status_code, answer.json.get("code")


def test_a_factor_set_up_since_is_still_asked_for_one_taken_off_is_not_and_a_spent_code_stays_spent(
    here: Installation, tmp_path: Path
) -> None:
    _, codes = with_authenticator(here, "manager")
    with_authenticator(here, "crew")
    assert run(here, "backup", str(tmp_path / "backup")) == 0
    assert signing_in(here, "manager", code=codes[0]) == (200, None)
    assert here.call("owner", "DELETE", f"/api/people/{here.people['crew']}/factors").status_code == 204
    with_authenticator(here, "surveyor")
    assert run(here, "restore", str(tmp_path / "backup"), "--replace") == 0
    assert signing_in(here, "surveyor") == (401, "second-factor-needed")
    assert signing_in(here, "crew") == (200, None)
    assert signing_in(here, "manager", code=codes[0]) == (401, "second-factor-wrong")
    assert signing_in(here, "manager", code=codes[1]) == (200, None)


def test_a_code_for_a_second_phone_that_was_open_in_the_backup_lets_nobody_in(
    here: Installation, tmp_path: Path
) -> None:
    made = here.call("surveyor", "POST", "/api/me/enrolments", json={"password": PASSWORD}).json
    secret = made["address"].partition("#")[2]
    assert run(here, "backup", str(tmp_path / "backup")) == 0
    assert run(here, "restore", str(tmp_path / "backup"), "--replace") == 0
    other = here.app.test_client()
    answer = other.post("/api/enrolments/accept", json={"secret": secret}, headers=OWN_PAGE)
    assert (answer.status_code, answer.json["code"]) == (404, "enrolment-unknown")


def test_a_phone_that_an_owner_shut_out_of_all_since_stays_out(here: Installation, backup: Path) -> None:
    phone = here.phones["surveyor"]
    (told,) = (
        each for each in here.call("owner", "GET", "/api/phones").json["phones"] if each["people"] == ["surveyor"]
    )
    path = f"/api/phones/{told['id']}"
    assert here.call("owner", "PUT", path, json={"shut_out": True}).status_code == 200
    assert run(here, "restore", str(backup), "--replace") == 0
    client = here.app.test_client()
    client.set_cookie("spanwalk_phone", phone)
    assert client.get("/api/phone").json["shut_out"] is True


def test_no_secret_of_a_factor_a_code_or_a_phone_leaves_with_data_a_site_the_audit_or_a_manifest(
    here: Installation, tmp_path: Path
) -> None:
    key, codes = with_authenticator(here, "owner")
    made = here.call("owner", "POST", "/api/me/enrolments", json={"password": PASSWORD}).json
    secrets = [key, *codes, *(each.replace("-", "") for each in codes), made["address"].partition("#")[2]]
    secrets += [here.phones["owner"], here.client("owner").get_cookie("spanwalk_session").value]  # type: ignore[union-attr]
    with here.app.app_context(), reading() as session:
        for table, column in (
            ("person", "password_hash"),
            ("phone", "secret_hash"),
            ("recovery_code", "code_hash"),
            ("enrolment", "secret_hash"),
            ("session", "token_hash"),
        ):
            found = session.execute(select(Base.metadata.tables[table].c[column])).scalars().all()
            assert found, table
            secrets += found
    leaving: dict[str, bytes] = {}
    for path in ("/api/me/data.zip", "/api/sites/{site}/copy.zip"):
        with zipfile.ZipFile(io.BytesIO(here.call("owner", "GET", path).data)) as parts:
            leaving |= {f"{path} {name}": parts.read(name) for name in parts.namelist()}
    for path in ("/api/audit", "/api/audit.csv", "/api/sites/{site}/audit.csv", "/api/me/factors", "/api/phones"):
        leaving[path] = here.call("owner", "GET", path).data
    assert run(here, "backup", str(tmp_path / "backup")) == 0
    leaving["manifest"] = (tmp_path / "backup" / "manifest.json").read_bytes()
    assert len(leaving) > 10
    assert [(name, each) for name, data in leaving.items() for each in secrets if each.encode() in data] == []
