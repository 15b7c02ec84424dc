"""An installation of its own for each module of this folder."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.support.installation import Installation, installed


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Installation]:
    with installed(tmp_path_factory.mktemp("installation") / "data") as made:
        yield made
