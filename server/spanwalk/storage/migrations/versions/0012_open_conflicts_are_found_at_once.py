"""Records with an open conflict are found without reading all others: figures of a running server count them"""

from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None

OPEN = "conflicts <> '[]'"


def upgrade() -> None:
    op.execute(f"CREATE INDEX ix_record_conflicts ON record (site) WHERE {OPEN}")


def downgrade() -> None:
    op.execute("DROP INDEX ix_record_conflicts")
