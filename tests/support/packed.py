"""Spanwalk as a wheel installs it, the page packed, without an installation: the package with the packed page in it."""

from __future__ import annotations

import fcntl
import os
import shutil
import sys
from pathlib import Path

import pytest

from tests.support.machine import ROOT

sys.path.insert(0, str(ROOT / "server"))
"""Where the wheel's build finds `packing`."""
TESTS_TALK_TO = (
    "store/store.js",
    "views/navigate.js",
    "sync/pull.js",
    "sync/cycle.js",
    "views/numbers.js",
    "views/surveying/walk.js",
)
"""Modules that tests import by their address, on a packed page too."""


def packed_page(folder: Path, root: Path = ROOT) -> Path:
    """The packed page of a checkout, in a folder."""
    from packing.page import pack

    pack(root, folder)
    return folder


def packed_page_of_the_run(factory: pytest.TempPathFactory) -> Path:
    """The checkout's packed page, packed by whichever of the run's processes asks first: compressing takes some ten seconds."""
    of_the_run = factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        of_the_run = of_the_run.parent
    made = of_the_run / "packed-page"
    with (of_the_run / "packed-page.lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not made.exists():
            packed_page(of_the_run / "packed-page.half").rename(made)
    return made


def as_installed(folder: Path, page: Path | None = None) -> dict[str, str]:
    """Put what a wheel holds into a folder, with a page that is packed already or packed now; the environment in which a
    server runs from there."""
    package = folder / "spanwalk"
    shutil.copytree(ROOT / "server" / "spanwalk", package, ignore=shutil.ignore_patterns("__pycache__"))
    if page is None:
        packed_page(package / "_pwa")
    else:
        shutil.copytree(page, package / "_pwa")
    (package / "_seed_data").symlink_to(ROOT / "seed_data")
    return {"PYTHONPATH": str(folder)}


def packed_for_tests(folder: Path) -> dict[str, str]:
    """The checkout's own package with the packed page in it, in a folder; the environment in which a server runs from there.

    Beside the packed files stand the addresses of `TESTS_TALK_TO`: each hands out what the packed page's own module has.
    """
    from packing.page import pack
    from packing.source import linked, read_module

    package = folder / "spanwalk"
    package.mkdir(parents=True)
    for path in (ROOT / "server" / "spanwalk").iterdir():
        (package / path.name).symlink_to(path)
    (package / "_seed_data").symlink_to(ROOT / "seed_data")
    pack(ROOT, package / "_pwa", compressed=False)
    for name in TESTS_TALK_TO:
        module = read_module(name, (ROOT / "pwa" / name).read_bytes(), {})
        names = ", ".join(outside for outside, _ in module.exports)
        stub = package / "_pwa" / name
        stub.parent.mkdir(parents=True, exist_ok=True)
        stub.write_text(
            f"import {{ $m }} from '#main';\nimport '#near';\nimport '#shared';\nexport const {{ {names} }} = {linked(name)};\n"
        )
    return {"PYTHONPATH": str(folder)}
