"""People who count deliveries apart and offline: whatever the order of syncs, nothing is lost and nothing counted twice."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from uuid import UUID, uuid4, uuid5

import orjson
import pytest
from flask import Flask
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from sqlalchemy import insert, select
from tests.support import back_ends
from tests.support.back_ends import settings as settings_of
from tests.sync.phones import Json, Ledger, Phone

from spanwalk.app import create_app
from spanwalk.config import read_settings
from spanwalk.rules.survey import Survey
from spanwalk.services.bootstrap import prepare_database
from spanwalk.services.clock import now
from spanwalk.services.ordering.ordered import came_in_all, orders_of
from spanwalk.services.people.members import Member
from spanwalk.services.people.people import set_role
from spanwalk.services.sync.incoming import parse_push
from spanwalk.services.sync.pulling import Question, pull, wire_text
from spanwalk.services.sync.pushing import push
from spanwalk.services.sync.server_operations import server_push
from spanwalk.services.sync.state import COLUMNS, site_records
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import Person, Record, Site, db

back_end = back_ends.on_both()
ROLES = {str(UUID(int=n, version=4)): role for n, role in enumerate(("manager", "crew", "surveyor"), 1)}
PEOPLE = list(ROLES)
ITEMS = [str(UUID(int=n, version=4)) for n in (11, 12)]
SLIPS = ("DN 1", "DN 2")
LOOKED = ("site", "order", "delivery")


class Yard:
    """The services on a database, with one order of two items on a site of its own."""

    def __init__(self, number: int) -> None:
        self.site, self.order = str(UUID(int=7000 + number, version=4)), str(uuid4())
        with writing() as session:
            session.execute(insert(Site).values(id=self.site, head=0, created_at=now()))
            for person, role in ROLES.items():
                set_role(session, self.site, person, role)
            release = str(uuid4())
            lines = [{"item": item, "code": item[-2:], "pieces": 50} for item in ITEMS]
            identity = {"number": 1, "sort": "first-order", "release": release, "made_at": now(), "lines": lines}
            made = [
                {
                    "record": item,
                    "type": "catalogue_item",
                    "facet": "identity",
                    "to": {"parent": self.site, "item": "bar", "code": item[-2:]},
                }
                for item in ITEMS
            ]
            made += [
                {"record": release, "type": "release", "facet": "identity", "to": {"parent": self.site, "number": 1, "made_at": now()}},
                {"record": self.order, "type": "order", "facet": "identity", "to": {"parent": self.site, "content": "0" * 64, **identity}},
            ]  # fmt: skip
            answers = server_push(session, self.site, made, by=PEOPLE[0])  # type: ignore[arg-type]
            assert {each["result"] for each in answers} == {"applied"}

    def _member(self, by: str) -> Member:
        return Member(by, by, self.site, ROLES[by])

    def push(self, device: str, by: str, operations: list[Json]) -> list[Json]:
        sent = parse_push(orjson.dumps({"device": device, "operations": operations}))
        answers: list[Json] = json.loads(json.dumps(push(self._member(by), sent)["answers"]))
        return answers

    def pull(self, since: int, device: str | None, by: str) -> tuple[list[Json], int]:
        page = orjson.loads(pull(self._member(by), Question(since, limit=1000, device=device)))
        return page["records"], page["next"]

    def everything(self) -> list[Json]:
        with reading() as session:
            rows = session.execute(select(*COLUMNS).where(Record.site == self.site)).all()
        return [orjson.loads(wire_text(row, None)) for row in rows]

    def came(self) -> dict[str, int]:
        """What the server reckons to have come, by item."""
        with reading() as session:
            return came_in_all(orders_of(Survey(site_records(session, self.site, types=LOOKED))))

    def record_of(self, slip: str, item: str) -> str:
        return str(uuid5(UUID(self.order), f"spanwalk:delivery:{slip}:{item}"))


@pytest.fixture(scope="module")
def app(back_end: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Flask]:
    made = create_app(read_settings(settings_of(back_end), tmp_path_factory.mktemp("yard") / "data"))
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


steps = st.lists(
    st.tuples(
        st.integers(0, 2),
        st.sampled_from(["count", "count", "count", "push", "push lost", "pull", "sync", "settle"]),
        st.integers(0, 2**12),
    ),
    min_size=4,
    max_size=30,
)


def count(yard: Yard, phone: Phone, choice: int) -> None:
    """Count an item of a delivery, as the screen does: the first count makes the record."""
    slip, item = SLIPS[choice % 2], ITEMS[choice // 2 % 2]
    record = yard.record_of(slip, item)
    if "identity" not in phone.facets(record):
        phone.save(record, "delivery", "identity", {"parent": yard.order, "item": item, "slip": slip})
    phone.save(record, "delivery", "count", {"good": choice // 4 % 3 * 10, "damaged": choice // 12 % 2})


def settle(phone: Phone, choice: int) -> None:
    found = [each for each in phone.records.values() if each["conflicts"]]
    if found:
        record = found[choice % len(found)]
        named = [each["id"] for each in record["conflicts"] if each["facet"] == "count"]
        value = (record["facets"]["count"], *record["conflicts"])[choice // 8 % (1 + len(named))]["value"]
        phone.save(record["id"], "delivery", "count", value, named)


def play(yard: Yard, script: list[tuple[int, str, int]]) -> list[Phone]:
    ledger = Ledger()
    phones = [Phone(by, ledger) for by in PEOPLE]
    for phone in phones:
        phone.pull(yard)
    for which, action, choice in script:
        phone = phones[which]
        if action == "count":
            count(yard, phone, choice)
        elif action == "settle":
            settle(phone, choice)
        elif action == "pull":
            phone.pull(yard)
        else:
            phone.push(yard, answer_lost=action == "push lost")
            if action == "sync":
                phone.pull(yard)
    for _ in range(3):
        for phone in phones:
            phone.push(yard)
            phone.pull(yard)
    assert all(not phone.outbox for phone in phones)
    missing = ledger.missing(yard.everything())
    assert not missing, f"missing: {missing}"
    return phones


def test_no_count_is_lost_and_no_delivery_is_counted_twice(app: Flask) -> None:
    numbers = iter(range(10**6))

    @settings(
        max_examples=60,
        deadline=None,
        phases=[Phase.explicit, Phase.reuse, Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(steps)
    def history(script: list[tuple[int, str, int]]) -> None:
        yard = Yard(next(numbers))
        phones = play(yard, script)
        deliveries = [each for each in yard.everything() if each["type"] == "delivery"]
        counted = {(SLIPS[c % 2], ITEMS[c // 2 % 2]) for _, action, c in script if action == "count"}
        assert {each["id"] for each in deliveries} == {yard.record_of(slip, item) for slip, item in counted}
        told: dict[str, int] = {}
        for each in deliveries:
            item = each["facets"]["identity"]["value"]["item"]
            told[item] = told.get(item, 0) + each["facets"]["count"]["value"]["good"]
        assert yard.came() == told, "each delivery of an item counts once, with the value that stands"
        assert all(number <= 20 * len(SLIPS) for number in told.values())
        for phone in phones:
            assert {id: each["facets"]["count"]["op"] for id, each in phone.records.items() if each["type"] == "delivery"} == {
                each["id"]: each["facets"]["count"]["op"] for each in deliveries
            }  # fmt: skip

    history()


def test_two_who_count_the_same_agree_and_two_who_count_otherwise_are_both_told(app: Flask) -> None:
    yard = Yard(999_999)
    ledger = Ledger()
    crew, surveyor = Phone(PEOPLE[1], ledger), Phone(PEOPLE[2], ledger)
    same, other = (yard.record_of("DN 1", item) for item in ITEMS)
    for phone, good in ((crew, 20), (surveyor, 18)):
        phone.pull(yard)
        for record, item, value in ((same, ITEMS[0], 30), (other, ITEMS[1], good)):
            phone.save(record, "delivery", "identity", {"parent": yard.order, "item": item, "slip": "DN 1"})
            phone.save(record, "delivery", "count", {"good": value})
    crew.push(yard)
    surveyor.push(yard)
    by_id = {each["id"]: each for each in yard.everything()}
    assert by_id[same]["conflicts"] == []
    (conflict,) = by_id[other]["conflicts"]
    assert (by_id[other]["facets"]["count"]["value"], conflict["value"]) == ({"good": 20}, {"good": 18})
    assert yard.came() == {ITEMS[0]: 30, ITEMS[1]: 20}
