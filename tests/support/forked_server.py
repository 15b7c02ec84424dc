"""Servers and commands that start in a moment: forked from a process that has loaded Spanwalk but connected to nothing.

`python -m tests.support.forked_server` forks a `spanwalk ARGUMENT…` for each line of JSON that it reads (`Wish`) and
prints its process id. A wish may name a fault of `PLANTS` to put in. For a line with a `Place` it plans the sites there and
prints nothing but the place: whoever is forked for that place has what a server has that planned them a moment ago.
"""

from __future__ import annotations

import atexit
import gc
import importlib
import json
import os
import pkgutil
import select
import signal
import subprocess
import sys
import tempfile
import threading
import time
import traceback
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any, Required, TypedDict

LATE_S = 0.25


class Files(TypedDict, total=False):
    """Where a forked `spanwalk` writes what it prints and its errors (`err`; with the rest unless said), its exit status once
    it has ended, and what is typed to it (`typed`; nothing unless said)."""

    log: Required[str]
    err: str
    status: str
    typed: str


class Wish(TypedDict):
    """A `spanwalk` to be forked: what it is told, its whole environment, its files, the fault in it, and the place whose plans
    it has (none: it has nothing)."""

    arguments: list[str]
    env: dict[str, str]
    files: Files
    plant: str
    planned: str


class Place(TypedDict):
    """An installation by the environment and the folder that a server of it has, under a name."""

    place: str
    env: dict[str, str]
    data: str


class ForkedProcess:
    """A process that somebody else forked, as far as servers of tests ask of it what they ask of their own."""

    def __init__(self, pid: int) -> None:
        self.pid = pid
        self._ended = os.pidfd_open(pid)
        self.returncode: int | None = None

    def __del__(self) -> None:
        os.close(self._ended)

    def poll(self) -> int | None:
        """Something that is not None once it has ended; how it ended nobody knows."""
        return self._told(0)

    def wait(self, timeout_s: float | None = None) -> int | None:
        """Wait for its end.

        Raises
        ------
        subprocess.TimeoutExpired
            It still runs.
        """
        if self._told(timeout_s) is None:
            raise subprocess.TimeoutExpired(str(self.pid), timeout_s or 0)
        return self.returncode

    def _told(self, within_s: float | None) -> int | None:
        if self.returncode is None and select.select([self._ended], [], [], within_s)[0]:
            self.returncode = 0
        return self.returncode

    def terminate(self) -> None:
        if self.poll() is None:
            signal.pidfd_send_signal(self._ended, signal.SIGTERM)


class _Forker:
    """The process that forks, for one place that Spanwalk is loaded from."""

    def __init__(self, path: str | None) -> None:
        env = dict(os.environ)
        if path is not None:
            env["PYTHONPATH"] = os.pathsep.join([path, str(Path(__file__).parents[2])])
        command = [sys.executable, "-m", "tests.support.forked_server"]
        self._lock = threading.Lock()
        self._planned: set[str] = set()
        self._process = subprocess.Popen(
            command, env=env, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=Path(__file__).parents[2]
        )
        atexit.register(self._end)

    def fork(self, wish: Wish) -> ForkedProcess:
        with self._lock:
            return ForkedProcess(int(self._answer(wish)))

    def plan(self, place: Place) -> None:
        with self._lock:
            if place["place"] not in self._planned:
                assert self._answer(place) == place["place"]
                self._planned.add(place["place"])

    def _answer(self, line: Wish | Place) -> str:
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(json.dumps(line) + "\n")
        self._process.stdin.flush()
        return self._process.stdout.readline().rstrip("\n")

    def _end(self) -> None:
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.close()
        self._process.wait(10)
        self._process.stdout.close()


@cache
def _forker(path: str | None) -> _Forker:
    return _Forker(path)


def forked(
    arguments: list[str], env: Mapping[str, str], files: Files, plant: str = "none", planned: str = ""
) -> ForkedProcess:
    """A `spanwalk` with arguments in an environment; `PYTHONPATH` there says which Spanwalk it is."""
    wish = Wish(arguments=arguments, env={**os.environ, **env}, files=files, plant=plant, planned=planned)
    return _forker(env.get("PYTHONPATH")).fork(wish)


def planned(env: Mapping[str, str], data: Path) -> str:
    """Plan the sites of an installation once for all servers that are forked for copies of it; the place to fork them for."""
    place = env.get("SPANWALK_DATABASE_URL", str(data))
    _forker(env.get("PYTHONPATH")).plan(Place(place=place, env={**os.environ, **env}, data=str(data)))
    return place


def _answer_before_commit() -> None:
    """The phone is told 'applied' before the database has it."""
    from sqlalchemy.orm import Session

    from spanwalk.services.sync import pushing
    from spanwalk.storage.tables import db

    assert pushing.writing is not None

    @contextmanager
    def late() -> Iterator[Session]:
        session = Session(db.engine.execution_options(sqlite_begin="BEGIN IMMEDIATE"))
        session.begin()
        try:
            yield session
        except BaseException:
            session.rollback()
            raise
        threading.Timer(LATE_S, lambda: (session.commit(), session.close())).start()

    pushing.writing = late


def _log_and_records_apart() -> None:
    """The log is committed before the records are written."""
    from spanwalk.services.sync import writing
    from spanwalk.storage.tables import Operation

    whole = writing.insert_many

    def apart(connection: Any, table: Any, rows: Any) -> None:
        whole(connection, table, rows)
        if table is Operation.__table__:
            connection.exec_driver_sql("COMMIT")
            time.sleep(LATE_S)
            connection.exec_driver_sql("BEGIN IMMEDIATE" if connection.dialect.name == "sqlite" else "BEGIN")

    writing.insert_many = apart


def _photo_after_its_receipt() -> None:
    """The receipt goes out before the photo is in the store."""
    from spanwalk.storage.photos import BucketStore, FolderStore

    def later(store: type) -> None:
        put = store.put  # type: ignore[attr-defined]
        store.put = lambda self, name, data: threading.Timer(LATE_S, put, (self, name, data)).start()  # type: ignore[attr-defined]

    later(FolderStore)
    later(BucketStore)


PLANTS = {
    "none": lambda: None,
    "answer-before-commit": _answer_before_commit,
    "log-and-records-apart": _log_and_records_apart,
    "photo-after-its-receipt": _photo_after_its_receipt,
}


def _load() -> None:
    """Load what servers load, and make ready what each of them would make for itself."""
    import PIL.Image
    import waitress  # noqa: F401

    import spanwalk.services.demo.site
    import spanwalk.web
    from spanwalk import words
    from spanwalk.package_folders import page_folder, reference_folder
    from spanwalk.web.pages import pages_of
    from tests.support.routes import build_once

    for module in pkgutil.walk_packages(spanwalk.web.__path__, "spanwalk.web."):
        importlib.import_module(module.name)
    pages_of(page_folder(), reference_folder())
    build_once()
    PIL.Image.init()
    for language in words.languages():
        words.differing(language)
    _try_one()


TRIED = ("/api/session", "/api/sites/{site}/pull", "/api/sites/{site}/plan", "/api/sites/{site}/completeness")
"""What most servers of tests are asked, by a manager among others."""


def _try_one() -> None:
    """Make an app on an empty database, use it and let it go: what is worked out once for a process is worked out then."""
    from spanwalk.services.people import passwords
    from tests.support.installation import installed
    from tests.support.statements import compile_once

    compile_once()
    as_shipped = passwords.HASHER
    with tempfile.TemporaryDirectory() as folder, installed(Path(folder)) as here:
        here.floor("surveyor")
        for path in TRIED:
            assert here.call("manager", "GET", path).status_code == 200, path
    passwords.HASHER = as_shipped
    assert threading.active_count() == 1, "a thread would not be there after a fork"


_plans: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {}
"""Place -> plans and open points by site, which nobody is forked with who is not forked for it."""


def _plan(place: Place) -> None:
    """Plan the sites of a place and find what is open there, as a server does that is asked; put it by."""
    from sqlalchemy import select

    from spanwalk.app import create_app
    from spanwalk.config import read_settings
    from spanwalk.services.planning import completeness, plans
    from spanwalk.storage.database import reading
    from spanwalk.storage.tables import Site, db

    with create_app(read_settings(place["env"], Path(place["data"]))).app_context():
        with reading() as session:
            for site in session.scalars(select(Site.id)).all():
                completeness.judged_site(session, site)
        db.engine.dispose()
    assert threading.active_count() == 1, "a thread would not be there after a fork"
    _plans[place["place"]] = dict(plans._kept), dict(completeness._judged)
    plans._kept.clear()
    completeness._judged.clear()


def _have_plans(place: str) -> None:
    """Have plans and open points as one who found them a moment ago; they hold for copies of that place alone."""
    from spanwalk.services.planning import completeness, plans

    plans._kept.update(_plans[place][0])
    completeness._judged.update(_plans[place][1])


def _share() -> None:
    """Leave what is loaded to all who are forked: looking for garbage writes into each object, which copies its memory."""
    gc.collect()
    gc.freeze()


def _hash_cheaply() -> None:
    """A test signs in thousands of times: what a password's hash costs is measured where it is the question."""
    from argon2 import PasswordHasher

    from spanwalk.services.people import passwords

    passwords.HASHER = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)


def _become(wish: Wish) -> int:
    """The forked process is a `spanwalk` of its own: its session, environment, input, output and fault; its exit status."""
    from spanwalk.cli import main as spanwalk
    from tests.support.statements import compile_once

    os.setsid()
    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    files = wish["files"]
    os.dup2(os.open(files.get("typed", os.devnull), os.O_RDONLY), 0)
    sys.stdin = open(0, encoding="utf-8", closefd=False)  # noqa: SIM115  it is open as long as the process is
    for number, name in ((1, files["log"]), (2, files.get("err", files["log"]))):
        os.dup2(os.open(name, os.O_WRONLY | os.O_CREAT | os.O_APPEND), number)
    os.environ.clear()
    os.environ.update(wish["env"])
    is_for_a_test = "PYTEST_CURRENT_TEST" in os.environ
    compile_once(is_for_a_test)
    if is_for_a_test:
        _hash_cheaply()
    PLANTS[wish["plant"]]()
    if wish["planned"]:
        _have_plans(wish["planned"])
    try:
        return spanwalk(wish["arguments"])
    except SystemExit as ended:  # as the interpreter does: a text is printed and is 1
        if isinstance(ended.code, str):
            print(ended.code, file=sys.stderr)
        return ended.code if isinstance(ended.code, int) else int(ended.code is not None)


def _tell_status(wish: Wish, status: int) -> None:
    if "status" in wish["files"]:
        Path(wish["files"]["status"]).write_text(str(status))


def main() -> None:
    """Fork a server for each line read, until there is no more."""
    _load()
    _share()
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    while line := sys.stdin.readline():
        wish = json.loads(line)
        if "place" in wish:
            _plan(wish)
            _share()
            print(wish["place"], flush=True)
            continue
        child = os.fork()
        if child == 0:
            status = 1
            try:
                status = _become(wish)
            except BaseException:
                traceback.print_exc()
            finally:
                sys.stdout.flush()
                sys.stderr.flush()
                _tell_status(wish, status)
                os._exit(0)
        print(child, flush=True)


if __name__ == "__main__":
    main()
