"""An archive is made in the background: one at a time, in bounded memory, and what keeps it from being made is a sentence."""

from __future__ import annotations

import hashlib
import os
import time
import tracemalloc
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import insert, select, update
from tests.support.installation import Installation, background_ended, installed

from spanwalk.services.archives import making
from spanwalk.services.archives.verifying import verify_archive
from spanwalk.services.archives.writing import write_archive
from spanwalk.services.background.making import MADE
from spanwalk.services.clock import now
from spanwalk.services.photos.kept import Kept, sealed
from spanwalk.storage.database import reading, writing
from spanwalk.storage.photos import StoreFull
from spanwalk.storage.tables import Photo, Site, SiteArchive

PHOTOS = 2000
PHOTO_BYTES = 60_000
MEMORY_MOST = 40_000_000
"""Bytes that Python holds while 120 MB of photos are written; one photo and the records of one type are in memory."""


@pytest.fixture
def here(tmp_path: Path) -> Iterator[Installation]:
    with installed(tmp_path / "data") as made:
        yield made


class ManyPhotos:
    """A store in which every photo is there, as large as a phone's; what is put is counted."""

    def __init__(self, full: bool = False) -> None:
        self.data = sealed(Kept(os.urandom(PHOTO_BYTES)))
        self.full, self.put_bytes = full, 0

    def get(self, name: str) -> bytes | None:
        return self.data

    def put(self, name: str, data: bytes) -> None:
        if self.full:
            raise StoreFull("no room")
        self.put_bytes += len(data)

    def has(self, name: str) -> bool:
        return True

    def drop(self, name: str) -> None:
        return

    def names(self) -> Iterator[str]:
        return iter(())


def with_photos(here: Installation, count: int) -> None:
    about = {"site": here.site, "bytes": PHOTO_BYTES, "width_px": 9, "height_px": 9, "person": here.people["owner"]}
    rows = [
        {**about, "sha256": hashlib.sha256(str(n).encode()).hexdigest(), "received_at": now()} for n in range(count)
    ]
    with writing() as session:
        session.execute(insert(Photo), rows)


def settled(here: Installation) -> Any:
    """How the newest archive stands, once it is made or not, and older ones are gone."""
    end = time.monotonic() + 60
    while time.monotonic() < end:
        told = here.call("owner", "GET", "/api/sites/{site}/archive").json
        if told["state"] != "making":
            background_ended()
            return told
        time.sleep(0.05)
    raise AssertionError("not made in time")


def test_two_thousand_photos_are_written_in_bounded_memory_and_it_is_told_how_far(
    here: Installation, tmp_path: Path
) -> None:
    steps: list[tuple[int, int]] = []
    with here.app.app_context():
        with_photos(here, PHOTOS)
        tracemalloc.start()
        with reading() as session:
            path = tmp_path / "many.zip"
            write_archive(session, ManyPhotos(), here.site, path, lambda done, total: steps.append((done, total)))
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
    assert path.stat().st_size > PHOTOS * PHOTO_BYTES
    assert peak < MEMORY_MOST
    assert steps == [(n, PHOTOS + 6) for n in range(1, PHOTOS + 7)]
    found = verify_archive(path)
    assert (found.flaws, found.photos) == ([], PHOTOS)


def test_asked_for_twice_at_once_one_is_made_and_both_get_it(here: Installation) -> None:
    here.client("owner")
    with ThreadPoolExecutor(2) as both:
        calls = [both.submit(here.call, "owner", "POST", "/api/sites/{site}/archive") for _ in range(2)]
        assert [each.result(60).status_code for each in calls] == [200, 200]
    assert settled(here)["state"] == "made"
    with here.app.app_context(), reading() as session:
        assert len(session.execute(select(SiteArchive.id)).scalars().all()) == 1


def test_the_second_to_ask_begins_none_while_one_is_made(here: Installation) -> None:
    with here.app.app_context():
        with writing() as session:
            assert making.begin_archive(session, here.site, here.people["owner"]) is not None
        with writing() as session:
            assert making.begin_archive(session, here.site, here.people["owner"]) is None


def test_one_that_a_stopped_server_left_is_told_and_can_be_made_again(here: Installation) -> None:
    with here.app.app_context(), writing() as session:
        making.begin_archive(session, here.site, here.people["owner"])
        session.execute(update(SiteArchive).values(changed_at="2020-01-01T00:00:00Z"))
    told = here.call("owner", "GET", "/api/sites/{site}/archive").json
    assert (told["state"], told["why"]["code"]) == ("wrong", "archive.stopped")
    assert here.call("owner", "POST", "/api/sites/{site}/archive").status_code == 200
    assert settled(here)["state"] == "made"


def test_a_store_without_room_is_a_sentence_and_the_next_try_goes(here: Installation) -> None:
    store, here.app.extensions["spanwalk-photos"] = here.app.extensions["spanwalk-photos"], ManyPhotos(full=True)
    assert here.call("owner", "GET", "/api/sites/{site}/archive.zip").json["code"] == "archive.none"
    here.call("owner", "POST", "/api/sites/{site}/archive")
    told = settled(here)
    assert (told["state"], told["why"]["code"]) == ("wrong", "archive.no-room")
    here.app.extensions["spanwalk-photos"] = store
    here.call("owner", "POST", "/api/sites/{site}/archive")
    assert settled(here)["state"] == "made"


def test_a_photo_that_the_store_has_no_more_is_told_and_the_rest_is_archived(
    here: Installation, tmp_path: Path
) -> None:
    with here.app.app_context():
        with_photos(here, 1)
    here.call("owner", "POST", "/api/sites/{site}/archive")
    told = settled(here)
    assert (told["state"], told["photos_missing"]) == ("made", 1)
    path = tmp_path / "archive.zip"
    path.write_bytes(here.call("owner", "GET", "/api/sites/{site}/archive.zip").data)
    assert verify_archive(path).flaws == []
    assert "Nothing has been released" in told["not_made"]["hand-over.pdf"]


def test_closing_begins_one_and_opening_again_needs_a_reason_that_stays_in_the_log(here: Installation) -> None:
    assert here.call("owner", "PUT", "/api/sites/{site}/archived", json={"archived": True}).status_code == 204
    assert settled(here)["state"] == "made"
    refused = here.call("owner", "PUT", "/api/sites/{site}/archived", json={"archived": False})
    assert (refused.status_code, refused.json["code"]) == (422, "site-reopen-reason")
    again = here.call("owner", "PUT", "/api/sites/{site}/archived", json={"archived": False, "reason": "A new wing"})
    assert again.status_code == 204
    (site,) = [each for each in here.pull("owner")["records"] if each["type"] == "site"]
    told = site["facets"]["closing"]["value"]
    assert (told["state"], told["reason"]) == ("reopened", "A new wing")
    assert here.floor()


def test_closing_makes_one_of_its_own_though_one_is_being_made_of_the_site_as_it_was_open(here: Installation) -> None:
    with here.app.app_context(), writing() as session:
        of_before = making.begin_archive(session, here.site, here.people["owner"])
    assert here.call("owner", "PUT", "/api/sites/{site}/archived", json={"archived": True}).status_code == 204
    told = settled(here)
    assert (told["state"], told["earlier"]) == ("made", False)
    assert len(parts_kept(here)) == 1
    with here.app.app_context(), reading() as session:
        assert of_before not in set(session.execute(select(SiteArchive.id)).scalars())


def test_one_that_was_begun_before_the_site_was_last_closed_says_so(here: Installation) -> None:
    here.call("owner", "POST", "/api/sites/{site}/archive")
    assert settled(here)["earlier"] is False
    with here.app.app_context(), writing() as session:
        session.execute(update(Site).where(Site.id == here.site).values(archived_at=now()))
    assert settled(here)["earlier"] is True


def parts_kept(here: Installation) -> list[str]:
    """Names of parts in the store."""
    return [name for name in here.app.extensions["spanwalk-photos"].names() if ".archive-" in name]


def test_only_the_newest_archive_of_a_site_is_kept_and_none_of_a_deleted_one(here: Installation) -> None:
    firsts = []
    for _ in range(2):
        here.call("owner", "POST", "/api/sites/{site}/archive")
        settled(here)
        firsts.append(parts_kept(here))
    assert [len(each) for each in firsts] == [1, 1]
    assert firsts[0] != firsts[1]
    assert here.call("owner", "DELETE", "/api/sites/{site}", json={"name": "Test building"}).status_code == 204
    assert parts_kept(here) == []


def test_an_archive_begun_while_older_ones_are_let_go_is_not_let_go_with_them(here: Installation) -> None:
    with here.app.app_context():
        with writing() as session:
            first = making.begin_archive(session, here.site, here.people["owner"])
        assert first
        making.ARCHIVE.set(first, state=MADE)
        with writing() as session:
            second = making.begin_archive(session, here.site, here.people["owner"])
        making._let_go_older(here.app.extensions["spanwalk-photos"], here.site, first)
        with reading() as session:
            assert set(session.execute(select(SiteArchive.id)).scalars()) == {first, second}


def test_an_archive_stands_although_older_ones_cannot_be_let_go_now(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise StoreFull("no answer")

    monkeypatch.setattr(making, "_let_go_older", full)
    here.call("owner", "POST", "/api/sites/{site}/archive")
    assert settled(here)["state"] == "made"
    assert settled(here)["state"] == "made"
