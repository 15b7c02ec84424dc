"""The customer's facility manager reads no photo but of failures, no conflict of others, and not what the firm learnt or asks for."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from tests.photos.test_taking_photos_in import jpeg
from tests.planning.stored_site import store_changes
from tests.support.installation import Installation, installed, new_id
from tests.support.late_site import make_late

from spanwalk.services.sync import narrowed
from spanwalk.services.sync.server_operations import server_push
from spanwalk.services.sync.state import state_of
from spanwalk.services.sync.sums import recount
from spanwalk.storage.database import reading, writing
from spanwalk.sync.digest import digest, digest_line

Json = dict[str, Any]


@pytest.fixture
def here(tmp_path: Path) -> Iterator[Installation]:
    with installed(tmp_path / "data") as made:
        made.add_facility()
        yield made


def make(here: Installation, name: str, type: str, to: Json, record: str | None = None) -> str:
    record = record or new_id()
    (answer,) = here.push(name, here.operation(name, record, type, "identity", to, spec=99))
    assert answer["result"] in ("applied", "conflict"), answer
    return record


def read(here: Installation, name: str, record: str) -> Json | None:
    found: list[Json] = [each for each in here.pull(name)["records"] if each["id"] == record]
    return found[0] if found else None


def sums_agree(here: Installation, name: str) -> bool:
    """Whether a phone that sums up what it was told comes to the count and sum that it was told."""
    told = here.pull(name)
    lines = [line for each in told["records"] if (line := digest_line(each)) is not None]
    return digest(lines) == (told["count"], told["sum"])


def test_a_conflict_that_is_not_theirs_to_settle_is_not_told(here: Installation) -> None:
    floor = here.floor()
    make(here, "manager", "floor", {"name": "First", "parent": here.site}, floor)
    told, firms = read(here, "facility", floor), read(here, "manager", floor)
    assert told
    assert firms
    assert (len(firms["conflicts"]), told["conflicts"]) == (1, [])
    assert told["facets"] == firms["facets"]
    assert sums_agree(here, "facility")


def test_what_the_firm_learnt_and_asks_for_stays_the_firms(here: Installation) -> None:
    with here.app.app_context(), writing() as session:
        facets = {"learning": {"takes": True}, "learnt": {"numbers": {"spread": {}}}, "proof": {"rebate_fields": []}}
        wanted = [{"record": here.site, "type": "site", "facet": name, "to": to} for name, to in facets.items()]
        server_push(session, here.site, wanted, by=here.people["owner"])
    told, firms = read(here, "facility", here.site), read(here, "crew", here.site)
    assert told
    assert firms
    assert set(firms["facets"]) >= set(facets)
    assert set(told["facets"]) == set(firms["facets"]) - set(facets)
    assert sums_agree(here, "facility")


def test_of_photos_they_read_those_of_failures_alone(here: Installation) -> None:
    floor, pictures = here.floor(), {name: jpeg() for name in ("floor", "failure")}
    names = {name: hashlib.sha256(data).hexdigest() for name, data in pictures.items()}
    group = a_group(here, floor)
    to = {"parent": group, "position": 1, "sign": "flickers", "noted_at": "2026-03-01T09:00:00Z"}
    failure = make(here, "facility", "failure", to)
    about = {"parent": here.site, "purpose": "damage"}
    of_floor = make(here, "surveyor", "photo", {**about, "subject": floor, "sha256": names["floor"]})
    of_failure = make(here, "facility", "photo", {**about, "subject": failure, "sha256": names["failure"]})
    for name, by in (("floor", "surveyor"), ("failure", "facility")):
        path = f"/api/sites/{{site}}/photos/{names[name]}"
        assert here.call(by, "PUT", path, data=pictures[name], content_type="image/jpeg").status_code == 201
        for size in ("", "?size=thumb"):
            assert here.call("manager", "GET", path + size).status_code == 200
            told = here.call("facility", "GET", path + size)
            assert told.status_code == (200 if name == "failure" else 404), (name, size)
    assert read(here, "facility", of_floor) is None
    assert read(here, "facility", of_failure)
    assert read(here, "crew", of_floor)
    assert sums_agree(here, "facility")
    assert sums_agree(here, "crew")


def a_group(here: Installation, floor: str) -> str:
    kind = make(here, "surveyor", "kind", {"parent": here.site, "mark": "K1", "title": "Invented strip"})
    room = make(here, "surveyor", "room", {"parent": floor, "number": "1"})
    return make(here, "surveyor", "group", {"parent": room, "kind": kind})


def test_page_by_page_they_come_to_the_same(here: Installation) -> None:
    for _ in range(3):
        here.floor()
    floor = here.floor()
    make(here, "surveyor", "photo", {"parent": here.site, "purpose": "room", "subject": floor, "sha256": "a" * 64})
    found, since = [], 0
    while True:
        page = here.pull("facility", f"since={since}&limit=1")
        found += page["records"]
        since = page["next"]
        if not page["more"]:
            break
    assert [each["id"] for each in found] == [each["id"] for each in here.pull("facility")["records"]]
    lines = [line for each in found if (line := digest_line(each)) is not None]
    assert digest(lines) == (page["count"], page["sum"])


def test_what_they_read_is_summed_up_without_reading_what_they_read_whole(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Labels and what was noted are most of a building's records."""
    made = make_late(here)
    room, photos = made.records("room")[1], made.records("photo")
    failure = made.add("failure", made.records("group")[2]["id"], identity={"position": 1, "sign": "flickers"})
    in_conflict = {"id": new_id(), "facet": "identity", "by": new_id(), "at": "2026-03-01T09:00:00Z", "value": {}}
    of_failure = {**photos[-1], "facets": {"identity": {**photos[-1]["facets"]["identity"], "subject": failure["id"]}}}
    made.keep()
    store_changes(here, [{**room, "conflicts": [in_conflict]}, of_failure])
    counted: Counter[str] = Counter()
    with here.app.app_context(), writing() as session:
        recount(session, here.site)

    def counts(row: Any) -> Any:
        counted[row.type] += 1
        return state_of(row)

    monkeypatch.setattr(narrowed, "state_of", counts)
    with here.app.app_context(), reading() as session:
        told = narrowed.sum_read(session, here.site, "facility")
        firms = narrowed.sum_read(session, here.site, "manager")
    assert counted == {"site": 1, "photo": len(photos), "room": 1}
    assert told != firms
    lines = [line for each in pulled_in_pages(here) if (line := digest_line(each)) is not None]
    assert told == digest(lines)


def pulled_in_pages(here: Installation) -> Iterator[Json]:
    page = here.pull("facility", "limit=2000")
    yield from page["records"]
    while page["more"]:
        page = here.pull("facility", f"since={page['next']}&limit=2000")
        yield from page["records"]
