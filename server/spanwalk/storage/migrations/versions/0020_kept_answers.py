"""What was worked out of a large site, kept for a server that starts again"""

import sqlalchemy as sa
from alembic import op

revision = "0020"
down_revision = "0018"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "kept_answer",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("head", sa.Integer(), nullable=False),
        sa.Column("basis", sa.Text(), nullable=False),
        sa.Column("body", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["site.id"], name=op.f("fk_kept_answer_site")),
        sa.PrimaryKeyConstraint("site", "what", name=op.f("pk_kept_answer")),
    )


def downgrade() -> None:
    op.drop_table("kept_answer")
