"""Records of photos are found without looking at all of a site's"""

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None

PHOTOS = sa.text("type = 'photo'")


def upgrade() -> None:
    op.create_index("ix_record_photos", "record", ["site"], sqlite_where=PHOTOS, postgresql_where=PHOTOS)


def downgrade() -> None:
    op.drop_index("ix_record_photos", table_name="record")
