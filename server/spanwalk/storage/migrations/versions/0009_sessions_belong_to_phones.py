"""A sign-in belongs to a phone; phones are enrolled, shut out of a site or of all, and let in again

Sign-ins of before belong to none and are worth nothing from here on: who has one signs in again. They are left where they
are, and the new columns may be null: a server of the version before goes on writing both tables while it is replaced.
"""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    _phones()
    _phones_of_people_and_sites()
    _enrolments()
    for name in ("device", "session"):
        with op.batch_alter_table(name, schema=None) as batch_op:
            batch_op.add_column(sa.Column("phone", sa.Text(), nullable=True))
            batch_op.create_foreign_key(op.f(f"fk_{name}_phone"), "phone", ["phone"], ["id"])
            batch_op.create_index(op.f(f"ix_{name}_phone"), ["phone"], unique=False)


def _phones() -> None:
    op.create_table(
        "phone",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("secret_hash", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("made_at", sa.Text(), nullable=False),
        sa.Column("shut_out_at", sa.Text(), nullable=True),
        sa.Column("shut_out_by", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["shut_out_by"], ["person.id"], name=op.f("fk_phone_shut_out_by")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_phone")),
        sa.UniqueConstraint("secret_hash", name=op.f("uq_phone_secret_hash")),
    )


def _phones_of_people_and_sites() -> None:
    op.create_table(
        "phone_of_person",
        sa.Column("phone", sa.Text(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("first_at", sa.Text(), nullable=False),
        sa.Column("signed_in_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["phone"], ["phone.id"], name=op.f("fk_phone_of_person_phone")),
        sa.ForeignKeyConstraint(["person"], ["person.id"], name=op.f("fk_phone_of_person_person")),
        sa.PrimaryKeyConstraint("phone", "person", name=op.f("pk_phone_of_person")),
    )
    op.create_index(op.f("ix_phone_of_person_person"), "phone_of_person", ["person"], unique=False)
    op.create_table(
        "phone_on_site",
        sa.Column("site", sa.Text(), nullable=False),
        sa.Column("phone", sa.Text(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("first_at", sa.Text(), nullable=False),
        sa.Column("shut_out_at", sa.Text(), nullable=True),
        sa.Column("shut_out_by", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["site"], ["site.id"], name=op.f("fk_phone_on_site_site")),
        sa.ForeignKeyConstraint(["phone"], ["phone.id"], name=op.f("fk_phone_on_site_phone")),
        sa.ForeignKeyConstraint(["person"], ["person.id"], name=op.f("fk_phone_on_site_person")),
        sa.ForeignKeyConstraint(["shut_out_by"], ["person.id"], name=op.f("fk_phone_on_site_shut_out_by")),
        sa.PrimaryKeyConstraint("site", "phone", name=op.f("pk_phone_on_site")),
    )
    op.create_index(op.f("ix_phone_on_site_phone"), "phone_on_site", ["phone"], unique=False)


def _enrolments() -> None:
    op.create_table(
        "enrolment",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("secret_hash", sa.Text(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("session", sa.Text(), nullable=False),
        sa.Column("made_at", sa.Text(), nullable=False),
        sa.Column("expires_at", sa.Text(), nullable=False),
        sa.Column("used_at", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["person"], ["person.id"], name=op.f("fk_enrolment_person")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_enrolment")),
        sa.UniqueConstraint("secret_hash", name=op.f("uq_enrolment_secret_hash")),
    )
    op.create_index(op.f("ix_enrolment_person"), "enrolment", ["person"], unique=False)


def downgrade() -> None:
    for name in ("session", "device"):
        with op.batch_alter_table(name, schema=None) as batch_op:
            batch_op.drop_index(op.f(f"ix_{name}_phone"))
            batch_op.drop_constraint(op.f(f"fk_{name}_phone"), type_="foreignkey")
            batch_op.drop_column("phone")
    for name in ("enrolment", "phone_on_site", "phone_of_person", "phone"):
        op.drop_table(name)
