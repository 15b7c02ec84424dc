"""Sites have a kind: a building, or the firm's catalogue"""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("site", schema=None) as batch_op:
        batch_op.add_column(sa.Column("kind", sa.Text(), nullable=False, server_default="building"))


def downgrade() -> None:
    with op.batch_alter_table("site", schema=None) as batch_op:
        batch_op.drop_column("kind")
