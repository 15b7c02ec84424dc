"""Photos over HTTP: the receipt, what is refused and why, and what is handed out."""

from __future__ import annotations

import hashlib
import os
import stat
import struct
import zlib
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from tests.support.installation import Installation, new_id

from spanwalk.services.photos import photos
from spanwalk.services.photos.cleaning import THUMBNAIL_PX
from spanwalk.services.photos.kept import is_whole
from spanwalk.storage.photos import FolderStore, StoreFull, open_photo_store

ORIENTATION = 0x0112


def jpeg(width: int = 64, height: int = 48, exif: Image.Exif | None = None, **more: Any) -> bytes:
    """A JPEG that is unlike every other: noise of its own."""
    image = Image.frombytes("RGB", (width, height), hashlib.shake_128(new_id().encode()).digest(width * height * 3))
    out = BytesIO()
    image.save(out, "JPEG", **({"exif": exif} if exif is not None else {}), **more)
    return out.getvalue()


def put(here: Installation, data: bytes, name: str = "surveyor", sha256: str | None = None) -> Any:
    named = sha256 or hashlib.sha256(data).hexdigest()
    return here.call(
        name, "PUT", f"/api/sites/{{site}}/photos/{named}", data=data, headers={"Content-Type": "image/jpeg"}
    )


def get(here: Installation, data: bytes, query: str = "", name: str = "crew", method: str = "GET") -> Any:
    return here.call(name, method, f"/api/sites/{{site}}/photos/{hashlib.sha256(data).hexdigest()}{query}")


# -- in


def test_a_new_photo_gets_a_receipt_and_the_same_again_another(here: Installation) -> None:
    data = jpeg()
    first, second = put(here, data), put(here, data)
    receipt = {"sha256": hashlib.sha256(data).hexdigest(), "bytes": len(data)}
    assert (first.status_code, first.json) == (201, receipt)
    assert (second.status_code, second.json) == (200, receipt)


def test_a_photo_is_in_the_store_when_its_receipt_is_given(here: Installation) -> None:
    data = jpeg()
    put(here, data)
    settings = here.app.extensions["spanwalk"]
    store = open_photo_store(settings.photo_url, settings.extra)
    named = hashlib.sha256(data).hexdigest()
    assert is_whole(named, store.get(named))
    assert {named, f"{named}.thumbnail"} <= set(store.names())


@pytest.mark.parametrize("share", [0.0, 0.1, 0.5, 0.99])
def test_a_photo_cut_on_the_way_is_not_taken_and_may_be_sent_again(here: Installation, share: float) -> None:
    data = jpeg()
    named = hashlib.sha256(data).hexdigest()
    answer = put(here, data[: int(len(data) * share)], sha256=named)
    assert (answer.status_code, answer.json["code"]) == (422, "photo-hash-differs")
    assert get(here, data).status_code == 404
    assert put(here, data).status_code == 201


def test_a_photo_that_ends_too_early_is_refused_with_its_size(here: Installation) -> None:
    data = jpeg(640, 480)
    half = data[: len(data) // 2]
    answer = put(here, half)
    assert (answer.status_code, answer.json["code"], answer.json["value"]) == (
        422,
        "photo-cut-short",
        len(half),
    )


def png_of(width: int, height: int) -> bytes:
    """A PNG that says a size and holds almost nothing."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"\0")) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("data", "begins"),
    [
        (b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n", "PDF"),
        (png_of(60_000, 60_000), "PNG"),
        (b"GIF89a" + bytes(40), "GIF"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "text"),
        (b"RIFF\x10\0\0\0WEBPVP8 ", "WebP"),
        (b"\0\1\2\3\4\5\6\7\x08", "00 01 02 03 04 05 06 07"),
    ],
    ids=["PDF", "PNG of 60,000 pixels", "GIF", "SVG", "WebP", "noise"],
)
def test_what_is_not_a_jpeg_is_refused_and_said_to_be_what_it_is(here: Installation, data: bytes, begins: str) -> None:
    answer = put(here, data)
    assert (answer.status_code, answer.json["code"], answer.json["begins"]) == (422, "photo-not-jpeg", begins)
    assert begins in answer.json["detail"]


def resized(data: bytes, width: int, height: int) -> bytes:
    """The same JPEG, saying another size in its frame header."""
    at = data.index(b"\xff\xc0") + 5
    return data[:at] + struct.pack(">HH", height, width) + data[at + 4 :]


@pytest.mark.parametrize(("width", "height"), [(60_000, 40), (40, 60_000), (20_000, 20_000)])
def test_too_many_pixels_are_refused_with_their_number_before_they_are_decoded(
    here: Installation, width: int, height: int
) -> None:
    answer = put(here, resized(jpeg(), width, height))
    assert (answer.status_code, answer.json["code"]) == (413, "photo-pixels")
    assert f"{width} × {height}" in answer.json["detail"]


def test_too_many_bytes_are_refused(here: Installation) -> None:
    answer = put(here, jpeg() + bytes(12_000_000))
    assert (answer.status_code, answer.json["code"]) == (413, "photo-bytes")
    assert put(here, bytes(12_200_000)).json["code"] == "http-413"


def test_an_empty_photo_is_said_to_be_empty(here: Installation) -> None:
    assert put(here, b"").json["code"] == "photo-empty"


@pytest.mark.parametrize("name", ["x", "A" * 64, "0" * 63, "..%2f..%2fetc%2fpasswd"])
def test_a_name_that_is_no_hash_is_refused(here: Installation, name: str) -> None:
    answer = here.call("surveyor", "PUT", f"/api/sites/{{site}}/photos/{name}", data=jpeg())
    assert answer.json["code"] in ("photo-name-wrong", "http-404", "http-405")
    assert answer.status_code in (404, 405, 422)


# -- out


def test_a_photo_is_handed_out_as_a_picture_that_nothing_takes_for_a_page(here: Installation) -> None:
    data = jpeg()
    put(here, data)
    answer = get(here, data)
    assert (answer.status_code, answer.mimetype) == (200, "image/jpeg")
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Cache-Control"] == "no-store"


def test_a_thumbnail_is_small_upright_and_without_anything_else(here: Installation) -> None:
    exif = Image.Exif()
    exif[ORIENTATION] = 6
    data = jpeg(800, 400, exif=exif)
    put(here, data)
    answer = get(here, data, "?size=thumb")
    with Image.open(BytesIO(answer.data)) as image:
        assert image.size == (THUMBNAIL_PX // 2, THUMBNAIL_PX)
        assert dict(image.getexif()) == {}
    assert get(here, data, "?size=huge").json["code"] == "query-wrong"


def test_head_says_whether_a_photo_has_arrived(here: Installation) -> None:
    data = jpeg()
    assert get(here, data, method="HEAD").status_code == 404
    put(here, data)
    assert get(here, data, method="HEAD").status_code == 200


def test_who_has_it_already_is_told_so(here: Installation) -> None:
    data = jpeg()
    put(here, data)
    tag = get(here, data).headers["ETag"]
    path = f"/api/sites/{{site}}/photos/{hashlib.sha256(data).hexdigest()}"
    assert here.call("crew", "GET", path, headers={"If-None-Match": tag}).status_code == 304


def test_a_photo_of_another_site_is_not_there_even_for_who_knows_its_name(here: Installation) -> None:
    data = jpeg()
    put(here, data)
    other = here.call("owner", "POST", "/api/sites", json={"name": "Other"}).json["id"]
    named = hashlib.sha256(data).hexdigest()
    answer = here.call("owner", "GET", f"/api/sites/{other}/photos/{named}")
    assert (answer.status_code, answer.json["code"]) == (404, "photo-not-arrived")


def test_the_arrived_photos_of_a_site_are_known(here: Installation) -> None:
    from spanwalk.storage.database import reading

    data = jpeg()
    put(here, data)
    with here.app.app_context(), reading() as session:
        assert hashlib.sha256(data).hexdigest() in photos.photos_arrived(session, here.site)


# -- the folder


def test_a_photo_is_flushed_before_it_gets_its_name_and_the_folder_after(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    done: list[str] = []
    flush, rename = os.fsync, Path.replace

    def fsync(handle: int) -> None:
        done.append("folder" if stat.S_ISDIR(os.fstat(handle).st_mode) else "file")
        flush(handle)

    def replace(self: Path, target: Path) -> Path:
        done.append("rename")
        return rename(self, target)

    monkeypatch.setattr(os, "fsync", fsync)
    monkeypatch.setattr(Path, "replace", replace)
    FolderStore(tmp_path / "photos").put("ab" * 32, b"bytes")
    assert done == ["file", "rename", "folder", "folder", "folder"], "its folder, the store's, and that one's"


def test_a_photo_that_cannot_be_written_leaves_nothing_under_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    store = FolderStore(tmp_path / "photos")
    with pytest.raises(StoreFull, match="No space left"):
        store.put("ab" * 32, b"bytes")
    assert not store.has("ab" * 32)
    assert list((tmp_path / "photos" / "ab").iterdir()) == []
