"""Tests that fail have one second try, told of by name; properties, whose examples are drawn, fail at once."""

from __future__ import annotations

import socket
import subprocess
import sys
from pathlib import Path

import pytest
from tests.support import second_try

REPOSITORY = Path(__file__).resolve().parents[2]
HOOKS = """
import sys, pytest
sys.path.insert(0, {repository!r})
from tests.conftest import pytest_sessionfinish, pytest_terminal_summary
from tests.support import second_try

def pytest_collection_modifyitems(items):
    second_try.allow(items)
"""
FIRST_FAILS = """
import pathlib, pytest
from hypothesis import given, settings, strategies

{above}
def test_a_screen(n):
    tried = pathlib.Path(__file__).with_name(f'tried{n}')
    if not tried.exists():
        tried.touch()
        raise AssertionError('the foot was late')
"""


SEVERAL = "@pytest.mark.parametrize('n', range({}))"
DRAWN = "@settings(database=None)\n@given(n=strategies.just(0))"


def run(folder: Path, above: str) -> tuple[int, str]:
    (folder / "conftest.py").write_text(HOOKS.format(repository=str(REPOSITORY)))
    (folder / "test_it.py").write_text(FIRST_FAILS.replace("{above}", above))
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:schemathesis", "-p", "no:cacheprovider", str(folder)],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )
    return done.returncode, done.stdout


def test_a_test_that_fails_once_passes_and_is_told_of(tmp_path: Path) -> None:
    code, told = run(tmp_path, SEVERAL.format(1))
    assert code == 0, told
    assert "1 failed at the first try" in told
    assert "AssertionError: the foot was late" in told


def test_a_property_has_one_try(tmp_path: Path) -> None:
    code, told = run(tmp_path, DRAWN)
    assert code == 1, told


def test_many_second_tries_fail_the_run(tmp_path: Path) -> None:
    code, told = run(tmp_path, SEVERAL.format(second_try.MOST + 1))
    assert code == 1, told


def test_no_test_waits_for_the_tries_to_be_counted(request: pytest.FixtureRequest) -> None:
    connection: socket.socket = request.config.failures_db.sock  # type: ignore[attr-defined]
    assert connection.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)
