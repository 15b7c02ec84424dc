"""A PostgreSQL server of the tests' own: one for the run, in a folder under the system's temporary one, gone at the end."""

from __future__ import annotations

import atexit
import functools
import os
import pwd
import shutil
import subprocess
import tempfile
import time
import uuid
from pathlib import Path

from sqlalchemy import NullPool, create_engine
from sqlalchemy.exc import OperationalError

from spanwalk.storage.migrating import upgrade
from tests.support import machine
from tests.support.server import free_port

START_SECONDS = 60
OWNER = "postgres"
"""PostgreSQL refuses to run as root; Debian's package brings this user."""
SETTINGS = ("fsync=off", "max_connections=200", "shared_buffers=64MB", "logging_collector=off")
"""Flushing to the disk only guards against power loss, which no test here causes; commits are whole all the same."""


class Cluster:
    """A running PostgreSQL server on a free port of this machine, reached over TCP without a password."""

    def __init__(self) -> None:
        self.programs = machine.postgres()
        self.folder = Path(tempfile.mkdtemp(prefix="spanwalk-postgres-"))
        self.port = free_port()
        self.migrated: str | None = None
        self.as_owner: list[str] = []
        if os.geteuid() == 0:
            owner = pwd.getpwnam(OWNER)
            os.chown(self.folder, owner.pw_uid, owner.pw_gid)
            self.as_owner = ["runuser", "-u", OWNER, "--"]
        self._start()

    def _start(self) -> None:
        data = str(self.folder / "data")
        made = [str(self.programs / "initdb"), "-D", data, "-U", OWNER, "--auth=trust", "--no-sync", "-E", "UTF8"]
        subprocess.run([*self.as_owner, *made, "--locale=C"], check=True, stdout=subprocess.DEVNULL, cwd="/")
        settings = (*SETTINGS, f"unix_socket_directories={self.folder}", "listen_addresses=127.0.0.1")
        command = [str(self.programs / "postgres"), "-D", data, "-p", str(self.port)]
        command += [word for setting in settings for word in ("-c", setting)]
        with (self.folder / "log").open("wb") as log:
            self.process = subprocess.Popen([*self.as_owner, *command], stdout=log, stderr=log, cwd="/")
        end = time.monotonic() + START_SECONDS
        while True:
            try:
                self.execute("SELECT 1")
                return
            except OperationalError:
                if self.process.poll() is not None or time.monotonic() > end:
                    raise RuntimeError((self.folder / "log").read_text(errors="replace")[-3000:]) from None
                time.sleep(0.1)

    def url(self, name: str) -> str:
        """The SQLAlchemy address of one of its databases."""
        return f"postgresql+psycopg://{OWNER}@127.0.0.1:{self.port}/{name}"

    def execute(self, statement: str) -> None:
        """Run a statement outside a transaction."""
        engine = create_engine(self.url("postgres"), isolation_level="AUTOCOMMIT", poolclass=NullPool)
        with engine.connect() as connection:
            connection.exec_driver_sql(statement)

    def new_database(self) -> str:
        """The address of a new, empty database."""
        return self._created("template0")

    def migrated_database(self) -> str:
        """The address of a new database with this version's tables and nothing in them: a copy of one that was migrated once."""
        if self.migrated is None:
            self.migrated = self.new_database().rsplit("/", 1)[1]
            engine = create_engine(self.url(self.migrated), poolclass=NullPool)
            upgrade(engine)
        return self._created(self.migrated)

    def copy_of(self, database: str) -> str:
        """The address of a new database that is a copy of another, to which nobody is connected."""
        return self._created(database.rsplit("/", 1)[1])

    def _created(self, template: str) -> str:
        name = f"spanwalk_{uuid.uuid4().hex[:12]}"
        self.execute(f"CREATE DATABASE {name} TEMPLATE {template}")
        return self.url(name)

    def stop(self) -> None:
        """Stop it at once and remove its folder."""
        stop = [str(self.programs / "pg_ctl"), "-D", str(self.folder / "data"), "-m", "immediate", "stop"]
        subprocess.run([*self.as_owner, *stop], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, cwd="/")
        self.process.wait()
        shutil.rmtree(self.folder, ignore_errors=True)


@functools.cache
def cluster() -> Cluster:
    """The run's PostgreSQL server, started when it is first asked for."""
    made = Cluster()
    atexit.register(made.stop)
    return made
