"""Where photos lie: a folder whose files survive a power cut once they are acknowledged."""

from __future__ import annotations

import os
import secrets
from pathlib import Path
from typing import Protocol
from urllib.parse import unquote, urlsplit


class PhotoStore(Protocol):
    """Bytes by name; the same name always means the same bytes."""

    def put(self, name: str, data: bytes) -> None:
        """Keep bytes; return only when they are safe."""

    def get(self, name: str) -> bytes | None:
        """The bytes, or None."""

    def has(self, name: str) -> bool:
        """Whether the bytes are there."""


class PhotoStoreUnknown(Exception):
    """The address of the photo store names no store that we know."""


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


def open_photo_store(url: str) -> PhotoStore:
    """The store at an address: ``file:///folder``.

    Raises
    ------
    PhotoStoreUnknown
        Another sort of address.
    """
    parts = urlsplit(url)
    if parts.scheme == "file" and parts.path:
        return FolderStore(Path(unquote(parts.path)))
    raise PhotoStoreUnknown(f"SPANWALK_PHOTO_URL is '{url}'; it must be file:///a/folder.")
