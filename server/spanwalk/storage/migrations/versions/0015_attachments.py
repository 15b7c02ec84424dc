"""Files beside a site's records: invoices, certificates"""

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "attachment",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("kept_as", sa.Text(), nullable=False),
        sa.Column("media", sa.Text(), nullable=False),
        sa.Column("bytes", sa.Integer(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("received_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["site.id"], name=op.f("fk_attachment_site")),
        sa.ForeignKeyConstraint(["person"], ["person.id"], name=op.f("fk_attachment_person")),
        sa.PrimaryKeyConstraint("site", "sha256", name=op.f("pk_attachment")),
    )


def downgrade() -> None:
    op.drop_table("attachment")
