"""Ready says whether work may be sent here: 503 names the part that is not; healthy and ready are two questions."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlalchemy import text
from tests.support.installation import Installation, install

from spanwalk.storage.database import writing
from spanwalk.storage.tables import db
from spanwalk.web.health import STOPPING


@pytest.fixture
def alone(tmp_path: Path) -> Iterator[Installation]:
    made = install(tmp_path / "data")
    yield made
    with made.app.app_context():
        db.engine.dispose()


def asked(here: Installation) -> tuple[int, dict[str, object]]:
    answer = here.app.test_client().get("/api/ready")
    return answer.status_code, answer.json


def test_a_server_that_can_work_is_ready(alone: Installation) -> None:
    status, told = asked(alone)
    assert status == 200
    assert told.pop("version")
    assert told == {"ready": True, "database": "ok", "tables": "ok", "photos": "ok", "stopping": False}


def set_revision(here: Installation, revision: str) -> None:
    with here.app.app_context(), writing() as session:
        session.execute(text("UPDATE alembic_version SET version_num = :it"), {"it": revision})


def take_database_away(here: Installation) -> None:
    with here.app.app_context():
        db.engine.dispose()
    folder = here.app.extensions["spanwalk"].data
    for file in folder.glob("spanwalk.db*"):
        file.unlink()
    (folder / "spanwalk.db").mkdir()


def take_photos_away(here: Installation) -> None:
    folder = here.app.extensions["spanwalk"].data / "photos"
    shutil.rmtree(folder, ignore_errors=True)
    folder.write_text("not a folder")


def tell_to_stop(here: Installation) -> None:
    here.app.extensions[STOPPING] = True


@pytest.mark.parametrize(
    ("harm", "part", "told"),
    [
        (lambda here: set_revision(here, "0007"), "tables", "older"),
        (take_database_away, "database", "no answer"),
        (take_photos_away, "photos", "no answer"),
        (tell_to_stop, "stopping", True),
    ],
    ids=["tables of an older version", "no database", "no photo store", "about to end"],
)
def test_what_it_cannot_work_with_is_named(
    alone: Installation, harm: Callable[[Installation], None], part: str, told: object
) -> None:
    harm(alone)
    status, answer = asked(alone)
    assert status == 503
    assert (answer["ready"], answer[part]) == (False, told)


def test_tables_of_a_newer_version_are_worked_with_while_servers_are_exchanged_one_by_one(alone: Installation) -> None:
    set_revision(alone, "9999")
    status, answer = asked(alone)
    assert (status, answer["tables"]) == (200, "newer")


def test_a_server_whose_photo_store_is_away_is_healthy_all_the_same_for_starting_it_again_helps_nobody(
    alone: Installation,
) -> None:
    take_photos_away(alone)
    assert alone.app.test_client().get("/api/health").status_code == 200
