"""A full disk, a store or database that is away, a clock that jumps: nothing half, said as what it is, well again after."""

from __future__ import annotations

import errno
import hashlib
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event
from tests.photos.test_taking_photos_in import jpeg
from tests.support import object_store, postgres
from tests.support.back_ends import ONE_MACHINE, SCALED_OUT, there
from tests.support.installation import DEVICES, OWN_PAGE, PASSWORD, Installation, install, installed, new_id
from tests.support.server import Client, Server, free_port

from spanwalk.app import create_app
from spanwalk.services import clock
from spanwalk.services.doctor import examine_all
from spanwalk.services.sync import pushing
from spanwalk.storage.database import reading
from spanwalk.storage.tables import db

Json = Any
NOTE = "x" * 150


def floors(here: Installation, count: int) -> list[Json]:
    return [
        here.operation("surveyor", new_id(), "floor", "identity", {"name": f"{n} {NOTE}"[:80], "parent": here.site})
        for n in range(count)
    ]


def body(operations: list[Json]) -> Json:
    return {"device": DEVICES["surveyor"], "epoch": "0000000e", "operations": operations}


def findings(here: Installation) -> list[str]:
    with here.app.app_context():
        with reading() as session:
            found = examine_all(session, here.app.extensions["spanwalk-photos"], read_photos=True).findings
        db.engine.dispose()
    return [each.code for each in found]


# -- no room


@contextmanager
def small_disk(megabytes: int) -> Iterator[Path]:
    """A file system of its own with so much room; where none can be mounted the test is left to its twin below."""
    folder = Path(tempfile.mkdtemp(prefix="spanwalk-small-"))
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={megabytes}m,mode=755", "tmpfs", str(folder)], capture_output=True
    )
    if made.returncode != 0:
        pytest.skip("no file system can be mounted here; the same is shown by a shim in the next test")
    try:
        yield folder
    finally:
        subprocess.run(["umount", "-l", str(folder)], check=True)
        folder.rmdir()


@contextmanager
def on_the_small_disk(back_end: str, small: Path) -> Iterator[dict[str, str]]:
    """Settings that put database and photos on that disk; of PostgreSQL its tables, not its log."""
    if back_end == ONE_MACHINE:
        yield {}
        return
    space, where, cluster = f"small_{new_id()[:8]}", small / "tables", postgres.cluster()
    where.mkdir()
    shutil.chown(where, postgres.OWNER)
    cluster.execute(f"CREATE TABLESPACE {space} LOCATION '{where}'")
    cluster.execute(f"CREATE DATABASE {space} TABLESPACE {space} TEMPLATE template0")
    try:
        yield {"SPANWALK_DATABASE_URL": cluster.url(space)}
    finally:
        cluster.execute(f"DROP DATABASE {space} WITH (FORCE)")
        cluster.execute(f"DROP TABLESPACE {space}")


def test_a_full_disk_is_told_as_507_and_nothing_is_half_done(back_end: str) -> None:
    with small_disk(24) as small, on_the_small_disk(back_end, small) as where:
        here = install(small / "data", **where)
        server = Server(small / "data", command="serve", env=where).start()
        try:
            phone = Client(server.url, "surveyor")
            push, photos = f"/api/sites/{here.site}/push", f"/api/sites/{here.site}/photos/"
            refused, status, answer = fill_up(here, phone, push, small)
            assert (status, answer["code"]) == (507, "disk-full"), answer
            data = jpeg(900, 900)
            named = hashlib.sha256(data).hexdigest()
            status, answer = phone.call("PUT", photos + named, raw=data)
            assert (status, answer["code"]) == (507, "disk-full"), answer
            assert phone.call("GET", f"/api/sites/{here.site}/pull?since=0&limit=10")[0] == 200, "reading goes on"
            (small / "filler").unlink()
            status, answer = phone.call("POST", push, body(refused))
            assert status == 200, answer
            assert {each["result"] for each in answer["answers"]} == {"applied"}
            assert phone.call("PUT", photos + named, raw=data)[0] == 201
            assert phone.call("GET", photos + named)[0] == 200
        finally:
            server.stop()
        assert findings(here) == []


def fill_up(here: Installation, phone: Client, push: str, small: Path) -> tuple[list[Json], int, Json]:
    """Push until the disk is full: the batch that was not taken, with status and answer."""
    room = os.statvfs(small)
    (small / "filler").write_bytes(bytes(max(0, room.f_bavail * room.f_frsize - 400_000)))
    for _ in range(60):
        batch = floors(here, 200)
        status, answer = phone.call("POST", push, body(batch))
        if status != 200:
            return batch, status, answer
    raise AssertionError("the disk did not fill up")


def test_a_database_without_room_is_told_as_507_and_takes_the_same_later(tmp_path: Path) -> None:
    """By SQLite's own limit of pages, where no disk can be made: the error is the very same."""
    with installed(tmp_path / "data") as here:
        here.client("surveyor")
        most = {"pages": 0}

        @event.listens_for(engine_of(here), "begin")
        def _limit(connection: Any) -> None:
            if most["pages"]:
                connection.exec_driver_sql(f"PRAGMA max_page_count={most['pages']}")

        most["pages"] = 1  # SQLite takes the number there are now
        batch = floors(here, 300)
        answer = here.call("surveyor", "POST", "/api/sites/{site}/push", json=body(batch))
        assert (answer.status_code, answer.json["code"], answer.headers["Retry-After"]) == (507, "disk-full", "60")
        assert "no room left" in answer.json["detail"]
        most["pages"] = 1_000_000
        assert {each["result"] for each in here.push("surveyor", *batch)} == {"applied"}
        assert findings(here) == []


def engine_of(here: Installation) -> Any:
    with here.app.app_context():
        return db.engine


def test_a_photo_folder_without_room_is_told_as_507_and_takes_the_same_later(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with installed(tmp_path / "data") as here:
        data = jpeg()
        path = f"/api/sites/{{site}}/photos/{hashlib.sha256(data).hexdigest()}"

        def full(_handle: int) -> None:
            raise OSError(errno.ENOSPC, "No space left on device")

        with monkeypatch.context() as shim:
            shim.setattr(os, "fsync", full)
            answer = here.call("surveyor", "PUT", path, data=data)
        assert (answer.status_code, answer.json["code"]) == (507, "disk-full")
        assert here.call("surveyor", "GET", path).status_code == 404
        assert here.call("surveyor", "PUT", path, data=data).status_code == 201
        with monkeypatch.context() as shim:
            shim.setattr(os, "fsync", full)
            assert here.call("surveyor", "GET", path + "?size=thumb").status_code == 200, "shown, though not kept"
        assert findings(here) == []


# -- away


@pytest.fixture
def scaled_out() -> str:
    there(postgres.cluster, object_store.store)
    return SCALED_OUT


def test_a_photo_store_that_is_away_is_told_as_503_and_records_go_on(tmp_path: Path, scaled_out: str) -> None:
    with installed(tmp_path / "data", scaled_out) as here:
        settings = here.app.extensions["spanwalk"]
        nobody = f"http://127.0.0.1:{free_port()}"
        apart = create_app(replace(settings, extra=dict(settings.extra) | {"SPANWALK_S3_ENDPOINT": nobody}))
        elsewhere = Installation(apart, here.site, here.people)
        data = jpeg()
        path = f"/api/sites/{{site}}/photos/{hashlib.sha256(data).hexdigest()}"
        answer = elsewhere.call("surveyor", "PUT", path, data=data)
        assert (answer.status_code, answer.json["code"]) == (503, "photo-store-failing")
        assert int(answer.headers["Retry-After"]) > 0
        assert {each["result"] for each in elsewhere.push("surveyor", *floors(here, 3))} == {"applied"}
        assert here.call("surveyor", "PUT", path, data=data).status_code == 201
        with apart.app_context():
            db.engine.dispose()
        assert findings(here) == []


@contextmanager
def cutting(here: Installation) -> Iterator[dict[str, int]]:
    """PostgreSQL ends the connection right before the statement that `left` counts down to, or before the commit."""
    left = {"statements": 0, "commits": 0}

    def count(kind: str, connection: Any) -> None:
        left[kind] -= 1
        if left[kind] == 0:
            pid = connection.connection.dbapi_connection.info.backend_pid
            postgres.cluster().execute(f"SELECT pg_terminate_backend({pid}, 5000)")

    def statement(connection: Any, *_: Any) -> None:
        count("statements", connection)

    def commit(connection: Any) -> None:
        count("commits", connection)

    engine = engine_of(here)
    event.listen(engine, "before_cursor_execute", statement)
    event.listen(engine, "commit", commit)
    yield left
    event.remove(engine, "before_cursor_execute", statement)
    event.remove(engine, "commit", commit)


def told_as_busy(answer: Any) -> bool:
    """Told so; or the work was done, and only moving the sign-in's end on was cut, which costs no answer."""
    return answer.status_code == 200 or (answer.status_code, answer.json["code"]) == (503, "database-busy")


@pytest.mark.parametrize("kind", ["statements", "commits"])
def test_a_connection_that_the_database_cuts_anywhere_in_a_push_is_told_as_503_and_the_same_push_is_taken_once(
    tmp_path: Path, scaled_out: str, kind: str
) -> None:
    with installed(tmp_path / "data", scaled_out) as here, cutting(here) as left:
        here.push("surveyor")  # the phone is written down: that is a transaction of its own
        cuts, pushed = 0, []
        while True:
            batch = floors(here, 3)
            left[kind] = cuts + 1
            answer = here.call("surveyor", "POST", "/api/sites/{site}/push", json=body(batch))
            pushed += batch
            if left[kind] > 0:
                assert {each["result"] for each in answer.json["answers"]} == {"applied"}
                break
            cuts += 1
            assert told_as_busy(answer), (cuts, answer.text)
            assert answer.status_code == 200 or int(answer.headers["Retry-After"]) > 0
            assert {each["result"] for each in here.push("surveyor", *batch)} == {"applied"}, cuts
        assert cuts >= {"statements": 10, "commits": 1}[kind]
        left["statements"] = left["commits"] = 0
        held = [
            each["id"] for each in here.pull("surveyor", "since=0&limit=2000")["records"] if each["type"] == "floor"
        ]
        assert sorted(held) == sorted(each["record"] for each in pushed)
        assert findings(here) == []


def test_a_connection_that_the_database_cuts_anywhere_in_a_pull_is_told_as_503(tmp_path: Path, scaled_out: str) -> None:
    with installed(tmp_path / "data", scaled_out) as here, cutting(here) as left:
        here.push("surveyor", *floors(here, 3))
        cuts = 0
        while True:
            left["statements"] = cuts + 1
            answer = here.call("surveyor", "GET", "/api/sites/{site}/pull?since=0&limit=10")
            if left["statements"] > 0:
                break
            cuts += 1
            assert told_as_busy(answer), (cuts, answer.text)
        assert cuts >= 3
        assert len([each for each in answer.json["records"] if each["type"] == "floor"]) == 3


# -- the clock


class Clock:
    """The server's clock, set wrong by so many days."""

    days = 0
    fromisoformat = staticmethod(datetime.fromisoformat)

    def now(self, zone: Any = UTC) -> datetime:
        return datetime.now(zone) + timedelta(days=self.days)


@pytest.mark.parametrize("days", [365, -365])
def test_a_clock_that_jumps_a_year_in_the_middle_of_each_push_changes_no_answer(
    tmp_path: Path, back_end: str, monkeypatch: pytest.MonkeyPatch, days: int
) -> None:
    with installed(tmp_path / "steady", back_end) as steady:
        undisturbed = played(steady)
    wrong, lock = Clock(), pushing.lock_site

    def jump(session: Any, site_id: str, *more: Any) -> int:
        wrong.days = days - wrong.days
        return lock(session, site_id, *more)

    with installed(tmp_path / "jumping", back_end) as jumping:
        for name in ("surveyor", "manager", "owner"):
            jumping.client(name)
        monkeypatch.setattr(clock, "datetime", wrong)
        monkeypatch.setattr(pushing, "lock_site", jump)
        monkeypatch.setattr("spanwalk.web.request.auth.who_is", always(jumping))
        assert played(jumping) == undisturbed
        assert findings(jumping) == []


def always(here: Installation) -> Any:
    """A sign-in that no clock ends: here only what a push answers is looked at."""
    from spanwalk.services.people.signing_in import who_is

    def patient(session: Any, token: str) -> Any:
        moved, clock.datetime = clock.datetime, datetime  # type: ignore[attr-defined]
        try:
            return who_is(session, token)
        finally:
            clock.datetime = moved  # type: ignore[attr-defined]

    return patient


def played(here: Installation) -> list[Json]:
    """A made record, a conflict, a refused entry and its correction, a settlement: what became of each, and the state."""
    told: list[Json] = []

    def push(name: str, *operations: Json) -> list[Json]:
        answers: list[Json] = here.push(name, *operations)
        told.extend((each["result"], each.get("seq"), each.get("code")) for each in answers)
        return answers

    floor = new_id()
    made = here.operation("surveyor", floor, "floor", "identity", {"name": "A", "parent": here.site})
    push("surveyor", made)
    for name in ("manager", "owner"):
        push(
            name, here.operation(name, floor, "floor", "identity", {"name": name, "parent": here.site}, seen=made["id"])
        )
    lost = here.pull("manager")["records"][-1]["conflicts"]
    room = new_id()
    bad = here.operation("surveyor", room, "room", "identity", {"number": "", "parent": floor})
    push("surveyor", bad)
    good = here.operation("surveyor", room, "room", "identity", {"number": "1", "parent": floor}, replaces=bad["id"])
    push("surveyor", good)
    push(
        "surveyor",
        here.operation("surveyor", room, "room", "identity", {"number": "2", "parent": floor}, seen=bad["id"]),
    )
    newest = here.pull("manager")["records"]
    held = next(each for each in newest if each["id"] == floor)["facets"]["identity"]["op"]
    settled = {"name": "settled", "parent": here.site}
    push(
        "manager",
        here.operation(
            "manager", floor, "floor", "identity", settled, seen=held, settles=[each["id"] for each in lost]
        ),
    )
    push("surveyor", made)
    for each in here.pull("manager")["records"]:
        values = {name: facet["value"] for name, facet in each["facets"].items()}
        told.append((each["type"], each["seq"], len(each["conflicts"]), values.get("identity", {}).get("name")))
    return told


def test_wrong_tries_counted_while_the_clock_was_a_year_ahead_do_not_keep_a_person_out_for_a_year(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def sign_in(password: str) -> int:
        told = {"name": "surveyor", "password": password}
        return int(here.app.test_client().post("/api/session", json=told, headers=OWN_PAGE).status_code)

    with installed(tmp_path / "data") as here:
        ahead = Clock()
        ahead.days = 365
        monkeypatch.setattr(clock, "datetime", ahead)
        assert [sign_in("not it at all") for _ in range(4)] == [401] * 3 + [429]
        ahead.days = 0
        assert sign_in(PASSWORD) == 200
