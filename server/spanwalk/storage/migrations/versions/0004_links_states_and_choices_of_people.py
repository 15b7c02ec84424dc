"""One-time links, states and choices of people, sign-ins that can be named"""

import unicodedata
from uuid import uuid4

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "one_time_link",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("secret_hash", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("site", sa.Text(), nullable=True),
        sa.Column("role", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("person", sa.Text(), nullable=True),
        sa.Column("made_by", sa.Text(), nullable=True),
        sa.Column("made_at", sa.Text(), nullable=False),
        sa.Column("expires_at", sa.Text(), nullable=False),
        sa.Column("used_at", sa.Text(), nullable=True),
        sa.Column("withdrawn_at", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["site"], ["site.id"], name=op.f("fk_one_time_link_site")),
        sa.ForeignKeyConstraint(["person"], ["person.id"], name=op.f("fk_one_time_link_person")),
        sa.ForeignKeyConstraint(["made_by"], ["person.id"], name=op.f("fk_one_time_link_made_by")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_one_time_link")),
        sa.UniqueConstraint("secret_hash", name=op.f("uq_one_time_link_secret_hash")),
    )
    with op.batch_alter_table("one_time_link", schema=None) as batch_op:
        batch_op.create_index(op.f("ix_one_time_link_site"), ["site"], unique=False)
        batch_op.create_index(op.f("ix_one_time_link_person"), ["person"], unique=False)
    with op.batch_alter_table("person", schema=None) as batch_op:
        batch_op.add_column(sa.Column("state", sa.Text(), server_default="active", nullable=False))
        batch_op.add_column(sa.Column("state_since", sa.Text(), nullable=True))
        batch_op.add_column(sa.Column("language", sa.Text(), nullable=True))
        batch_op.add_column(sa.Column("units", sa.Text(), nullable=True))
    with op.batch_alter_table("session", schema=None) as batch_op:
        batch_op.add_column(sa.Column("id", sa.Text(), nullable=True))
        batch_op.add_column(sa.Column("device", sa.Text(), nullable=True))
        batch_op.add_column(sa.Column("seen_at", sa.Text(), nullable=True))
    _name_sessions(op.get_bind())
    _fold_names(op.get_bind())
    with op.batch_alter_table("session", schema=None) as batch_op:
        for column in ("id", "device", "seen_at"):
            batch_op.alter_column(column, existing_type=sa.Text(), nullable=False)
        batch_op.create_index(op.f("ix_session_id"), ["id"], unique=True)


def downgrade() -> None:
    with op.batch_alter_table("session", schema=None) as batch_op:
        batch_op.drop_index(op.f("ix_session_id"))
        for column in ("seen_at", "device", "id"):
            batch_op.drop_column(column)
    with op.batch_alter_table("person", schema=None) as batch_op:
        for column in ("units", "language", "state_since", "state"):
            batch_op.drop_column(column)
    op.drop_table("one_time_link")


def _name_sessions(connection: sa.Connection) -> None:
    """Those who are signed in stay so; what they signed in on was not written down."""
    for token in connection.execute(sa.text("SELECT token_hash FROM session")).scalars().all():
        connection.execute(
            sa.text("UPDATE session SET id = :id, device = 'unknown', seen_at = created_at WHERE token_hash = :token"),
            {"id": str(uuid4()), "token": token},
        )


def _fold_names(connection: sa.Connection) -> None:
    """Names are looked up NFKC-folded from here on; where two would be one, the second keeps its key."""
    rows = connection.execute(sa.text("SELECT id, name, name_key FROM person ORDER BY created_at, id")).all()
    keys = {row.name_key for row in rows}
    for row in rows:
        key = " ".join(unicodedata.normalize("NFKC", row.name).casefold().split())
        if key != row.name_key and key not in keys:
            connection.execute(sa.text("UPDATE person SET name_key = :key WHERE id = :id"), {"key": key, "id": row.id})
            keys.add(key)
