"""Playwright's driver, told to look at a page more often than it does by itself: see `looks_often.cjs`."""

from __future__ import annotations

import inspect
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from unittest import mock

import playwright
from playwright.sync_api import Playwright, sync_playwright

LOOKS_OFTEN = Path(__file__).with_name("looks_often.cjs")
BUNDLE = Path(inspect.getfile(playwright)).parent / "driver" / "package" / "lib" / "coreBundle.js"
"""The driver's own code."""


@contextmanager
def running() -> Iterator[Playwright]:
    """A running driver."""
    before = os.environ.get("NODE_OPTIONS", "")
    with mock.patch.dict(os.environ, NODE_OPTIONS=f"{before} --require={LOOKS_OFTEN}".strip()):
        started = sync_playwright().start()
    yield started
    started.stop()
