"""What a scanned label's fixture is told by, in a building of 60,000 that are done, beside all fixtures of the building."""

from __future__ import annotations

import tempfile
from datetime import date
from pathlib import Path

from sqlalchemy.orm import Session

from spanwalk.services.memory.gathering import groups_that_failed
from spanwalk.services.memory.remembering import memory_of
from spanwalk.storage.database import reading
from tests.bench.figure import Figure, in_turns, milliseconds
from tests.memory.test_one_fixture_of_many import converted
from tests.planning.stored_site import store
from tests.support.installation import installed

GROUPS, FIXTURES, RUNS = 4_000, 15, 3
MOST = 0.15
TODAY = date(2028, 2, 2)


def one_fixture_of_60000() -> Figure:
    """Milliseconds until what is remembered of one fixture is told, against what is remembered of all."""
    with tempfile.TemporaryDirectory() as folder, installed(Path(folder) / "data") as here:
        store(here, converted(GROUPS, FIXTURES))
        with here.app.app_context(), reading() as session:
            (failed,) = groups_that_failed(session, here.site)

            def one() -> float:
                return milliseconds(lambda: memory_of(session, here.site, TODAY, {failed}).one(failed, 1))

            ours, reference = in_turns(one, lambda: _all(session, here.site), RUNS)
    name = f"one fixture of {GROUPS * FIXTURES:,} remembered"
    return Figure(name, ours, "all of them", reference, MOST, RUNS)


def _all(session: Session, site_id: str) -> float:
    return milliseconds(lambda: list(memory_of(session, site_id, TODAY).fixtures()))
