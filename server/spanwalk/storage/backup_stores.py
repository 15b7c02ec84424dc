"""Where backups lie: a folder, or a bucket. Files by name; a name stands only once its bytes are safe."""

from __future__ import annotations

import shutil
from collections.abc import Iterator, Mapping
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Protocol
from urllib.parse import urlsplit

from spanwalk.storage.photos import StoreFails, open_s3, told_as_failing, written_whole

if TYPE_CHECKING:
    from obstore.store import S3Store

BUCKET = "s3"


class BackupStore(Protocol):
    """Files by name, parts of a name between slashes. Each verb raises `StoreFails` if it cannot be done."""

    def put(self, name: str, file: Path) -> None:
        """Keep a copy of a file; return only when it is safe."""

    def get(self, name: str, file: Path) -> bool:
        """Write what is kept to a file; False if there is none of that name."""

    def size(self, name: str) -> int | None:
        """Its length in bytes; None if there is none of that name."""

    def drop(self, name: str) -> None:
        """Let it go, if it is there."""

    def names(self) -> Iterator[str]:
        """All names that are there."""


class FolderStore:
    """A folder of this machine, or one that is mounted here."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def __str__(self) -> str:
        return str(self.folder)

    def put(self, name: str, file: Path) -> None:
        """Copy beside, flush to the disk, rename, flush the folder."""
        with told_as_failing(), file.open("rb") as source, written_whole(self.folder / name) as target:
            shutil.copyfileobj(source, target, 1_000_000)

    def get(self, name: str, file: Path) -> bool:
        """Copy it out."""
        with told_as_failing():
            try:
                shutil.copyfile(self.folder / name, file)
            except (FileNotFoundError, NotADirectoryError):
                return False
            return True

    def size(self, name: str) -> int | None:
        """Its length in bytes."""
        path = self.folder / name
        return path.stat().st_size if path.is_file() else None

    def drop(self, name: str) -> None:
        """Let it go, and folders that are empty then."""
        path = self.folder / name
        with told_as_failing():
            path.unlink(missing_ok=True)
            for folder in path.parents:
                if folder == self.folder or not folder.is_dir() or any(folder.iterdir()):
                    break
                folder.rmdir()

    def names(self) -> Iterator[str]:
        """All names; what a crash left half copied begins with a full stop, and has none."""
        with told_as_failing():
            for path in sorted(self.folder.rglob("*")):
                if path.is_file() and not path.name.startswith("."):
                    yield path.relative_to(self.folder).as_posix()


class BucketStore:
    """A bucket of an S3-compatible store."""

    def __init__(self, store: S3Store, prefix: str, address: str) -> None:
        self.store, self.prefix, self.address = store, prefix, address

    def __str__(self) -> str:
        return self.address

    def put(self, name: str, file: Path) -> None:
        """Hand it over; the store answers when it is safe."""
        from obstore.exceptions import BaseError

        try:
            self.store.put(self.prefix + name, file)
        except (BaseError, FileNotFoundError) as error:
            raise StoreFails(str(error)) from error

    def get(self, name: str, file: Path) -> bool:
        """Fetch it."""
        from obstore.exceptions import BaseError

        try:
            with file.open("wb") as out:
                for some in self.store.get(self.prefix + name).stream(min_chunk_size=1_000_000):
                    out.write(some)
        except FileNotFoundError:
            return False
        except BaseError as error:
            raise StoreFails(str(error)) from error
        return True

    def size(self, name: str) -> int | None:
        """Its length in bytes."""
        from obstore.exceptions import BaseError

        try:
            return int(self.store.head(self.prefix + name)["size"])
        except FileNotFoundError:
            return None
        except BaseError as error:
            raise StoreFails(str(error)) from error

    def drop(self, name: str) -> None:
        """Let it go."""
        from obstore.exceptions import BaseError

        try:
            self.store.delete(self.prefix + name)
        except FileNotFoundError:
            return
        except BaseError as error:
            raise StoreFails(str(error)) from error

    def names(self) -> Iterator[str]:
        """All names below the prefix."""
        from obstore.exceptions import BaseError

        try:
            for some in self.store.list(self.prefix or None):
                yield from (str(each["path"]).removeprefix(self.prefix) for each in some)
        except BaseError as error:
            raise StoreFails(str(error)) from error


def open_store(where: str, more: Mapping[str, str]) -> FolderStore | BucketStore:
    """The store of an address.

    Parameters
    ----------
    where : str
        A folder's path, or ``s3://bucket/prefix``.
    more : mapping of str to str
        For a bucket: the SPANWALK_S3_ settings.

    Raises
    ------
    SettingWrong
        A setting that a bucket needs and lacks.
    """
    parts = urlsplit(where)
    if parts.scheme == BUCKET and parts.netloc:
        prefix = parts.path.strip("/")
        return BucketStore(open_s3(parts.netloc, more), f"{prefix}/" if prefix else "", where.rstrip("/"))
    return FolderStore(Path(where))


def above(where: str) -> tuple[str, str]:
    """An address cut before its last part.

    >>> above("/srv/backups/2026-11-29T020000Z"), above("s3://safe/spanwalk/2026-11-29T020000Z")
    (('/srv/backups', '2026-11-29T020000Z'), ('s3://safe/spanwalk', '2026-11-29T020000Z'))
    """
    if where.startswith("s3://"):
        head, _, last = where.rstrip("/").rpartition("/")
        return head, last
    path = PurePosixPath(Path(where).absolute().as_posix())
    return str(path.parent), path.name
