"""Where the page and the data of the package lie: in the wheel, or beside a checkout."""

from __future__ import annotations

from pathlib import Path

PACKAGE = Path(__file__).parent
CHECKOUT = PACKAGE.parent.parent


def page_folder() -> Path:
    """The folder of the page's files."""
    return _first(PACKAGE / "_pwa", CHECKOUT / "pwa")


def seed_folder() -> Path:
    """The folder of reference tables and demo data."""
    return _first(PACKAGE / "_seed_data", CHECKOUT / "seed_data")


def reference_folder() -> Path:
    """The folder of reference tables."""
    return seed_folder() / "reference"


def _first(installed: Path, beside: Path) -> Path:
    return installed if installed.is_dir() else beside
