"""A photo's bytes while others write the same object: a store, spoken to over HTTP, that answers as busy ones do."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest

from spanwalk.storage import photos
from spanwalk.storage.photos import StoreFails, open_photo_store

DATA = b"a photo's bytes"
NAME = hashlib.sha256(DATA).hexdigest()


class BusyStore:
    """Accepts a write without an ETag, and has no object yet, as often as told; then all is well."""

    def __init__(self, outruns: int) -> None:
        self.outruns, self.writes, self.kept = outruns, 0, b""
        busy = self

        class Handler(BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def do_PUT(self) -> None:
                data = self.rfile.read(int(self.headers["Content-Length"]))
                busy.writes += 1
                if busy.writes > busy.outruns:
                    busy.kept = data
                    return self.answer(200, {"ETag": '"of-these-bytes"'})
                return self.answer(200, {})

            def do_HEAD(self) -> None:
                self.answer(404, {})

            def answer(self, status: int, headers: dict[str, str]) -> None:
                self.send_response_only(status)
                for name, value in {**headers, "Content-Length": "0"}.items():
                    self.send_header(name, value)
                self.end_headers()

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    @property
    def settings(self) -> dict[str, str]:
        url = f"http://127.0.0.1:{self.server.server_address[1]}"
        return {"SPANWALK_S3_ENDPOINT": url, "SPANWALK_S3_KEY": "someone", "SPANWALK_S3_SECRET": "of the test"}


@contextmanager
def busy_store(outruns: int) -> Iterator[BusyStore]:
    store = BusyStore(outruns)
    yield store
    store.server.shutdown()
    store.server.server_close()


@pytest.fixture(autouse=True)
def short_waits(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photos, "WAITS_WHEN_OUTRUN_S", (0.001,) * 5)


@pytest.mark.parametrize("outruns", [0, 1, 3, 5])
def test_a_write_outrun_by_another_that_is_not_seen_yet_is_made_again_until_it_stands(outruns: int) -> None:
    with busy_store(outruns) as store:
        open_photo_store("s3://walks/photos", store.settings).put(NAME, DATA)
    assert store.kept == DATA
    assert store.writes == outruns + 1


def test_a_write_that_never_stands_is_told_as_failed_and_names_the_photo() -> None:
    with busy_store(1000) as store, pytest.raises(StoreFails, match=NAME):
        open_photo_store("s3://walks/photos", store.settings).put(NAME, DATA)
    assert store.writes == 6
