"""The tables. A record is one row of JSON, whatever its type, so a new field needs no migration."""

from __future__ import annotations

from flask_sqlalchemy import SQLAlchemy
from sqlalchemy import BigInteger, ForeignKey, Index, MetaData, Text, false, text
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}


PHOTOS = text("type = 'photo'")
"""The records by which it is seen whether a photo was removed. The literal stands in the query too, or SQLite looks at all."""


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
        Index("ix_record_site_type", "site", "type", "seq"),
        Index("ix_record_photos", "site", sqlite_where=PHOTOS, postgresql_where=PHOTOS),
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
    """The log: every operation received and what became of it. The site's audit vouches for its rows."""

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
    entry: Mapped[int | None]
    """The entry of the site's audit that vouches for this row; NULL: it was there before the audit began."""
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
    anonymised_at: Mapped[str | None]
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


class Phone(Base):
    """A phone or computer that somebody signed in on, by the hash of the secret in its cookie: enrolled at the first sign-in.

    `shut_out_at`: by an owner, of every site; it may still hand in what it has, which is held.
    """

    __tablename__ = "phone"
    id: Mapped[str] = mapped_column(primary_key=True)
    secret_hash: Mapped[str] = mapped_column(unique=True)
    kind: Mapped[str]
    made_at: Mapped[str]
    shut_out_at: Mapped[str | None]
    shut_out_by: Mapped[str | None] = mapped_column(ForeignKey("person.id"))


class PhoneOfPerson(Base):
    """That a person has signed in on a phone, and when last."""

    __tablename__ = "phone_of_person"
    phone: Mapped[str] = mapped_column(ForeignKey("phone.id"), primary_key=True)
    person: Mapped[str] = mapped_column(ForeignKey("person.id"), primary_key=True)
    first_at: Mapped[str]
    signed_in_at: Mapped[str]
    __table_args__ = (Index(None, "person"),)


class PhoneOnSite(Base):
    """A phone that has asked for something of a site; `person` is who asked first. `shut_out_at`: of this site."""

    __tablename__ = "phone_on_site"
    site: Mapped[str] = mapped_column(ForeignKey("site.id"), primary_key=True)
    phone: Mapped[str] = mapped_column(ForeignKey("phone.id"), primary_key=True)
    person: Mapped[str] = mapped_column(ForeignKey("person.id"))
    first_at: Mapped[str]
    shut_out_at: Mapped[str | None]
    shut_out_by: Mapped[str | None] = mapped_column(ForeignKey("person.id"))
    __table_args__ = (Index(None, "phone"),)


class Enrolment(Base):
    """A code by which a person comes in on a second phone, by the hash of its secret; good once, for minutes.

    `session` is the sign-in that it was made from: the code is worth nothing once that has ended.
    """

    __tablename__ = "enrolment"
    id: Mapped[str] = mapped_column(primary_key=True)
    secret_hash: Mapped[str] = mapped_column(unique=True)
    person: Mapped[str] = mapped_column(ForeignKey("person.id"))
    session: Mapped[str]
    made_at: Mapped[str]
    expires_at: Mapped[str]
    used_at: Mapped[str | None]
    __table_args__ = (Index(None, "person"),)


class Device(Base):
    """A copy of a site on a phone, as operations name it: who used it last, and what it said it has not sent.

    `phone` is the phone that it is on; null until that phone, enrolled, is heard of again. `revoked_at`: it is shut out.
    """

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
    phone: Mapped[str | None] = mapped_column(ForeignKey("phone.id"))
    __table_args__ = (Index(None, "id"), Index(None, "phone"))


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


class Attachment(Base):
    """A file beside a site's records that has arrived (an invoice, a certificate), by the hash of its bytes.

    `kept_as` is its name in the store: no photo has that name, also where the same bytes came as one.
    """

    __tablename__ = "attachment"
    site: Mapped[str] = mapped_column(ForeignKey("site.id"), primary_key=True)
    sha256: Mapped[str] = mapped_column(primary_key=True)
    kept_as: Mapped[str]
    media: Mapped[str]
    bytes: Mapped[int]
    person: Mapped[str] = mapped_column(ForeignKey("person.id"))
    received_at: Mapped[str]


class LearningNumber(Base):
    """What a closed site tells of a kind, summed, where its owner lets it: no name, no place, no day."""

    __tablename__ = "learning_number"
    site: Mapped[str] = mapped_column(ForeignKey("site.id"), primary_key=True)
    of: Mapped[str] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(primary_key=True)
    n: Mapped[int]
    total: Mapped[int] = mapped_column(BigInteger)
    squares: Mapped[int] = mapped_column(BigInteger)
    degrees: Mapped[int]


class SignInAttempt(Base):
    """A guess at a link or a label that led nowhere, kept for as long as it counts against the next."""

    __tablename__ = "sign_in_attempt"
    id: Mapped[int] = mapped_column(primary_key=True)
    name_key: Mapped[str]
    address: Mapped[str]
    at: Mapped[str]
    __table_args__ = (Index(None, "name_key", "at"), Index(None, "address", "at"))


class SignInTry(Base):
    """A guess at a password or a second factor: written before it is looked at, taken back where it was right.

    `place` is where it came from: an address, or a phone that its person is known by. `name_key` is a keyed hash of what
    was typed as a name: it may have been a password.
    """

    __tablename__ = "sign_in_try"
    id: Mapped[str] = mapped_column(primary_key=True)
    name_key: Mapped[str]
    place: Mapped[str]
    at: Mapped[str]
    __table_args__ = (Index(None, "name_key", "at"), Index(None, "place", "at"))


class SecondFactor(Base):
    """What a person has beside the password: an authenticator (`code`) or a passkey. Not proven: it counts for nothing yet.

    `secret` is the authenticator's key, `last_step` the time step of its last code; the rest is a passkey's.
    """

    __tablename__ = "second_factor"
    id: Mapped[str] = mapped_column(primary_key=True)
    person: Mapped[str] = mapped_column(ForeignKey("person.id"))
    kind: Mapped[str]
    name: Mapped[str]
    made_at: Mapped[str]
    proven_at: Mapped[str | None]
    used_at: Mapped[str | None]
    secret: Mapped[str | None]
    last_step: Mapped[int | None]
    credential: Mapped[str | None] = mapped_column(unique=True)
    public_key: Mapped[str | None]
    uses: Mapped[int | None]
    __table_args__ = (Index(None, "person"),)


class RecoveryCode(Base):
    """A code that stands in once for a second factor that is lost, by its hash."""

    __tablename__ = "recovery_code"
    person: Mapped[str] = mapped_column(ForeignKey("person.id"), primary_key=True)
    code_hash: Mapped[str] = mapped_column(primary_key=True)
    used_at: Mapped[str | None]


class PasskeyChallenge(Base):
    """What a passkey is asked to sign, once and soon."""

    __tablename__ = "passkey_challenge"
    challenge: Mapped[str] = mapped_column(primary_key=True)
    person: Mapped[str] = mapped_column(ForeignKey("person.id"))
    expires_at: Mapped[str]


class Session(Base):
    """A sign-in, by the hash of its token. `id` is how its person names it; `device` is phone or computer.

    It ends at `expires_at`, which use moves on. `entered_at`: when its person last proved who they are; null: never yet.
    `phone` is the one phone that it belongs to. Without one, as before there were any, it is worth nothing.
    """

    __tablename__ = "session"
    token_hash: Mapped[str] = mapped_column(primary_key=True)
    id: Mapped[str]
    person: Mapped[str] = mapped_column(ForeignKey("person.id"))
    device: Mapped[str]
    created_at: Mapped[str]
    seen_at: Mapped[str]
    expires_at: Mapped[str]
    entered_at: Mapped[str | None]
    phone: Mapped[str | None] = mapped_column(ForeignKey("phone.id"))
    __table_args__ = (Index(None, "person"), Index(None, "id", unique=True), Index(None, "phone"))


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


class InParts(Base):
    """A file that is made in the background: being made, made, or why not. It lies in the photo store in `parts`, named by its id.

    `done` of `total` are the parts of the work done so far; `sha256` is of the whole file. `changed_at`: when its maker last
    touched the row.
    """

    __abstract__ = True
    id: Mapped[str] = mapped_column(primary_key=True)
    site: Mapped[str] = mapped_column(ForeignKey("site.id"))
    person: Mapped[str] = mapped_column(ForeignKey("person.id"))
    state: Mapped[str]
    made_at: Mapped[str]
    changed_at: Mapped[str]
    done: Mapped[int] = mapped_column(default=0)
    total: Mapped[int] = mapped_column(default=0)
    parts: Mapped[int] = mapped_column(default=0)
    bytes: Mapped[int] = mapped_column(BigInteger, default=0)
    sha256: Mapped[str | None]
    told: Mapped[str]


class SiteArchive(InParts):
    """An archive of a site."""

    __tablename__ = "site_archive"
    __table_args__ = (Index(None, "site", "made_at"),)


class HandoverFile(InParts):
    """A hand-over report, its workbook, or a proof pack: `what` it is, and for whom it was made.

    `with_sums`: for a role that reads the sums of releases; `with_money`: money is in it; `language`: in which it is read.
    `head` is the site's last sequence when its records were read: what came later is not in it.
    """

    __tablename__ = "handover_file"
    what: Mapped[str]
    with_sums: Mapped[bool]
    with_money: Mapped[bool]
    language: Mapped[str]
    head: Mapped[int] = mapped_column(default=0)
    __table_args__ = (Index(None, "site", "made_at"),)


class KeptAnswer(Base):
    """What was worked out of a large site at a head, compressed, with a print of what else it was made from: never the only copy."""

    __tablename__ = "kept_answer"
    site: Mapped[str] = mapped_column(ForeignKey("site.id"), primary_key=True)
    what: Mapped[str] = mapped_column(primary_key=True)
    head: Mapped[int]
    basis: Mapped[str]
    body: Mapped[bytes]


class AuditHead(Base):
    """Where a chain of the audit has come to: the number and hash of its last entry. Locking the row orders its writers.

    `scope` is a site's id, or `firm`; no foreign key, for what is said of a site outlives nothing but its own deletion.
    """

    __tablename__ = "audit_head"
    scope: Mapped[str] = mapped_column(primary_key=True)
    number: Mapped[int]
    hash: Mapped[str]


class AuditEntry(Base):
    """One thing that was done: `at` is when it arrived, `entered_first` and `_last` when the phone says it was entered.

    `leaves` are 16 bytes for each operation that it vouches for, in their order. `content` is the hash of all that
    stands in it, `hash` that of the entry before, the number and the content: an entry whose content was let go, after
    its time or because a person left, still holds the chain together.
    """

    __tablename__ = "audit_entry"
    scope: Mapped[str] = mapped_column(primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    at: Mapped[str]
    what: Mapped[str]
    person: Mapped[str | None]
    sender: Mapped[str | None]
    device: Mapped[str | None]
    entered_first: Mapped[str | None]
    entered_last: Mapped[str | None]
    about: Mapped[str | None]
    leaves: Mapped[bytes | None]
    content: Mapped[str]
    hash: Mapped[str]


db = SQLAlchemy(metadata=Base.metadata)
