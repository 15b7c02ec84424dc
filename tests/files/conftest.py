"""An installation for each test, and its manager who brings files."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.files.bringing import Bringer
from tests.support.installation import installed


@pytest.fixture
def manager(tmp_path: Path) -> Iterator[Bringer]:
    with installed(tmp_path / "data") as here:
        yield Bringer(here)
