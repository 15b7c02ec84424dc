"""The tables. A record is one row of JSON, whatever its type, so a new field needs no migration."""

from __future__ import annotations

from flask_sqlalchemy import SQLAlchemy
from sqlalchemy import ForeignKey, Index, MetaData, Text, false, text
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}


class Base(DeclarativeBase):
    """Declarative base with named constraints, which SQLite needs to alter a table."""

    metadata = MetaData(naming_convention=NAMING)
    type_annotation_map = {str: Text()}  # noqa: RUF012 - read by SQLAlchemy


class Installation(Base):
    """This database: one row. Its incarnation changes when a backup is put back; `demo` marks the demo's."""

    __tablename__ = "server"
    id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    incarnation: Mapped[str]
    demo: Mapped[bool] = mapped_column(default=False, server_default=false())


class Site(Base):
    """A site and the last sequence given out for it; locking the row orders its writers. An archived one is only read.

    `kind` is `building`, or `catalogue`: the one that holds the firm's catalogue.
    """

    __tablename__ = "site"
    id: Mapped[str] = mapped_column(primary_key=True)
    head: Mapped[int] = mapped_column(default=0)
    created_at: Mapped[str]
    backed_up: Mapped[int] = mapped_column(default=0, server_default="0")
    archived_at: Mapped[str | None]
    kind: Mapped[str] = mapped_column(default="building", server_default="building")


class Record(Base):
    """A record: JSON text of its facets {name: {op, seq, by, at, value}} and of its open conflicts.

    `line_hash` is what it adds to the sum of its type, null where it adds nothing.
    """

    __tablename__ = "record"
    site: Mapped[str] = mapped_column(ForeignKey("site.id"), primary_key=True)
    id: Mapped[str] = mapped_column(primary_key=True)
    type: Mapped[str]
    parent: Mapped[str | None]
    seq: Mapped[int]
    removed: Mapped[bool]
    facets: Mapped[str]
    conflicts: Mapped[str]
    line_hash: Mapped[str | None]
    __table_args__ = (
        Index(None, "site", "seq"),
        Index(None, "site", "parent"),
        Index(
            "ix_record_conflicts",
            "site",
            sqlite_where=text("conflicts <> '[]'"),
            postgresql_where=text("conflicts <> '[]'"),
        ),
    )


class SiteSum(Base):
    """What the records of one type add up to on a site, modulo 2^256 in hexadecimal: phones check their copies by it."""

    __tablename__ = "site_sum"
    site: Mapped[str] = mapped_column(ForeignKey("site.id"), primary_key=True)
    type: Mapped[str] = mapped_column(primary_key=True)
    lines: Mapped[int]
    total: Mapped[str]


class Operation(Base):
    """The log: every operation received and what became of it. It is also the audit."""

    __tablename__ = "operation"
    site: Mapped[str] = mapped_column(ForeignKey("site.id"), primary_key=True)
    id: Mapped[str] = mapped_column(primary_key=True)
    device: Mapped[str]
    person: Mapped[str]
    sender: Mapped[str]
    record: Mapped[str]
    facet: Mapped[str]
    seq: Mapped[int | None]
    received_at: Mapped[str]
    place: Mapped[int]
    hash: Mapped[str]
    body: Mapped[str]
    result: Mapped[str]
    code: Mapped[str | None]
    facts: Mapped[str | None]
    base: Mapped[str | None]
    lost: Mapped[str | None]
    formerly: Mapped[str | None]
    formerly_hash: Mapped[str | None]
    replaces: Mapped[str | None]
    __table_args__ = (
        Index(None, "site", "record"),
        Index(
            "ix_operation_formerly",
            "site",
            "formerly",
            sqlite_where=text("formerly IS NOT NULL"),
            postgresql_where=text("formerly IS NOT NULL"),
        ),
        Index(
            "ix_operation_replaces",
            "site",
            "replaces",
            sqlite_where=text("replaces IS NOT NULL"),
            postgresql_where=text("replaces IS NOT NULL"),
        ),
        Index(
            "ix_operation_held",
            "site",
            "received_at",
            sqlite_where=text("result = 'held'"),
            postgresql_where=text("result = 'held'"),
        ),
    )


ACTIVE, DISABLED, LEFT = "active", "disabled", "left"
"""States of a person: may sign in; may not for now; is no longer with the firm."""


class Person(Base):
    """Someone who can sign in. `name_key` is the name as it is looked up: NFKC, case folded, spaces single.

    `language` is a tag of spec/words, `units` a choice of a site's settings; null: as they come, as the site has them.
    """

    __tablename__ = "person"
    id: Mapped[str] = mapped_column(primary_key=True)
    name: Mapped[str]
    name_key: Mapped[str] = mapped_column(unique=True)
    password_hash: Mapped[str | None]
    owner: Mapped[bool] = mapped_column(default=False)
    created_at: Mapped[str]
    state: Mapped[str] = mapped_column(default=ACTIVE, server_default=ACTIVE)
    state_since: Mapped[str | None]
    language: Mapped[str | None]
    units: Mapped[str | None]


class Membership(Base):
    """What a person may do on a site. An ended one stays: it is how held operations are told from strangers'."""

    __tablename__ = "membership"
    site: Mapped[str] = mapped_column(ForeignKey("site.id"), primary_key=True)
    person: Mapped[str] = mapped_column(ForeignKey("person.id"), primary_key=True)
    role: Mapped[str]
    changes: Mapped[int] = mapped_column(default=0, server_default="0")
    since: Mapped[str]
    ended_at: Mapped[str | None]
    __table_args__ = (Index(None, "person"),)


class Device(Base):
    """A phone as one site knows it: who used it last, and what it said it has not sent."""

    __tablename__ = "device"
    site: Mapped[str] = mapped_column(ForeignKey("site.id"), primary_key=True)
    id: Mapped[str] = mapped_column(primary_key=True)
    person: Mapped[str] = mapped_column(ForeignKey("person.id"))
    first_at: Mapped[str]
    seen_at: Mapped[str]
    unsent_operations: Mapped[int] = mapped_column(default=0)
    unsent_photos: Mapped[int] = mapped_column(default=0)
    unsent_since: Mapped[str | None]
    revoked_at: Mapped[str | None]
    __table_args__ = (Index(None, "id"),)


class Photo(Base):
    """A photo that has arrived, by the hash of the bytes that were sent."""

    __tablename__ = "photo"
    site: Mapped[str] = mapped_column(ForeignKey("site.id"), primary_key=True)
    sha256: Mapped[str] = mapped_column(primary_key=True)
    bytes: Mapped[int]
    width_px: Mapped[int]
    height_px: Mapped[int]
    person: Mapped[str] = mapped_column(ForeignKey("person.id"))
    received_at: Mapped[str]


class SignInAttempt(Base):
    """A failed sign-in, kept for as long as it counts against the next."""

    __tablename__ = "sign_in_attempt"
    id: Mapped[int] = mapped_column(primary_key=True)
    name_key: Mapped[str]
    address: Mapped[str]
    at: Mapped[str]
    __table_args__ = (Index(None, "name_key", "at"), Index(None, "address", "at"))


class Session(Base):
    """A sign-in, by the hash of its token. `id` is how its person names it; `device` is phone or computer."""

    __tablename__ = "session"
    token_hash: Mapped[str] = mapped_column(primary_key=True)
    id: Mapped[str]
    person: Mapped[str] = mapped_column(ForeignKey("person.id"))
    device: Mapped[str]
    created_at: Mapped[str]
    seen_at: Mapped[str]
    expires_at: Mapped[str]
    __table_args__ = (Index(None, "person"), Index(None, "id", unique=True))


class OneTimeLink(Base):
    """An invitation to a site, or a new password for a person, by the hash of its secret; good once, until it expires.

    `person` is whose password it is, or who came by the invitation; `made_by` is null for one made by command.
    """

    __tablename__ = "one_time_link"
    id: Mapped[str] = mapped_column(primary_key=True)
    secret_hash: Mapped[str] = mapped_column(unique=True)
    kind: Mapped[str]
    site: Mapped[str | None] = mapped_column(ForeignKey("site.id"))
    role: Mapped[str | None]
    note: Mapped[str | None]
    person: Mapped[str | None] = mapped_column(ForeignKey("person.id"))
    made_by: Mapped[str | None] = mapped_column(ForeignKey("person.id"))
    made_at: Mapped[str]
    expires_at: Mapped[str]
    used_at: Mapped[str | None]
    withdrawn_at: Mapped[str | None]
    firm: Mapped[str | None]
    """What an invitation to the firm gives, as JSON; NULL for an invitation to one site."""
    __table_args__ = (Index(None, "site"), Index(None, "person"))


class FileImport(Base):
    """A file being brought in, or brought in: what was read, asked and told, what it changes, and what takes it back."""

    __tablename__ = "file_import"
    id: Mapped[str] = mapped_column(primary_key=True)
    site: Mapped[str] = mapped_column(ForeignKey("site.id"))
    person: Mapped[str] = mapped_column(ForeignKey("person.id"))
    kind: Mapped[str]
    name: Mapped[str]
    state: Mapped[str]
    made_at: Mapped[str]
    changed_at: Mapped[str]
    read: Mapped[bytes | None]
    asked: Mapped[str]
    told: Mapped[str]
    head: Mapped[int | None]
    changes: Mapped[bytes | None]
    undo: Mapped[bytes | None]
    __table_args__ = (Index(None, "site", "made_at"),)


class FileHeads(Base):
    """What the heads of a kind of file mean on a site, as somebody said by hand: JSON of head to column and unit."""

    __tablename__ = "file_heads"
    site: Mapped[str] = mapped_column(ForeignKey("site.id"), primary_key=True)
    kind: Mapped[str] = mapped_column(primary_key=True)
    heads: Mapped[str]


db = SQLAlchemy(metadata=Base.metadata)
