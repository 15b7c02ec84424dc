"""Hand-over reports and proof packs, made in the background; their progress stands in their own rows"""

import sqlalchemy as sa
from alembic import op

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "handover_file",
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
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("with_sums", sa.Boolean(), nullable=False),
        sa.Column("with_money", sa.Boolean(), nullable=False),
        sa.Column("language", sa.Text(), nullable=False),
        sa.Column("head", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["person"], ["person.id"], name=op.f("fk_handover_file_person")),
        sa.ForeignKeyConstraint(["site"], ["site.id"], name=op.f("fk_handover_file_site")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_handover_file")),
    )
    op.create_index(op.f("ix_handover_file_site_made_at"), "handover_file", ["site", "made_at"])
    op.drop_table("report_progress")


def downgrade() -> None:
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
    op.drop_index(op.f("ix_handover_file_site_made_at"), table_name="handover_file")
    op.drop_table("handover_file")
