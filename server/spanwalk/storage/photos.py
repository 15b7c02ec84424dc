"""Where photos lie: in a folder, flushed to the disk before they are acknowledged, or in a bucket."""

from __future__ import annotations

import errno
import os
import secrets
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, Protocol
from urllib.parse import unquote, urlsplit

from spanwalk.config import SettingWrong
from spanwalk.words import say

if TYPE_CHECKING:
    from obstore.store import ClientConfig, RetryConfig, S3Config, S3Store

NO_ROOM = (errno.ENOSPC, errno.EDQUOT)
BUCKET_CLIENT: ClientConfig = {"connect_timeout": "5s", "timeout": "30s"}
BUCKET_RETRY: RetryConfig = {"max_retries": 2, "retry_timeout": timedelta(seconds=10)}
"""Left to itself the client tries ten times and for minutes, while a phone and one of our threads wait."""
WAITS_WHEN_OUTRUN_S = (0.05, 0.1, 0.2, 0.5, 1.0)
"""Who was outrun by another's write of the same object looks at once, and tries again after these.

A store in which writers replace each other's file may say for a moment that there is none (seen with Swift 2.30).
"""


class StoreFails(Exception):
    """The store cannot do this now; nothing of what was to be kept stands under its name."""


class StoreFull(StoreFails):
    """The store has no room left."""


class PhotoStore(Protocol):
    """Bytes by name; the same name always means the same bytes. Each verb raises `StoreFails` if it cannot be done."""

    def put(self, name: str, data: bytes) -> None:
        """Keep bytes; return only when they are safe."""

    def get(self, name: str) -> bytes | None:
        """The bytes, or None."""

    def has(self, name: str) -> bool:
        """Whether the bytes are there."""

    def drop(self, name: str) -> None:
        """Let the bytes go, if they are there."""

    def names(self) -> Iterator[str]:
        """All that is there; what a crash left half written begins with a full stop."""


class FolderStore:
    """Photos in a folder of this machine, spread over 256 folders by their first two letters."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def _path(self, name: str) -> Path:
        return self.folder / name[:2] / name

    def put(self, name: str, data: bytes) -> None:
        """Write beside, flush to the disk, rename, flush the folder: never half a photo under its name."""
        path = self._path(name)
        with told_as_failing():
            with written_whole(path) as file:
                file.write(data)
            for folder in (self.folder, self.folder.parent):
                flush_folder(folder)

    def get(self, name: str) -> bytes | None:
        """The bytes, or None."""
        with told_as_failing():
            try:
                return self._path(name).read_bytes()
            except FileNotFoundError:
                return None

    def has(self, name: str) -> bool:
        """Whether the bytes are there."""
        return self._path(name).is_file()

    def drop(self, name: str) -> None:
        """Let the bytes go, if they are there."""
        with told_as_failing():
            self._path(name).unlink(missing_ok=True)

    def names(self) -> Iterator[str]:
        """All that is there; what a crash left half written begins with a full stop."""
        with told_as_failing():
            for path in sorted(self.folder.glob("??/*")):
                yield path.name


@contextmanager
def told_as_failing() -> Iterator[None]:
    """Let what the disk cannot do be told as the store's failing."""
    try:
        yield
    except OSError as error:
        raise (StoreFull if error.errno in NO_ROOM else StoreFails)(str(error)) from error


@contextmanager
def written_whole(path: Path) -> Iterator[BinaryIO]:
    """A file to write into, which has its name once it is whole and on the disk; there is nothing of it otherwise."""
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.parent / f".{path.name}.{secrets.token_hex(4)}"
    try:
        with beside.open("xb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
    flush_folder(path.parent)


def flush_folder(folder: Path) -> None:
    """Flush a folder's names to the disk."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


class BucketStore:
    """Photos in an S3-compatible store, so that several servers share them."""

    def __init__(self, store: S3Store, prefix: str) -> None:
        self.store, self.prefix = store, prefix

    def _key(self, name: str) -> str:
        return f"{self.prefix}{name[:2]}/{name}"

    def put(self, name: str, data: bytes) -> None:
        """Hand the bytes over; the store answers when they are safe. The same name is the same bytes."""
        with self._told_as_failing():
            for wait_s in WAITS_WHEN_OUTRUN_S:
                if self._is_put(name, data):
                    return
                time.sleep(wait_s)
            if not self._is_put(name, data):
                raise StoreFails(f"{name} is written by others all the time, and does not stand")

    def _is_put(self, name: str, data: bytes) -> bool:
        """Whether the bytes stand now, by this write or by another's; False if another outran it and is not there yet."""
        from obstore.exceptions import BaseError

        try:
            self.store.put(self._key(name), data)
        except FileNotFoundError as error:
            raise StoreFails(f"the bucket is not there: {error}") from error
        except BaseError as error:
            if not _outrun(error):
                raise
            return self._stands(name, len(data))
        return True

    def _stands(self, name: str, size: int) -> bool:
        try:
            return int(self.store.head(self._key(name))["size"]) == size
        except FileNotFoundError:
            return False

    def get(self, name: str) -> bytes | None:
        """The bytes, or None."""
        with self._told_as_failing():
            try:
                return bytes(self.store.get(self._key(name)).bytes())
            except FileNotFoundError:
                return None

    def has(self, name: str) -> bool:
        """Whether the bytes are there."""
        with self._told_as_failing():
            try:
                self.store.head(self._key(name))
            except FileNotFoundError:
                return False
            return True

    def drop(self, name: str) -> None:
        """Let the bytes go, if they are there."""
        with self._told_as_failing(), suppress(FileNotFoundError):
            self.store.delete(self._key(name))

    def names(self) -> Iterator[str]:
        """All that is there; a bucket holds nothing half written."""
        with self._told_as_failing():
            for some in self.store.list(self.prefix or None):
                yield from (str(each["path"]).rsplit("/", 1)[-1] for each in some)

    @contextmanager
    def _told_as_failing(self) -> Iterator[None]:
        from obstore.exceptions import BaseError

        try:
            yield
        except BaseError as error:
            raise StoreFails(str(error)) from error


def _outrun(error: Exception) -> bool:
    """Whether a store says that somebody wrote the same object in the same moment, and that theirs stands.

    S3 stores answer 409 or 412 then; Swift accepts the write (202), keeps the other's, and gives no ETag, which the
    client takes for a failure (tried with Swift 2.30: one in twelve of eight writes at once).
    """
    from obstore.exceptions import AlreadyExistsError, PreconditionError

    return isinstance(error, (AlreadyExistsError, PreconditionError)) or "ETag Header missing" in str(error)


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
    raise SettingWrong(say("setting.photo-url", {"name": "SPANWALK_PHOTO_URL", "value": url}))


def _open_bucket(bucket: str, prefix: str, more: Mapping[str, str]) -> BucketStore:
    return BucketStore(open_s3(bucket, more), f"{prefix}/" if prefix else "")


def open_s3(bucket: str, more: Mapping[str, str]) -> S3Store:
    """A bucket of an S3-compatible store, by the SPANWALK_S3_ settings.

    Raises
    ------
    SettingWrong
        A setting that it needs and lacks.
    """
    try:
        from obstore.store import S3Store
    except ImportError:
        raise SettingWrong(say("setting.bucket-packages")) from None
    missing = [name for name in ("SPANWALK_S3_KEY", "SPANWALK_S3_SECRET") if not more.get(name)]
    if missing:
        raise SettingWrong(say("setting.bucket-lacks", {"name": missing[0]}))
    endpoint = more.get("SPANWALK_S3_ENDPOINT")
    config: S3Config = {
        "region": more.get("SPANWALK_S3_REGION", "us-east-1"),
        "access_key_id": more["SPANWALK_S3_KEY"],
        "secret_access_key": more["SPANWALK_S3_SECRET"],
    }
    if endpoint:
        config |= {"endpoint": endpoint, "virtual_hosted_style_request": False}
    return S3Store(
        bucket,
        config=config,
        client_options={"allow_http": bool(endpoint and endpoint.startswith("http://")), **BUCKET_CLIENT},
        retry_config=BUCKET_RETRY,
    )
