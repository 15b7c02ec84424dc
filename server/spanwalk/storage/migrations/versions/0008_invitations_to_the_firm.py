"""An invitation may be to the firm: onto several sites or none, as an owner"""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("one_time_link", schema=None) as batch_op:
        batch_op.add_column(sa.Column("firm", sa.Text(), nullable=True))


def downgrade() -> None:
    with op.batch_alter_table("one_time_link", schema=None) as batch_op:
        batch_op.drop_column("firm")
