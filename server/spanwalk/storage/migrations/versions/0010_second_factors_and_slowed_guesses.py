"""Second factors, guesses that wait instead of names that are locked, who used which phone, sign-ins that use moves on"""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0008"
branch_labels = None
depends_on = None

USED = """
    INSERT INTO phone_user (device, person, since)
    SELECT device, person, MIN(since) FROM (
        SELECT id AS device, person, MIN(first_at) AS since FROM device GROUP BY id, person
        UNION ALL
        SELECT device, person, MIN(received_at) AS since FROM operation WHERE person = sender GROUP BY device, person
    ) AS used
    WHERE person IN (SELECT id FROM person)
    GROUP BY device, person
"""


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
        "known_phone",
        ["token_hash", "person"],
        sa.Column("token_hash", sa.Text(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("seen_at", sa.Text(), nullable=False),
    )
    _of_person(
        "phone_user",
        ["device", "person"],
        sa.Column("device", sa.Text(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("since", sa.Text(), nullable=False),
    )
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
    for table in ("known_phone", "second_factor"):
        with op.batch_alter_table(table, schema=None) as batch_op:
            batch_op.create_index(op.f(f"ix_{table}_person"), ["person"], unique=False)
    with op.batch_alter_table("session", schema=None) as batch_op:
        batch_op.add_column(sa.Column("entered_at", sa.Text(), nullable=True))
    op.execute(USED)


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
        "phone_user",
        "known_phone",
        "sign_in_try",
    ):
        op.drop_table(table)
