"""Records of a type are found without reading all others: a fixture of a large building is told without its other labels"""

from alembic import op

revision = "0021"
down_revision = "0020"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_index("ix_record_site_type", "record", ["site", "type", "seq"])


def downgrade() -> None:
    op.drop_index("ix_record_site_type", table_name="record")
