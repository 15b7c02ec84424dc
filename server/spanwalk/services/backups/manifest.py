"""What a backup says of itself: versions, counts, hashes, sequences. It names no person, site or room, and is never sealed."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import TypedDict

from spanwalk.config import SettingWrong
from spanwalk.storage import json_text
from spanwalk.words import say

MANIFEST, DATABASE, PHOTOS, SEALED = "manifest.json", "spanwalk.db", "photos", ".age"
LAYOUT_NUMBER = 1
PHOTOS_BESIDE = "../photos"
"""Where the photos of one of several backups of a place lie: all of them share one folder."""


class FileTold(TypedDict):
    """A file as it lies there: hash and length; of a sealed one, those of what is inside too."""

    sha256: str
    bytes: int
    inside_sha256: str | None
    inside_bytes: int | None


class SiteTold(TypedDict):
    """What a backup has of a site: its newest sequence, and how much."""

    head: int
    records: int
    operations: int
    photos: int


class HeadTold(TypedDict):
    """Where the audit of a site, or of the firm, had come to: the number of its last entry, and its hash."""

    number: int
    hash: str


class Manifest(TypedDict):
    """manifest.json. `sum` is the hash of all else in it."""

    layout: int
    made_at: str
    version: str
    spec: int
    tables: str
    incarnation: str
    kept_in: str
    sealed: bool
    counts: dict[str, int]
    sites: dict[str, SiteTold]
    audit: dict[str, HeadTold]
    database: FileTold
    photos_at: str
    photos: dict[str, FileTold]
    missing: list[str]
    sum: str


def sum_of(manifest: Manifest) -> str:
    """The hash of a manifest but for its `sum`."""
    rest = {name: value for name, value in manifest.items() if name != "sum"}
    return hashlib.sha256(json_text.dumps(rest).encode()).hexdigest()


def read_manifest(text: bytes, where: str) -> Manifest:
    """A manifest from its text.

    Raises
    ------
    SettingWrong
        It is none, was changed or cut, or is of a layout that this version does not know.
    """
    try:
        told = json_text.loads(text)
        layout, right = told["layout"], told["sum"] == sum_of(told)
    except (ValueError, KeyError, TypeError, AttributeError):
        raise SettingWrong(say("keeping.manifest-damaged", {"where": where})) from None
    if layout != LAYOUT_NUMBER:
        raise SettingWrong(say("keeping.layout-unknown", {"where": where, "value": layout, "right": LAYOUT_NUMBER}))
    if not right or told["photos_at"] not in (PHOTOS, PHOTOS_BESIDE):
        raise SettingWrong(say("keeping.manifest-damaged", {"where": where}))
    read: Manifest = told
    return read


def told_of(file: Path) -> tuple[str, int]:
    """Hash and length of a file."""
    hashed, size = hashlib.sha256(), 0
    with file.open("rb") as source:
        while some := source.read(1_000_000):
            hashed.update(some)
            size += len(some)
    return hashed.hexdigest(), size


def photo_name(sha256: str, sealed: bool) -> str:
    """Name of a photo's file below the folder of photos."""
    return f"{sha256[:2]}/{sha256}{SEALED if sealed else ''}"
