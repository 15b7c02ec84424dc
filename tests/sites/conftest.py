"""An installation of its own for each module of this folder, on both back ends."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.support.back_ends import on_both
from tests.support.installation import Installation, installed

back_end = on_both()


@pytest.fixture(scope="module")
def here(back_end: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Installation]:
    with installed(tmp_path_factory.mktemp("installation") / "data", back_end) as made:
        yield made
