"""An installation inside the test's own process: app, database in a folder, one site and its people."""

from __future__ import annotations

import tempfile
import threading
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import orjson
from argon2 import PasswordHasher
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import create_engine
from werkzeug.test import TestResponse

from spanwalk.app import create_app
from spanwalk.config import read_settings
from spanwalk.services.bootstrap import prepare_database
from spanwalk.services.people import passwords
from spanwalk.services.people.people import add_person, set_role
from spanwalk.services.sites import add_site
from spanwalk.storage.database import prepare_sqlite, writing
from spanwalk.storage.migrating import upgrade
from spanwalk.storage.tables import db
from tests.support import back_ends
from tests.support.back_ends import ONE_MACHINE

PASSWORD = "walk the span"
OWN_PAGE = {"Sec-Fetch-Site": "same-origin"}
NAMES = {"surveyor": "surveyor", "crew": "crew", "manager": "manager", "owner": "owner"}


@dataclass
class Installation:
    """An app with one site, its people, and a stranger who is on none."""

    app: Flask
    site: str
    people: dict[str, str]
    clients: dict[str, FlaskClient] = field(default_factory=dict)
    phones: dict[str, str] = field(default_factory=dict)
    """The secret of each person's phone: who signs in again does so on the same one."""

    def client(self, name: str | None) -> FlaskClient:
        """A client signed in as a person, or as nobody."""
        if name is None:
            return self.app.test_client()
        if name not in self.clients:
            self.clients[name] = self.signed_in(name, self.phones.get(name))
            self.phones[name] = phone_of(self.clients[name])
        return self.clients[name]

    def signed_in(self, name: str, phone: str | None = None) -> FlaskClient:
        """A client on which a person has just signed in: a new phone, or the one of a secret."""
        client = self.app.test_client()
        if phone is not None:
            client.set_cookie("spanwalk_phone", phone)
        answer = client.post("/api/session", json={"name": name, "password": PASSWORD}, headers=OWN_PAGE)
        assert answer.status_code == 200, answer.text
        return client

    def add_facility(self) -> None:
        """Put the customer's facility manager on the site."""
        answer = self.call("owner", "POST", "/api/people", json={"name": "facility", "password": PASSWORD})
        self.people["facility"] = answer.json["id"]
        put = {"name": "facility", "role": "facility"}
        assert self.call("manager", "PUT", "/api/sites/{site}/people", json=put).status_code == 200

    def call(self, name: str | None, method: str, path: str, **more: Any) -> TestResponse:
        """A request of a person; `{site}` in the path is the site."""
        headers = OWN_PAGE | more.pop("headers", {})
        return self.client(name).open(path.replace("{site}", self.site), method=method, headers=headers, **more)

    def push(self, name: str, *operations: dict[str, Any], **more: Any) -> Any:
        """Push operations as a person; the answers."""
        body = {"device": DEVICES[name], "epoch": "0000000e", "operations": list(operations), **more}
        answer = self.call(name, "POST", "/api/sites/{site}/push", data=orjson.dumps(body))
        assert answer.status_code == 200, answer.text
        return answer.json["answers"]

    def pull(self, name: str, query: str = "") -> Any:
        answer = self.call(name, "GET", f"/api/sites/{{site}}/pull?{query}")
        assert answer.status_code == 200, answer.text
        return answer.json

    def operation(self, name: str, record: str, type: str, facet: str, to: Any = None, **more: Any) -> dict[str, Any]:
        """An operation of a person's phone."""
        _counter[name] = _counter.get(name, 0) + 1
        return {
            "id": f"{DEVICES[name]}.0000000e.{_counter[name]}",
            "by": self.people[name],
            "record": record,
            "type": type,
            "facet": facet,
            "kind": "set",
            "seen": None,
            "from": None,
            "to": to,
            "settles": [],
            "device_time": "2026-03-01T09:00:00Z",
            "spec": 2,
            **more,
        }

    def floor(self, name: str = "surveyor") -> str:
        """A new floor, pushed by a person; its id."""
        record = new_id()
        to = {"name": "Ground", "parent": self.site}
        (answer,) = self.push(name, self.operation(name, record, "floor", "identity", to))
        assert answer["result"] == "applied", answer
        return record


def phone_of(client: FlaskClient) -> str:
    """The secret in a client's cookie by which its phone is known."""
    cookie = client.get_cookie("spanwalk_phone")
    assert cookie is not None
    return str(cookie.value)


CHEAP_HASHER = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
_counter: dict[str, int] = {}
DEVICES = {name: str(uuid.uuid4()) for name in (*NAMES, "facility", "stranger", "second surveyor", "leaver")}


def new_id() -> str:
    return str(uuid.uuid4())


@cache
def _migrated_file() -> bytes:
    """A database file with this version's tables and nothing in them, migrated once for the process."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "spanwalk.db")
        engine = create_engine(f"sqlite:///{path}")
        prepare_sqlite(engine)
        upgrade(engine)
        engine.dispose()
        return path.read_bytes()


def install(folder: Path, back_end: str = ONE_MACHINE, **settings: Any) -> Installation:
    """Make an installation in a folder, on a new back end. Its passwords are hashed cheaply: that costs a test nothing."""
    folder.mkdir(parents=True, exist_ok=True)
    passwords.HASHER = CHEAP_HASHER
    database = folder / "spanwalk.db"
    if back_end == ONE_MACHINE and not database.exists():
        database.write_bytes(_migrated_file())
    app = create_app(read_settings(back_ends.settings(back_end, migrated=True) | settings, folder))
    with app.app_context():
        prepare_database()
        with writing() as session:
            people = {name: add_person(session, name, PASSWORD, owner=name == "owner") for name in (*NAMES, "stranger")}
            site = add_site(session, "Test building", people["owner"])
            for name, role in NAMES.items():
                set_role(session, site, people[name], role)
    return Installation(app, site, people)


def background_ended() -> None:
    """Wait until nothing is made in the background any more: older files go after the newest is said to be made."""
    for thread in threading.enumerate():
        if thread.name.startswith(("archive-", "handover-")):
            thread.join(60)


@contextmanager
def installed(folder: Path, back_end: str = ONE_MACHINE, **settings: Any) -> Iterator[Installation]:
    """An installation whose connections are closed at the end."""
    made = install(folder, back_end, **settings)
    yield made
    background_ended()
    with made.app.app_context():
        db.engine.dispose()
