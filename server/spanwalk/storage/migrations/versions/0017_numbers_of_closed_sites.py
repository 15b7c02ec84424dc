"""What closed sites tell by kind, without names"""

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "learning_number",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("of", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("total", sa.BigInteger(), nullable=False),
        sa.Column("squares", sa.BigInteger(), nullable=False),
        sa.Column("degrees", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["site.id"], name=op.f("fk_learning_number_site")),
        sa.PrimaryKeyConstraint("site", "of", "key", name=op.f("pk_learning_number")),
    )


def downgrade() -> None:
    op.drop_table("learning_number")
