"""Second factors, guesses that wait instead of names that are locked, and when who is signed in last proved it"""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "sign_in_try",
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("name_key", sa.Text(), nullable=False),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sign_in_try")),
    )
    with op.batch_alter_table("sign_in_try", schema=None) as batch_op:
        batch_op.create_index(op.f("ix_sign_in_try_name_key_at"), ["name_key", "at"], unique=False)
        batch_op.create_index(op.f("ix_sign_in_try_place_at"), ["place", "at"], unique=False)
    _of_person(
        "second_factor",
        ["id"],
        sa.Column("id", sa.Text(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("made_at", sa.Text(), nullable=False),
        sa.Column("proven_at", sa.Text(), nullable=True),
        sa.Column("used_at", sa.Text(), nullable=True),
        sa.Column("secret", sa.Text(), nullable=True),
        sa.Column("last_step", sa.Integer(), nullable=True),
        sa.Column("credential", sa.Text(), nullable=True),
        sa.Column("public_key", sa.Text(), nullable=True),
        sa.Column("uses", sa.Integer(), nullable=True),
        sa.UniqueConstraint("credential", name=op.f("uq_second_factor_credential")),
    )
    _of_person(
        "recovery_code",
        ["person", "code_hash"],
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("code_hash", sa.Text(), nullable=False),
        sa.Column("used_at", sa.Text(), nullable=True),
    )
    _of_person(
        "passkey_challenge",
        ["challenge"],
        sa.Column("challenge", sa.Text(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("expires_at", sa.Text(), nullable=False),
    )
    with op.batch_alter_table("second_factor", schema=None) as batch_op:
        batch_op.create_index(op.f("ix_second_factor_person"), ["person"], unique=False)
    with op.batch_alter_table("session", schema=None) as batch_op:
        batch_op.add_column(sa.Column("entered_at", sa.Text(), nullable=True))


def _of_person(table: str, key: list[str], *parts: sa.schema.SchemaItem) -> None:
    op.create_table(
        table,
        *parts,
        sa.ForeignKeyConstraint(["person"], ["person.id"], name=op.f(f"fk_{table}_person")),
        sa.PrimaryKeyConstraint(*key, name=op.f(f"pk_{table}")),
    )


def downgrade() -> None:
    with op.batch_alter_table("session", schema=None) as batch_op:
        batch_op.drop_column("entered_at")
    for table in (
        "passkey_challenge",
        "recovery_code",
        "second_factor",
        "sign_in_try",
    ):
        op.drop_table(table)
