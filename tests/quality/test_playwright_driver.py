"""What the tests change in Playwright's driver is there to be changed, and is changed."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

from tests.support import machine
from tests.support.playwright_driver import BUNDLE, LOOKS_OFTEN

BY_ITSELF = re.search(r"BY_ITSELF = '(.+)';", LOOKS_OFTEN.read_text("utf-8"))


def test_the_driver_says_once_how_often_it_looks() -> None:
    """Where a newer driver says it otherwise, tests wait longer than they need to: `looks_often.cjs` is to follow."""
    assert BY_ITSELF is not None
    assert BUNDLE.read_text("utf-8").count(BY_ITSELF[1]) == 1


def test_it_looks_each_tenth_of_a_second(tmp_path: Path) -> None:
    assert BY_ITSELF is not None
    bundle = tmp_path / "coreBundle.js"
    bundle.write_text(f"{BY_ITSELF[1]}\nconsole.log(backoffScale.join(' '));\n")
    (tmp_path / "package.json").write_text("{}")
    command = [machine.node(), f"--require={LOOKS_OFTEN}", str(bundle)]
    said = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    assert said.split() == ["20", "50", "100", "100"]
