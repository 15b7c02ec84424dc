"""Collects the page's own tests (`*.test.js`, Node's runner): one pytest item per JavaScript test."""

from __future__ import annotations

import subprocess
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.support import machine

SECONDS_PER_FILE = 300


class JavaScriptFailed(Exception):
    pass


class JavaScriptFile(pytest.File):
    """Runs the file once, when the first of its tests is asked for its result."""

    def collect(self) -> Iterator[pytest.Item]:
        yield JavaScriptItem.from_parent(self, name=self.path.name)


class JavaScriptItem(pytest.Item):
    def runtest(self) -> None:
        machine.page_tools()
        run = subprocess.run(
            [machine.node(), "--test", "--test-reporter=junit", str(self.path)],
            capture_output=True,
            text=True,
            timeout=SECONDS_PER_FILE,
        )
        cases = list(ET.fromstring(run.stdout).iter("testcase")) if run.stdout.strip().startswith("<?xml") else []
        failed = [case for case in cases if case.find("failure") is not None]
        if not cases:
            raise JavaScriptFailed(f"no test ran\n{run.stdout[-3000:]}\n{run.stderr[-3000:]}")
        if failed or run.returncode != 0:
            told = "\n".join(f"- {case.get('name')}\n{(case.find('failure').text or '')[:3000]}" for case in failed)  # type: ignore[union-attr]
            raise JavaScriptFailed(told or run.stdout[-3000:] + run.stderr[-3000:])

    def repr_failure(self, excinfo: pytest.ExceptionInfo[BaseException], style: Any = None) -> str:
        return str(excinfo.value)

    def reportinfo(self) -> tuple[Path, None, str]:
        return self.path, None, self.name


def collect(parent: pytest.Collector, file_path: Path) -> JavaScriptFile | None:
    if file_path.name.endswith(".test.js") and "node_modules" not in file_path.parts:
        return JavaScriptFile.from_parent(parent, path=file_path)
    return None
