"""Collects the page's own tests (`*.test.js`, Node's runner): one pytest item per top-level JavaScript test."""

from __future__ import annotations

import re
import subprocess
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.support import machine

SECONDS_PER_FILE = 300
TOP_LEVEL_TEST = re.compile(r"""^test\(\s*(?:'((?:[^'\\]|\\.)+)'|"((?:[^"\\]|\\.)+)"|`([^`$]+)`)""", re.MULTILINE)


class JavaScriptFailed(Exception):
    pass


class JavaScriptFile(pytest.File):
    """Runs the file once, when the first of its tests is asked for its result."""

    answers: dict[str, str] | None = None

    def collect(self) -> Iterator[pytest.Item]:
        text = self.path.read_text(encoding="utf-8")
        names = ["".join(found).replace("\\'", "'") for found in TOP_LEVEL_TEST.findall(text)]
        for name in names or ["(all of the file)"]:
            yield JavaScriptItem.from_parent(self, name=name)

    def failures(self) -> dict[str, str]:
        """Name of each test that ran -> its failure's text, empty where it passed."""
        if self.answers is None:
            machine.page_tools()
            run = subprocess.run(
                [machine.node(), "--test", "--test-reporter=junit", str(self.path)],
                capture_output=True,
                text=True,
                timeout=SECONDS_PER_FILE,
            )
            if not run.stdout.strip().startswith("<?xml"):
                raise JavaScriptFailed(f"no test ran\n{run.stdout[-3000:]}\n{run.stderr[-3000:]}")
            self.answers = {
                case.get("name", ""): "".join((f.text or f.get("message", "failed")) for f in case.iter("failure"))
                for case in ET.fromstring(run.stdout).iter("testcase")
            }
            if run.returncode != 0 and not any(self.answers.values()):
                raise JavaScriptFailed(run.stdout[-3000:] + run.stderr[-3000:])
        return self.answers


class JavaScriptItem(pytest.Item):
    parent: JavaScriptFile

    def runtest(self) -> None:
        failures = self.parent.failures()
        if self.name.startswith("("):
            wanted = failures
        elif self.name in failures:
            wanted = {self.name: failures[self.name]}
        else:
            raise JavaScriptFailed(f"Node did not run it; it ran: {', '.join(failures)}")
        told = "\n".join(f"- {name}\n{text[:3000]}" for name, text in wanted.items() if text)
        if told or not wanted:
            raise JavaScriptFailed(told or "no test ran")

    def repr_failure(self, excinfo: pytest.ExceptionInfo[BaseException], style: Any = None) -> str:
        return str(excinfo.value)

    def reportinfo(self) -> tuple[Path, None, str]:
        return self.path, None, f"{self.path.name}: {self.name}"


def collect(parent: pytest.Collector, file_path: Path) -> JavaScriptFile | None:
    if file_path.name.endswith(".test.js") and "node_modules" not in file_path.parts:
        return JavaScriptFile.from_parent(parent, path=file_path)
    return None
