"""The same random phones against the services on a database: what they gather is what the rules need."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import orjson
import pytest
from flask import Flask
from hypothesis import HealthCheck, Phase, given, settings
from sqlalchemy import insert, select
from tests.support.back_ends import settings as settings_of
from tests.sync.paper_site import FLOOR, ROOM, SITE, pen
from tests.sync.phones import Json
from tests.sync.test_random_phones import FLOORS, PEOPLE, ROOMS, play, steps

from spanwalk.app import create_app
from spanwalk.config import read_settings
from spanwalk.services.bootstrap import prepare_database
from spanwalk.services.clock import now
from spanwalk.services.doctor import examine_all
from spanwalk.services.people.members import Member
from spanwalk.services.people.people import set_role
from spanwalk.services.sync.incoming import parse_push
from spanwalk.services.sync.pulling import Question, pull, wire_text
from spanwalk.services.sync.pushing import push
from spanwalk.services.sync.state import COLUMNS
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import Person, Record, Site, db

__all__ = ["FLOOR", "ROOM"]


class DatabaseServer:
    """The services themselves, without HTTP; a site of its own for each history."""

    def __init__(self, number: int) -> None:
        self.site = f"00000000-0000-4000-8001-{number:012x}"
        with writing() as session:
            session.execute(insert(Site).values(id=self.site, head=0, created_at=now()))
            for person in PEOPLE:
                set_role(session, self.site, person, "surveyor")
        self.push(*furnishing())

    def _member(self, by: str) -> Member:
        return Member(by, by, self.site, "surveyor")

    def _there(self, operations: list[Json]) -> list[Json]:
        return json.loads(json.dumps(operations).replace(SITE, self.site))

    def _here(self, value: Any) -> Any:
        return json.loads(json.dumps(value).replace(self.site, SITE))

    def push(self, device: str, by: str, operations: list[Json]) -> list[Json]:
        sent = parse_push(orjson.dumps({"device": device, "operations": self._there(operations)}))
        answers: list[Json] = self._here(push(self._member(by), sent)["answers"])
        return answers

    def pull(self, since: int, device: str | None, by: str) -> tuple[list[Json], int]:
        found: list[Json] = []
        while True:
            page = orjson.loads(pull(self._member(by), Question(since, limit=7, device=device)))
            found += self._here(page["records"])
            since = page["next"]
            if not page["more"]:
                return found, since

    def everything(self) -> list[Json]:
        with reading() as session:
            rows = session.execute(select(*COLUMNS).where(Record.site == self.site)).all()
        return self._here([orjson.loads(wire_text(row, None)) for row in rows])


def furnishing() -> tuple[str, str, list[Json]]:
    hand = pen(0, PEOPLE[3])
    floors = [
        hand.set(floor, "identity", {"name": f"Level {n}", "parent": SITE}, type="floor")
        for n, floor in enumerate(FLOORS)
    ]
    rooms = [hand.set(room, "identity", {"number": str(n), "parent": FLOORS[0]}) for n, room in enumerate(ROOMS)]
    return hand.device, PEOPLE[3], floors + rooms


@pytest.fixture(scope="module")
def app(back_end: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Flask]:
    made = create_app(read_settings(settings_of(back_end), tmp_path_factory.mktemp("phones") / "data"))
    Path(made.extensions["spanwalk"].data).mkdir()
    with made.app_context():
        prepare_database()
        with writing() as session:
            for person in PEOPLE:
                session.execute(
                    insert(Person).values(id=person, name=person, name_key=person, owner=False, created_at=now())
                )
        yield made
        db.engine.dispose()


def test_nothing_ticked_is_missing_on_a_database_either(app: Flask) -> None:
    numbers = iter(range(10**6))

    @settings(
        max_examples=40,
        deadline=None,
        phases=[Phase.explicit, Phase.reuse, Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(steps)
    def history(script: list[tuple[int, str, int]]) -> None:
        play(DatabaseServer(next(numbers)), script)

    history()
    with reading() as session:
        found = examine_all(session, app.extensions["spanwalk-photos"]).findings
    bare = "doctor.site-without-record"  # these histories' sites are bare ones
    assert [each for each in found if each.code != bare] == [], "records and log tell the same"
