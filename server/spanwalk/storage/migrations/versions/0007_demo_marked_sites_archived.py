"""A demo is marked as such; a site may be archived"""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("server", schema=None) as batch_op:
        batch_op.add_column(sa.Column("demo", sa.Boolean(), server_default=sa.false(), nullable=False))
    with op.batch_alter_table("site", schema=None) as batch_op:
        batch_op.add_column(sa.Column("archived_at", sa.Text(), nullable=True))


def downgrade() -> None:
    with op.batch_alter_table("site", schema=None) as batch_op:
        batch_op.drop_column("archived_at")
    with op.batch_alter_table("server", schema=None) as batch_op:
        batch_op.drop_column("demo")
