"""A commit's subject says in at most 72 letters what is so now: 72 is common practice for what logs show on one line."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
LETTERS_MOST = 72
BASE = "81a0f7f4066d"
"""From here on it is held; commits before it stay as they were written, for nobody rewrites what others have."""


def git(folder: Path, *words: str) -> str | None:
    """What git says; None where there is no git, or it refuses."""
    try:
        done = subprocess.run(["git", "-C", str(folder), *words], capture_output=True, text=True, timeout=60)
    except FileNotFoundError:
        return None
    return done.stdout if done.returncode == 0 else None


def subjects_since(folder: Path, base: str) -> list[str] | None:
    """Subjects of all commits after `base` but merges, whose subject git itself writes of branch names; None without history."""
    top = git(folder, "rev-parse", "--show-toplevel")
    if top is None or Path(top.strip()).resolve() != folder.resolve():
        return None
    said = git(folder, "log", "--no-merges", "--format=%s", f"{base}..HEAD")
    return None if said is None else said.splitlines()


def too_long(subjects: list[str]) -> list[str]:
    return [f"{len(each)} letters: {each}" for each in subjects if len(each) > LETTERS_MOST]


def test_no_subject_is_longer() -> None:
    subjects = subjects_since(ROOT, BASE)
    if subjects is None:
        pytest.skip(f"there is no git history here that has {BASE}: a wheel, a zip or a shallow clone")
    assert too_long(subjects) == []


@pytest.fixture
def repository(tmp_path: Path) -> Path:
    """Three commits: a long subject, a short one, a long one."""
    assert git(tmp_path, "init", "-q") is not None
    who = ("-c", "user.name=n", "-c", "user.email=n@example.invalid")
    for subject in ("a" * 80, "b" * 72, "c" * 73):
        assert git(tmp_path, *who, "commit", "-q", "--allow-empty", "-m", subject) is not None
    return tmp_path


def test_a_long_subject_after_the_base_is_found_and_one_before_it_is_not(repository: Path) -> None:
    assert too_long(subjects_since(repository, "HEAD~2") or []) == ["73 letters: " + "c" * 73]


def test_where_there_is_no_history_nothing_is_held(repository: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    (inside := repository / "unpacked").mkdir()
    assert subjects_since(inside, "HEAD~2") is None, "the history of a folder above is another's"
    assert subjects_since(repository, "0123456789ab") is None, "a shallow clone"
    assert subjects_since(tmp_path_factory.mktemp("zip"), "HEAD") is None
