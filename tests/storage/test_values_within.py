"""The database finds single values within JSON text as they were written, on both back ends."""

from __future__ import annotations

import json
from collections.abc import Iterator

import pytest
from sqlalchemy import String, literal, select
from sqlalchemy.orm import Session
from tests.support.back_ends import on_both
from tests.support.installation import installed

from spanwalk.storage.database import reading, values_within

back_end = on_both()
TOLD = {
    "identity": {
        "value": {
            "number": 12,
            "share": 0.1 + 0.2,
            "text": 'Łódź "2 × 4" \\ Ж \n',
            "nothing": None,
            "no": False,
            "frozen": {"rows": [{"row": 1, "bars": ["a", 2.50]}], "driver": None, "emergency": {}},
        }
    },
    "a-facet_2": {"value": {}},
}
PATHS = (
    ("identity", "value", "number"),
    ("identity", "value", "share"),
    ("identity", "value", "text"),
    ("identity", "value", "nothing"),
    ("identity", "value", "no"),
    ("identity", "value", "frozen", "rows"),
    ("identity", "value", "frozen", "driver"),
    ("identity", "value", "frozen", "emergency"),
    ("identity", "value", "not-there", "number"),
    ("a-facet_2", "value"),
    ("not-there",),
)


@pytest.fixture(scope="module")
def session(back_end: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Session]:
    folder = tmp_path_factory.mktemp("values")
    with installed(folder, back_end) as here, here.app.app_context(), reading() as found:
        yield found


def found_in(session: Session, *paths: tuple[str, ...]) -> list[object]:
    column = literal(json.dumps(TOLD, ensure_ascii=False), String)
    found: list[object] = json.loads(session.execute(select(values_within(column, paths))).scalar_one())
    return found[: len(paths)]


def within(path: tuple[str, ...]) -> object:
    at: object = TOLD
    for name in path:
        at = at.get(name) if isinstance(at, dict) else None
    return at


def test_many_values_come_in_the_order_of_their_paths(session: Session) -> None:
    assert found_in(session, *PATHS) == [within(path) for path in PATHS]


@pytest.mark.parametrize("path", PATHS, ids=".".join)
def test_each_alone_is_the_same(session: Session, path: tuple[str, ...]) -> None:
    assert found_in(session, path) == [within(path)]
