"""Files brought in"""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "file_import",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("made_at", sa.Text(), nullable=False),
        sa.Column("changed_at", sa.Text(), nullable=False),
        sa.Column("read", sa.LargeBinary(), nullable=True),
        sa.Column("asked", sa.Text(), nullable=False),
        sa.Column("told", sa.Text(), nullable=False),
        sa.Column("head", sa.Integer(), nullable=True),
        sa.Column("changes", sa.LargeBinary(), nullable=True),
        sa.Column("undo", sa.LargeBinary(), nullable=True),
        sa.ForeignKeyConstraint(["site"], ["site.id"], name=op.f("fk_file_import_site")),
        sa.ForeignKeyConstraint(["person"], ["person.id"], name=op.f("fk_file_import_person")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_file_import")),
    )
    op.create_index(op.f("ix_file_import_site_made_at"), "file_import", ["site", "made_at"])
    op.create_table(
        "file_heads",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("heads", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["site.id"], name=op.f("fk_file_heads_site")),
        sa.PrimaryKeyConstraint("site", "kind", name=op.f("pk_file_heads")),
    )


def downgrade() -> None:
    op.drop_table("file_heads")
    op.drop_index(op.f("ix_file_import_site_made_at"), "file_import")
    op.drop_table("file_import")
