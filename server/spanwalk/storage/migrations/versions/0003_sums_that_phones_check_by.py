"""Sums that phones check their copies by"""

import hashlib
import json
from collections import defaultdict

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "site_sum",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("type", sa.Text(), nullable=False),
        sa.Column("lines", sa.Integer(), nullable=False),
        sa.Column("total", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["site.id"], name=op.f("fk_site_sum_site")),
        sa.PrimaryKeyConstraint("site", "type", name=op.f("pk_site_sum")),
    )
    with op.batch_alter_table("record", schema=None) as batch_op:
        batch_op.add_column(sa.Column("line_hash", sa.Text(), nullable=True))
    _fill(op.get_bind())


def downgrade() -> None:
    with op.batch_alter_table("record", schema=None) as batch_op:
        batch_op.drop_column("line_hash")
    op.drop_table("site_sum")


def _fill(connection: sa.Connection) -> None:
    """Count what is there, once: each record's line as sync/README.md writes it."""
    rows = connection.execute(sa.text("SELECT site, id, type, removed, facets, conflicts FROM record")).all()
    sums: defaultdict[tuple[str, str], list[int]] = defaultdict(lambda: [0, 0])
    hashes = []
    for row in rows:
        conflicts = sorted(each["id"] for each in json.loads(row.conflicts))
        if row.removed and not conflicts:
            continue
        facets = {name: [held["op"], held["value"]] for name, held in json.loads(row.facets).items()}
        line = json.dumps(
            [row.id, bool(row.removed), facets, conflicts],
            sort_keys=True, separators=(",", ":"), ensure_ascii=False,
        )  # fmt: skip
        hashed = hashlib.sha256(line.encode()).hexdigest()
        hashes.append({"site": row.site, "id": row.id, "hash": hashed})
        counted = sums[row.site, row.type]
        counted[0] += 1
        counted[1] = (counted[1] + int(hashed, 16)) % 2**256
    if hashes:
        connection.execute(sa.text("UPDATE record SET line_hash = :hash WHERE site = :site AND id = :id"), hashes)
    for (site, type_), (lines, total) in sums.items():
        values = {"site": site, "type": type_, "lines": lines, "total": f"{total:064x}"}
        connection.execute(sa.text("INSERT INTO site_sum VALUES (:site, :type, :lines, :total)"), values)
