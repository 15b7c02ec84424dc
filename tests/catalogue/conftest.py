"""An installation of its own for each test of this folder."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.catalogue.shelf import Shelf
from tests.support.back_ends import ONE_MACHINE
from tests.support.installation import Installation, installed


@pytest.fixture(scope="module")
def back_end() -> str:
    """One back end; a module that needs both says so."""
    return ONE_MACHINE


@pytest.fixture
def here(back_end: str, tmp_path: Path) -> Iterator[Installation]:
    with installed(tmp_path / "data", back_end) as made:
        yield made


@pytest.fixture
def shelf(here: Installation) -> Shelf:
    return Shelf(here)
