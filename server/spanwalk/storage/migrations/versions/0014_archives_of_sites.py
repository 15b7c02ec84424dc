"""Archives of sites, made in the background"""

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "site_archive",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("made_at", sa.Text(), nullable=False),
        sa.Column("changed_at", sa.Text(), nullable=False),
        sa.Column("done", sa.Integer(), nullable=False),
        sa.Column("total", sa.Integer(), nullable=False),
        sa.Column("parts", sa.Integer(), nullable=False),
        sa.Column("bytes", sa.BigInteger(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=True),
        sa.Column("told", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["person"], ["person.id"], name=op.f("fk_site_archive_person")),
        sa.ForeignKeyConstraint(["site"], ["site.id"], name=op.f("fk_site_archive_site")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_site_archive")),
    )
    op.create_index(op.f("ix_site_archive_site_made_at"), "site_archive", ["site", "made_at"])


def downgrade() -> None:
    op.drop_index(op.f("ix_site_archive_site_made_at"), table_name="site_archive")
    op.drop_table("site_archive")
