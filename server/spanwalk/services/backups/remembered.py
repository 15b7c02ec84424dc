"""What a data folder remembers of backups: the last one that was made from here, and what restores put aside."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TypedDict

from spanwalk.services.backups.manifest import DATABASE
from spanwalk.services.clock import later, now
from spanwalk.storage import json_text

LAST = "last-backup.json"
ASIDE = "before-restore-"
ASIDE_NAME = re.compile(re.escape(ASIDE) + r"(\d{4}-\d\d-\d\dT\d{6})Z(?:-\d+)?")
DAY_S = 86400


class LastBackup(TypedDict):
    """The last backup that was made from here: when, where it lies, whether it is sealed."""

    made_at: str
    where: str
    sealed: bool


@dataclass(frozen=True)
class Aside:
    """A folder that a restore left: what was here before it."""

    folder: Path
    made_at: str
    sealed: bool


def remember_backup(data: Path, where: str, sealed: bool) -> None:
    """Write down that a backup was made just now."""
    told: LastBackup = {"made_at": now(), "where": where, "sealed": sealed}
    beside = data / f".{LAST}"
    beside.write_text(json_text.dumps(told) + "\n", encoding="utf-8")
    beside.replace(data / LAST)


def last_backup(data: Path) -> LastBackup | None:
    """The last backup that was made from here; None: none that can be told."""
    try:
        told = json_text.loads((data / LAST).read_text(encoding="utf-8"))
        datetime.fromisoformat(told["made_at"])
        return LastBackup(made_at=told["made_at"], where=str(told["where"]), sealed=told["sealed"] is True)
    except (OSError, ValueError, KeyError, TypeError):
        return None


def put_aside(data: Path) -> Iterator[Aside]:
    """What restores put aside, the oldest first; folders of other names are none of ours."""
    for folder in sorted(data.glob(f"{ASIDE}*")):
        found = ASIDE_NAME.fullmatch(folder.name)
        if found is None or not folder.is_dir() or folder.is_symlink():
            continue
        try:
            made = datetime.strptime(found[1], "%Y-%m-%dT%H%M%S").replace(tzinfo=UTC)
        except ValueError:
            continue
        yield Aside(folder, made.isoformat(timespec="microseconds"), not (folder / DATABASE).exists())


def let_go_aside(data: Path, days: int) -> int:
    """Let go what restores put aside longer than so many days ago; how many folders."""
    old = [each for each in put_aside(data) if each.made_at < later(-days * DAY_S)]
    for each in old:
        shutil.rmtree(each.folder)
    return len(old)
