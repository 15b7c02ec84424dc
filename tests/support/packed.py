"""Spanwalk as a wheel installs it, the page packed, without an installation: the package with the packed page in it."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

from tests.support.machine import ROOT

sys.path.insert(0, str(ROOT / "server"))
"""Where the wheel's build finds `packing`."""


def packed_page(folder: Path, root: Path = ROOT) -> Path:
    """The packed page of a checkout, in a folder."""
    from packing.page import pack

    pack(root, folder)
    return folder


def as_installed(folder: Path) -> dict[str, str]:
    """Put what a wheel holds into a folder; the environment in which a server runs from there."""
    package = folder / "spanwalk"
    shutil.copytree(ROOT / "server" / "spanwalk", package, ignore=shutil.ignore_patterns("__pycache__"))
    packed_page(package / "_pwa")
    (package / "_seed_data").symlink_to(ROOT / "seed_data")
    return {"PYTHONPATH": str(folder)}
