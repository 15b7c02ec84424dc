"""How far reports are, so that any process of the server tells it"""

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "report_progress",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("asked", sa.Text(), nullable=False),
        sa.Column("done", sa.Integer(), nullable=False),
        sa.Column("total", sa.Integer(), nullable=False),
        sa.Column("told_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["site.id"], name=op.f("fk_report_progress_site")),
        sa.PrimaryKeyConstraint("site", "asked", name=op.f("pk_report_progress")),
    )


def downgrade() -> None:
    op.drop_table("report_progress")
