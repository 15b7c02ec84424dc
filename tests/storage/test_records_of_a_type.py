"""Records of a few types are found by their index: a site may have a hundred thousand of other types."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import event
from sqlalchemy.orm import Session
from tests.support.installation import installed

from spanwalk.services.memory.gathering import groups_that_failed, records_of_spares
from spanwalk.services.planning.figures import site_values
from spanwalk.services.sync.state import site_records
from spanwalk.storage.database import reading
from spanwalk.storage.tables import db

QUESTIONS: dict[str, Callable[[Session, str], object]] = {
    "one type": lambda session, site: site_records(session, site, types=("figure",)),
    "some types": lambda session, site: site_records(session, site, types=("site", "floor", "room")),
    "what changed of them": lambda session, site: site_records(session, site, types=("site", "floor"), since=9),
    "figures of the site": site_values,
    "groups that failed": groups_that_failed,
    "spares": records_of_spares,
}


@pytest.mark.parametrize("question", QUESTIONS)
def test_each_is_found_by_the_index_of_types(question: str, tmp_path: Path) -> None:
    with installed(tmp_path / "data") as here, here.app.app_context(), reading() as session:
        asked: list[tuple[str, object]] = []
        event.listen(db.engine, "before_cursor_execute", lambda *told: asked.append((told[2], told[3])))
        QUESTIONS[question](session, here.site)
        by_type = [(text, values) for text, values in list(asked) if "record.type" in text and "WHERE" in text]
        connection = session.connection()
        for text, values in by_type:
            if "json_each" in text:  # by ids, which have an index of their own
                continue
            (*_, plan) = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {text}", values).all()
            assert "ix_record_site_type" in str(plan), text
        assert by_type
