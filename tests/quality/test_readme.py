"""The README's lines really run, on a clean clone."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
import urllib.request
import zipfile
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


def test_the_first_line_starts_the_demo_on_a_clean_clone(clone: Path, tmp_path: Path) -> None:
    port = free_port()
    command = line("demo").replace("python3 ", f"{sys.executable} ", 1) + f" --port {port} --data {tmp_path / 'data'}"
    log = tmp_path / "log"
    with log.open("wb") as out:
        process = subprocess.Popen(["bash", "-euc", command], cwd=clone, stdout=out, stderr=out, start_new_session=True)
    try:
        assert answers(f"http://127.0.0.1:{port}/api/health", process), log.read_text()[-3000:]
        assert str(port) in log.read_text(), "it does not name its address"
    finally:
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()


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


def test_the_wheel_holds_server_page_and_reference_data(clone: Path, tmp_path: Path) -> None:
    build = [sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", str(tmp_path), str(clone)]
    subprocess.run(build, check=True, timeout=INSTALL_SECONDS)
    names = set(zipfile.ZipFile(next(tmp_path.glob("*.whl"))).namelist())
    tracked = subprocess.run(["git", "ls-files"], cwd=clone, check=True, capture_output=True, text=True).stdout.split()
    inside = {"server/spanwalk/": "spanwalk/", "seed_data/": "spanwalk/_seed_data/"}
    wanted = {new + name.removeprefix(old) for name in tracked for old, new in inside.items() if name.startswith(old)}
    assert wanted <= names, f"not in the wheel: {sorted(wanted - names)[:10]}"
    page = {name.removeprefix("spanwalk/_pwa/") for name in names if name.startswith("spanwalk/_pwa/")}
    packed = {"index.html", "service-worker.js", "tables.json", "tables.json.br", "vendor/zxing_reader.wasm.br"}
    assert packed <= page, "the page is not packed"
    assert any(re.fullmatch(r"main-[0-9a-f]{12}\.js", name) for name in page)
    assert "main.js" not in page, "the page is loose"
