"""An audit in chains; operations say which entry vouches for them; a person may be anonymised"""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "audit_head",
        sa.Column("scope", sa.Text(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("hash", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("scope", name=op.f("pk_audit_head")),
    )
    op.create_table(
        "audit_entry",
        sa.Column("scope", sa.Text(), nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("person", sa.Text(), nullable=True),
        sa.Column("sender", sa.Text(), nullable=True),
        sa.Column("device", sa.Text(), nullable=True),
        sa.Column("entered_first", sa.Text(), nullable=True),
        sa.Column("entered_last", sa.Text(), nullable=True),
        sa.Column("about", sa.Text(), nullable=True),
        sa.Column("leaves", sa.LargeBinary(), nullable=True),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("hash", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("scope", "number", name=op.f("pk_audit_entry")),
    )
    op.add_column("operation", sa.Column("entry", sa.Integer(), nullable=True))
    op.add_column("person", sa.Column("anonymised_at", sa.Text(), nullable=True))


def downgrade() -> None:
    op.drop_column("person", "anonymised_at")
    op.drop_column("operation", "entry")
    op.drop_table("audit_entry")
    op.drop_table("audit_head")
