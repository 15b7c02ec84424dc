"""Where photos lie: in a folder, flushed to the disk before they are acknowledged, or in a bucket."""

from __future__ import annotations

import os
import secrets
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Protocol
from urllib.parse import unquote, urlsplit

from spanwalk.config import SettingWrong


class PhotoStore(Protocol):
    """Bytes by name; the same name always means the same bytes."""

    def put(self, name: str, data: bytes) -> None:
        """Keep bytes; return only when they are safe."""

    def get(self, name: str) -> bytes | None:
        """The bytes, or None."""

    def has(self, name: str) -> bool:
        """Whether the bytes are there."""


class FolderStore:
    """Photos in a folder of this machine, spread over 256 folders by their first two letters."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def _path(self, name: str) -> Path:
        return self.folder / name[:2] / name

    def put(self, name: str, data: bytes) -> None:
        """Write beside, flush to the disk, rename, flush the folder: never half a photo under its name."""
        path = self._path(name)
        path.parent.mkdir(parents=True, exist_ok=True)
        beside = path.parent / f".{name}.{secrets.token_hex(4)}"
        try:
            with beside.open("xb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            beside.replace(path)
        except BaseException:
            beside.unlink(missing_ok=True)
            raise
        _flush_folder(path.parent)
        _flush_folder(self.folder)

    def get(self, name: str) -> bytes | None:
        """The bytes, or None."""
        try:
            return self._path(name).read_bytes()
        except FileNotFoundError:
            return None

    def has(self, name: str) -> bool:
        """Whether the bytes are there."""
        return self._path(name).is_file()


def _flush_folder(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


class BucketStore:
    """Photos in an S3-compatible store, so that several servers share them."""

    def __init__(self, store: Any, prefix: str) -> None:
        self.store, self.prefix = store, prefix

    def _key(self, name: str) -> str:
        return f"{self.prefix}{name[:2]}/{name}"

    def put(self, name: str, data: bytes) -> None:
        """Hand the bytes over; the store answers when they are safe. The same name is the same bytes."""
        self.store.put(self._key(name), data)

    def get(self, name: str) -> bytes | None:
        """The bytes, or None."""
        try:
            return bytes(self.store.get(self._key(name)).bytes())
        except FileNotFoundError:
            return None

    def has(self, name: str) -> bool:
        """Whether the bytes are there."""
        try:
            self.store.head(self._key(name))
        except FileNotFoundError:
            return False
        return True


def open_photo_store(url: str, more: Mapping[str, str]) -> PhotoStore:
    """The store at an address.

    Parameters
    ----------
    url : str
        ``file:///folder`` or ``s3://bucket/prefix``.
    more : mapping of str to str
        For a bucket: SPANWALK_S3_ENDPOINT, SPANWALK_S3_REGION, SPANWALK_S3_KEY, SPANWALK_S3_SECRET.

    Raises
    ------
    SettingWrong
        Another sort of address, or a setting that a bucket needs and lacks.
    """
    parts = urlsplit(url)
    if parts.scheme == "file" and parts.path:
        return FolderStore(Path(unquote(parts.path)))
    if parts.scheme == "s3" and parts.netloc:
        return _open_bucket(parts.netloc, parts.path.strip("/"), more)
    raise SettingWrong(f"SPANWALK_PHOTO_URL is '{url}'; it must be file:///a/folder or s3://bucket/prefix.")


def _open_bucket(bucket: str, prefix: str, more: Mapping[str, str]) -> BucketStore:
    try:
        from obstore.store import S3Store
    except ImportError:
        raise SettingWrong("Photos in a bucket need more packages: pip install 'spanwalk[scale]'.") from None
    missing = [name for name in ("SPANWALK_S3_KEY", "SPANWALK_S3_SECRET") if not more.get(name)]
    if missing:
        raise SettingWrong(f"{missing[0]} is not set; photos in a bucket need it.")
    endpoint = more.get("SPANWALK_S3_ENDPOINT")
    store = S3Store(
        bucket,
        region=more.get("SPANWALK_S3_REGION", "us-east-1"),
        access_key_id=more["SPANWALK_S3_KEY"],
        secret_access_key=more["SPANWALK_S3_SECRET"],
        **({"endpoint": endpoint, "virtual_hosted_style_request": False} if endpoint else {}),
        client_options={"allow_http": bool(endpoint and endpoint.startswith("http://"))},
    )
    return BucketStore(store, f"{prefix}/" if prefix else "")
