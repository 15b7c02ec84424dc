"""Sites: made, archived, brought back, deleted; what the list tells of each."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select
from tests.photos.test_taking_photos_in import jpeg
from tests.support.installation import DEVICES, Installation, installed, new_id

from spanwalk.storage.database import reading
from spanwalk.storage.tables import Base, Person, Site


@pytest.fixture
def here(back_end: str, tmp_path: Path) -> Iterator[Installation]:
    with installed(tmp_path / "data", back_end) as made:
        yield made


def archive(here: Installation, archived: bool = True) -> None:
    answer = here.call(
        "owner", "PUT", "/api/sites/{site}/archived", json={"archived": archived, "reason": "More to do"}
    )
    assert answer.status_code == 204, answer.text


def delete(here: Installation, name: str, by: str = "owner") -> Any:
    return here.call(by, "DELETE", "/api/sites/{site}", json={"name": name})


def put_photo(here: Installation, site: str, data: bytes) -> str:
    sha256 = hashlib.sha256(data).hexdigest()
    answer = here.call("owner", "PUT", f"/api/sites/{site}/photos/{sha256}", data=data)
    assert answer.status_code in (200, 201), answer.text
    return sha256


def other_site(here: Installation, name: str = "Other building") -> str:
    return str(here.call("owner", "POST", "/api/sites", json={"name": name}).json["id"])


def rows_of(here: Installation, site: str) -> dict[str, int]:
    """Rows of each table that name a site."""
    found: dict[str, int] = {}
    with here.app.app_context(), reading() as session:
        for table in Base.metadata.sorted_tables:
            for key in table.foreign_keys:
                if key.column.table.name == Site.__tablename__:
                    found[table.name] = len(session.execute(select(table).where(key.parent == site)).all())
        found["site"] = len(session.execute(select(Site.id).where(Site.id == site)).all())
    return found


# -- the list


def test_the_list_tells_how_far_each_site_is_who_is_on_it_and_when_a_phone_was_heard_of(here: Installation) -> None:
    floor = here.floor()
    rooms = [new_id(), new_id()]
    here.push(
        "surveyor",
        *(here.operation("surveyor", room, "room", "identity", {"number": "1", "parent": floor}) for room in rooms),
        here.operation("surveyor", rooms[0], "room", "progress", {"progress": "surveyed"}),
    )
    (listed,) = here.call("owner", "GET", "/api/sites").json["sites"]
    told = {name: listed[name] for name in ("name", "role", "archived_at", "rooms", "rooms_done", "people")}
    wanted = {"name": "Test building", "role": "owner", "archived_at": None, "rooms": 2, "rooms_done": 1, "people": 4}
    assert told == wanted
    assert listed["heard_at"] is not None


def test_an_archived_site_stands_last_in_the_list_and_says_since_when(here: Installation) -> None:
    other = other_site(here)
    archive(here)
    sites = here.call("owner", "GET", "/api/sites").json["sites"]
    assert [(each["id"], each["archived_at"] is not None) for each in sites] == [(other, False), (here.site, True)]
    of_session = here.call("owner", "GET", "/api/session").json["sites"]
    assert {each["id"]: each["archived_at"] is not None for each in of_session} == {other: False, here.site: True}


def test_customer_access_and_meter_are_fields_of_the_sites_own_record(here: Installation) -> None:
    to = {"customer": "Old Cannery Trust (invented)", "access_note": "Key at the gate.", "utility_meter": "M-1"}
    (answer,) = here.push("manager", here.operation("manager", here.site, "site", "customer", to, spec=3))
    assert answer["result"] == "applied"
    (answer,) = here.push("surveyor", here.operation("surveyor", here.site, "site", "customer", to, spec=3))
    assert (answer["result"], answer["code"]) == ("refused", "no-right")


# -- archived


def test_a_push_to_an_archived_site_is_refused_with_a_sentence_and_accepted_once_it_is_back(here: Installation) -> None:
    floor = new_id()
    operation = here.operation("surveyor", floor, "floor", "identity", {"name": "Ground", "parent": here.site})
    body = {"device": DEVICES["surveyor"], "epoch": "0000000e", "operations": [operation]}
    archive(here)
    refused = here.call("surveyor", "POST", "/api/sites/{site}/push", json=body)
    assert (refused.status_code, refused.json["code"]) == (409, "site-archived")
    assert "what is not sent is kept" in refused.json["detail"]
    archive(here, False)
    (answer,) = here.push("surveyor", operation)
    assert answer["result"] == "applied"


def test_an_archived_site_can_still_be_read(here: Installation) -> None:
    floor = here.floor()
    archive(here)
    assert floor in {each["id"] for each in here.pull("surveyor")["records"]}
    assert here.call("manager", "GET", "/api/sites/{site}/walk.csv").status_code == 200


def test_held_work_stays_held_while_a_site_is_archived(here: Installation) -> None:
    here.call("manager", "PUT", "/api/sites/{site}/people", json={"name": "surveyor", "role": None})
    to = {"name": "Ground", "parent": here.site}
    (answer,) = here.push("surveyor", here.operation("surveyor", new_id(), "floor", "identity", to))
    assert answer["result"] == "held"
    archive(here)
    held = here.call("manager", "GET", "/api/sites/{site}/held").json["held"]
    ids = [each["id"] for each in held]
    assert len(ids) == 1
    for what in ("release", "refuse"):
        refused = here.call("manager", "POST", "/api/sites/{site}/held", json={what: ids})
        assert (refused.status_code, refused.json["code"]) == (409, "site-archived")
    archive(here, False)
    assert here.call("manager", "POST", "/api/sites/{site}/held", json={"release": ids}).status_code == 200


@pytest.mark.parametrize("path", ["releases", "labels"])
def test_nothing_is_released_or_labelled_on_an_archived_site(here: Installation, path: str) -> None:
    archive(here)
    refused = here.call("manager", "POST", f"/api/sites/{{site}}/{path}", json={})
    assert (refused.status_code, refused.json["code"]) == (409, "site-archived")


def test_no_photo_comes_into_an_archived_site(here: Installation) -> None:
    archive(here)
    data = jpeg(60, 40)
    sha256 = hashlib.sha256(data).hexdigest()
    refused = here.call("surveyor", "PUT", f"/api/sites/{{site}}/photos/{sha256}", data=data)
    assert (refused.status_code, refused.json["code"]) == (409, "site-archived")
    assert here.call("surveyor", "GET", f"/api/sites/{{site}}/photos/{sha256}").status_code == 404


@pytest.mark.parametrize("body", [{}, {"archived": None}, {"archived": "yes"}, {"archived": 1}])
def test_archiving_is_said_by_true_or_false(here: Installation, body: dict[str, Any]) -> None:
    refused = here.call("owner", "PUT", "/api/sites/{site}/archived", json=body)
    assert (refused.status_code, refused.json["code"], refused.json["field"]) == (422, "body-field-wrong", "archived")


@pytest.mark.parametrize(("method", "path"), [("PUT", "/archived"), ("GET", "/contents"), ("DELETE", "")])
def test_a_site_that_is_not_there_is_neither_archived_nor_counted_nor_deleted(
    here: Installation, method: str, path: str
) -> None:
    more = {"json": {"archived": True, "name": "x"}} if method != "GET" else {}
    answer = here.call("owner", method, f"/api/sites/{new_id()}{path}", **more)
    assert (answer.status_code, answer.json["code"]) == (404, "site-unknown")


# -- deleted


def test_what_goes_is_counted_before_a_site_is_deleted(here: Installation) -> None:
    here.floor()
    here.floor()
    data = jpeg(60, 40)
    put_photo(here, here.site, data)
    told = here.call("owner", "GET", "/api/sites/{site}/contents").json
    assert (told["name"], told["records"], told["photos"], told["photo_bytes"]) == (
        "Test building",
        {"floor": 2},
        1,
        len(data),
    )
    assert (told["people"], told["phones"], told["held"]) == (4, 1, 0)
    assert told["operations"] == 4  # the site's name and settings, and two floors


@pytest.mark.parametrize("typed", ["Test", "test building", "Test building 2", " "])
def test_a_site_is_not_deleted_under_another_name(here: Installation, typed: str) -> None:
    refused = delete(here, typed)
    assert (refused.status_code, refused.json["code"]) == (422, "site-name-differs")
    assert refused.json["right"] == "Test building"
    assert here.pull("surveyor")["records"]


def test_deleting_takes_records_operations_photos_memberships_and_phones_in_one_go(here: Installation) -> None:
    here.floor()
    sha256 = put_photo(here, here.site, jpeg(60, 40))
    here.call("owner", "GET", f"/api/sites/{{site}}/photos/{sha256}?size=thumb")
    store = here.app.extensions["spanwalk-photos"]
    assert store.has(sha256)
    assert store.has(sha256 + ".thumbnail")
    before = rows_of(here, here.site)
    assert all(before[name] for name in ("record", "operation", "photo", "membership", "device", "site_sum", "site"))
    assert delete(here, "Test building").status_code == 204
    assert set(rows_of(here, here.site).values()) == {0}
    assert not store.has(sha256)
    assert not store.has(sha256 + ".thumbnail")
    with here.app.app_context(), reading() as session:
        assert len(session.execute(select(Person.id)).all()) == 5
    gone = here.call("surveyor", "GET", "/api/sites/{site}/pull")
    assert (gone.status_code, gone.json["code"]) == (404, "site-unknown")


def test_another_site_keeps_its_records_and_a_photo_that_both_show(here: Installation) -> None:
    other = other_site(here)
    data = jpeg(60, 40)
    sha256 = put_photo(here, here.site, data)
    put_photo(here, other, data)
    before = rows_of(here, other)
    assert delete(here, "Test building").status_code == 204
    assert rows_of(here, other) == before
    assert here.call("owner", "GET", f"/api/sites/{other}/photos/{sha256}").status_code == 200


def test_an_archived_site_can_be_deleted(here: Installation) -> None:
    archive(here)
    assert delete(here, "Test building").status_code == 204
    assert here.call("owner", "GET", "/api/sites").json["sites"] == []


def test_who_reads_meanwhile_keeps_no_deletion_waiting(here: Installation) -> None:
    """SQLite's own way to empty its log waits for readers, and keeps all writers out while it does."""
    with here.app.app_context(), reading() as session:
        session.execute(select(Site.id)).all()
        began = time.monotonic()
        assert delete(here, "Test building").status_code == 204
        waited_s = time.monotonic() - began
    assert waited_s < here.app.extensions["spanwalk"].busy_timeout_s / 3


@pytest.mark.parametrize("name", ["surveyor", "crew", "manager"])
def test_only_an_owner_deletes_a_site(here: Installation, name: str) -> None:
    refused = delete(here, "Test building", by=name)
    assert (refused.status_code, refused.json["code"]) == (403, "owner-only")
    assert here.call("owner", "GET", "/api/sites/{site}/contents").status_code == 200
