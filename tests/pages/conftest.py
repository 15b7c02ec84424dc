"""An installation of its own for each module of this folder."""

from __future__ import annotations

import pytest
from tests.support.installation import Installation, install


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Installation:
    return install(tmp_path_factory.mktemp("installation") / "data")
