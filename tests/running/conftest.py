"""An installation of its own for each module of this folder, on one machine."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from tests.support.installation import Installation, installed

TOKEN = "a token only for figures"


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Installation]:
    with installed(tmp_path_factory.mktemp("running") / "data", SPANWALK_METRICS_TOKEN=TOKEN.replace(" ", "-")) as made:
        yield made
