"""The gates that each change passes; every one is a command that also runs alone (DEVELOPERS.md lists them).

Two of them check a copy of everything, with words misspelt in it, and must find those and nothing else: `mypy` in
`test_planted_server_types.py`, `tsc` in `test_planted_types.py`. Neither runs here a second time.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from tests.support import machine

ROOT = Path(__file__).resolve().parents[2]
BIN = Path(sys.executable).parent


def run(*command: str, cwd: Path = ROOT) -> None:
    done = subprocess.run(command, cwd=cwd, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, (done.stdout + done.stderr)[-6000:]


def test_ruff_finds_nothing() -> None:
    run(str(BIN / "ruff"), "check", "server", "tests")


def test_python_is_formatted_as_the_formatter_would() -> None:
    run(str(BIN / "ruff"), "format", "--check", ".")


def test_python_imports_run_one_way() -> None:
    run(str(BIN / "lint-imports"))


def test_the_pages_workers_are_typed() -> None:
    compiler = machine.page_tools() / "typescript" / "bin" / "tsc"
    run(machine.node(), str(compiler), "-p", "jsconfig.worker.json", cwd=ROOT / "pwa")


def test_the_page_is_linted() -> None:
    biome = machine.page_tools() / "@biomejs" / "biome" / "bin" / "biome"
    run(machine.node(), str(biome), "lint", "--colors=off", "--error-on-warnings", ".", cwd=ROOT / "pwa")


def test_the_page_is_formatted_as_the_formatter_would() -> None:
    biome = machine.page_tools() / "@biomejs" / "biome" / "bin" / "biome"
    run(machine.node(), str(biome), "format", "--colors=off", ".", cwd=ROOT / "pwa")
