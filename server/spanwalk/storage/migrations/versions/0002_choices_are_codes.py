"""Choices are codes: records that hold the texts of spec 1 are told in codes; no operation is touched"""

import json
from collections.abc import Mapping
from typing import cast

import sqlalchemy as sa
from alembic import op

from spanwalk.spec_1 import in_codes

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

RECORD = sa.table("record", *(sa.column(name) for name in ("site", "id", "type", "facets", "conflicts")))
ROWS_AT_ONCE = 1000


def upgrade() -> None:
    connection = op.get_bind()
    after = ("", "")
    while rows := connection.execute(_next(after)).all():
        for site, record, type_name, facets, conflicts in rows:
            told = _facets(type_name, json.loads(facets)), _conflicts(type_name, json.loads(conflicts))
            if told != (json.loads(facets), json.loads(conflicts)):
                _write(connection, site, record, *told)
        after = rows[-1][0], rows[-1][1]


def downgrade() -> None:
    """Nothing: what is told in codes is read by the version before as it is, its words apart."""


def _next(after: tuple[str, str]) -> sa.Select[str, str, str, str, str]:
    row = sa.tuple_(RECORD.c.site, RECORD.c.id)
    return sa.select(RECORD).where(row > sa.tuple_(*after)).order_by(RECORD.c.site, RECORD.c.id).limit(ROWS_AT_ONCE)


def _facets(type_name: str, facets: Mapping[str, Mapping[str, object]]) -> dict[str, object]:
    return {
        name: {**held, "value": in_codes(type_name, name, cast("dict[str, object]", held["value"]))}
        for name, held in facets.items()
    }


def _conflicts(type_name: str, conflicts: list[dict[str, object]]) -> list[dict[str, object]]:
    return [
        {**each, "value": in_codes(type_name, str(each["facet"]), value)}
        if isinstance(value := each.get("value"), dict)
        else each
        for each in conflicts
    ]


def _write(connection: sa.Connection, site: str, record: str, facets: object, conflicts: object) -> None:
    told = {
        name: json.dumps(value, ensure_ascii=False, separators=(",", ":"))
        for name, value in (("facets", facets), ("conflicts", conflicts))
    }
    connection.execute(sa.update(RECORD).where(RECORD.c.site == site, RECORD.c.id == record).values(**told))
