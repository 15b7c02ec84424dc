"""The README's lines really run, on a clean clone."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
import urllib.request
from dataclasses import dataclass
from pathlib import Path

import pytest
from tests.support.server import START_SECONDS, free_port

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
INSTALL_SECONDS = 300


def line(name: str) -> str:
    found = re.search(rf"<!-- {name} -->\n```\n(.+?)\n```", README, re.DOTALL)
    assert found, f"README has no line marked {name}"
    return found[1]


@pytest.fixture(scope="module")
def clone(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("clone") / "spanwalk"
    subprocess.run(["git", "clone", "-q", str(ROOT), str(folder)], check=True)
    return folder


def test_both_lines_are_short_and_the_first_ends_in_spanwalk_demo() -> None:
    assert line("demo").endswith("spanwalk demo")
    assert all(len(line(name)) < 130 for name in ("demo", "test"))


@dataclass(frozen=True)
class Started:
    """What the first line came to: whether the demo answered, what was printed, and where its package was installed."""

    answered: bool
    said: str
    port: int
    packages: Path


QUICKER = {"PIP_NO_COMPILE": "1", "PIP_DISABLE_PIP_VERSION_CHECK": "1"}
"""Modules are compiled when they are first read, and only those: what is installed is the same."""


@pytest.fixture(scope="module")
def started(clone: Path, tmp_path_factory: pytest.TempPathFactory) -> Started:
    port, folder = free_port(), tmp_path_factory.mktemp("first-line")
    command = line("demo").replace("python3 ", f"{sys.executable} ", 1) + f" --port {port} --data {folder / 'data'}"
    log = folder / "log"
    with log.open("wb") as out:
        process = subprocess.Popen(
            ["bash", "-euc", command],
            cwd=clone,
            stdout=out,
            stderr=out,
            start_new_session=True,
            env=os.environ | QUICKER,
        )
    try:
        answered = answers(f"http://127.0.0.1:{port}/api/health", process)
    finally:
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()
    (packages,) = (clone / ".venv" / "lib").glob("python*/site-packages")
    return Started(answered, log.read_text(), port, packages)


def test_the_first_line_starts_the_demo_on_a_clean_clone(started: Started) -> None:
    assert started.answered, started.said[-3000:]
    assert str(started.port) in started.said, "it does not name its address"


def answers(url: str, process: subprocess.Popen[bytes]) -> bool:
    """Whether the address answers 200 before the process ends and the time is up."""
    end = time.monotonic() + INSTALL_SECONDS
    while time.monotonic() < end and process.poll() is None:
        try:
            with urllib.request.urlopen(url, timeout=START_SECONDS) as answer:
                return bool(answer.status == 200)
        except OSError:
            time.sleep(0.2)
    return False


def test_what_is_installed_so_holds_server_page_and_reference_data(clone: Path, started: Started) -> None:
    """pip builds a wheel of the clone and unpacks it: what is in the one is in the other."""
    installed = started.packages / "spanwalk"
    names = {path.relative_to(started.packages).as_posix() for path in installed.rglob("*") if path.is_file()}
    tracked = subprocess.run(["git", "ls-files"], cwd=clone, check=True, capture_output=True, text=True).stdout.split()
    inside = {"server/spanwalk/": "spanwalk/", "seed_data/": "spanwalk/_seed_data/"}
    wanted = {new + name.removeprefix(old) for name in tracked for old, new in inside.items() if name.startswith(old)}
    assert wanted <= names, f"not in the wheel: {sorted(wanted - names)[:10]}"
    page = {name.removeprefix("spanwalk/_pwa/") for name in names if name.startswith("spanwalk/_pwa/")}
    packed = {"index.html", "service-worker.js", "tables.json", "tables.json.br", "vendor/zxing_reader.wasm.br"}
    assert packed <= page, "the page is not packed"
    assert any(re.fullmatch(r"main-[0-9a-f]{12}\.js", name) for name in page)
    assert "main.js" not in page, "the page is loose"
