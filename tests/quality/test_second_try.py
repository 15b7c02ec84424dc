"""Tests in a browser that fail have one second try, told of by name; all others fail at once."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from tests.support import second_try

REPOSITORY = Path(__file__).resolve().parents[2]
HOOKS = """
import sys, pytest
sys.path.insert(0, {repository!r})
from tests.conftest import pytest_sessionfinish, pytest_terminal_summary
from tests.support import second_try

def pytest_collection_modifyitems(items):
    second_try.allow(items)

@pytest.fixture
def new_phone():
    return None
"""
FIRST_FAILS = """
import pathlib, pytest
{parameters}
def test_a_screen({fixtures}):
    tried = pathlib.Path(__file__).with_name(f'tried{{{number}}}')
    if not tried.exists():
        tried.touch()
        raise AssertionError('the foot was late')
"""


def run(folder: Path, *, fixtures: str = "new_phone", times: int = 1) -> tuple[int, str]:
    (folder / "conftest.py").write_text(HOOKS.format(repository=str(REPOSITORY)))
    several = f"@pytest.mark.parametrize('n', range({times}))"
    names = ", ".join(filter(None, ("n", fixtures)))
    (folder / "test_it.py").write_text(FIRST_FAILS.format(parameters=several, fixtures=names, number="n"))
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:schemathesis", "-p", "no:cacheprovider", str(folder)],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )
    return done.returncode, done.stdout


def test_a_test_in_a_browser_that_fails_once_passes_and_is_told_of(tmp_path: Path) -> None:
    code, told = run(tmp_path)
    assert code == 0, told
    assert "1 in a browser failed at the first try" in told
    assert "AssertionError: the foot was late" in told


def test_a_test_without_a_browser_has_one_try(tmp_path: Path) -> None:
    code, told = run(tmp_path, fixtures="")
    assert code == 1, told


def test_many_second_tries_fail_the_run(tmp_path: Path) -> None:
    code, told = run(tmp_path, times=second_try.MOST + 1)
    assert code == 1, told
