"""The audit: entries in chains, one for each site and one for the firm, that vouch for every operation of the log.

Each entry's hash takes in that of the entry before, so that nothing in the midst can be changed, removed, inserted or put
elsewhere unseen. Who can write to the database could make a whole chain anew; that is seen by comparing its last hash with
one that was written down elsewhere: a backup's manifest, or a copy of the audit in a file.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import TypedDict

from sqlalchemy import Connection, insert, select, update
from sqlalchemy.orm import Session

from spanwalk.services.clock import now
from spanwalk.storage import json_text
from spanwalk.storage.tables import AuditEntry, AuditHead, Operation, Site

FIRM = "firm"
"""The chain of what belongs to no site: sign-ins, people, sites made and deleted, backups put back."""
LEAF_BYTES = 16
PUSHED, BY_SERVER, BEGUN, SETTLED, RESTORED, REWRITTEN, LET_GO = (
    "pushed",
    "by-server",
    "begun",
    "settled",
    "restored",
    "rewritten",
    "let-go",
)
"""What entries say of the log and of the chain itself; what else is done has codes of its own."""
LEAF_COLUMNS = (
    "id",
    "person",
    "sender",
    "device",
    "record",
    "facet",
    "received_at",
    "result",
    "hash",
    "body",
    "code",
    "facts",
)
"""What an entry vouches for of a row of the log, beside its sequence."""
SEPARATOR = "\x1f"
MODULUS = 2 ** (8 * LEAF_BYTES)


class About(TypedDict, total=False):
    """What an entry says beside who, what and when. `moved` are rows of the log that an entry takes over from others."""

    moved: list[list[int]]
    moved_old: list[str]
    operations: int
    total: str
    going_on_from: int
    let_go: list[int]


@dataclass(frozen=True)
class Event:
    """What is to be entered: who did it, who handed it in, by which phone, when it was entered there, and facts, never a name."""

    what: str
    person: str | None = None
    sender: str | None = None
    device: str | None = None
    entered: tuple[str, str] | None = None
    about: Mapping[str, object] | None = None
    leaves: bytes | None = None
    at: str | None = None


def leaf_of(row: Mapping[str, object]) -> bytes:
    """The hash of a row of the log, 16 bytes of it."""
    told = [str(row[name] or "") for name in LEAF_COLUMNS]
    told.append(str(row["seq"]))
    return sha256(SEPARATOR.join(told).encode("utf-8", "surrogatepass")).digest()[:LEAF_BYTES]


def content_of(scope: str, number: int, entry: Mapping[str, object]) -> str:
    """The hash of what stands in an entry."""
    leaves = entry["leaves"]
    told = [
        scope,
        number,
        entry["at"],
        entry["what"],
        entry["person"],
        entry["sender"],
        entry["device"],
        entry["entered_first"],
        entry["entered_last"],
        entry["about"],
        sha256(leaves).hexdigest() if isinstance(leaves, bytes) else None,
    ]
    return sha256(json_text.dumps(told).encode()).hexdigest()


def hash_after(before: str, number: int, at: str, what: str, content: str) -> str:
    """The hash of an entry, from that of the one before it."""
    return sha256(SEPARATOR.join((before, str(number), at, what, content)).encode()).hexdigest()


def next_number(session: Session | Connection, scope: str) -> tuple[int, str]:
    """Lock a chain; the number that its next entry has, and the hash of its last."""
    query = select(AuditHead.number, AuditHead.hash).where(AuditHead.scope == scope).with_for_update()
    head = session.execute(query).one_or_none()
    if head is None:
        session.execute(insert(AuditHead).values(scope=scope, number=0, hash=""))
        return 1, ""
    return head.number + 1, head.hash


def enter(session: Session | Connection, scope: str, event: Event) -> int:
    """Enter what was done as the last of a chain, in a writing transaction; its number."""
    number, before = next_number(session, scope)
    enter_as(session, scope, event, number, before)
    return number


def enter_as(session: Session | Connection, scope: str, event: Event, number: int, before: str) -> None:
    """The same under a number that `next_number` gave."""
    first, last = event.entered or (None, None)
    entry: dict[str, object] = {
        "at": (at := event.at or now()),
        "what": event.what,
        "person": event.person,
        "sender": event.sender,
        "device": event.device,
        "entered_first": first,
        "entered_last": last,
        "about": json_text.dumps(event.about) if event.about else None,
        "leaves": event.leaves,
    }
    content = content_of(scope, number, entry)
    hashed = hash_after(before, number, at, event.what, content)
    session.execute(insert(AuditEntry).values(scope=scope, number=number, **entry, content=content, hash=hashed))
    session.execute(update(AuditHead).where(AuditHead.scope == scope).values(number=number, hash=hashed))


def vouch(
    session: Session,
    site_id: str,
    rows: Sequence[dict[str, object]],
    device_times: Sequence[str],
    what: str,
    sender: str,
    about: About | None = None,
) -> None:
    """Enter rows that are about to be written to the log, and mark them with the entry's number.

    Parameters
    ----------
    session : Session
        A writing transaction.
    site_id : str
        The site.
    rows : sequence of dict
        By column; the place of each is its place here.
    device_times : sequence of str
        When each was entered, as its phone says.
    what, sender : str
        What it is, and who handed it in.
    about : About, optional
        Rows that it takes over.
    """
    number, before = next_number(session, site_id)
    for row in rows:
        row["entry"] = number
    people, devices = {row["person"] for row in rows}, {row["device"] for row in rows}
    event = Event(
        what,
        person=str(people.pop()) if len(people) == 1 else None,
        sender=sender,
        device=str(devices.pop()) if len(devices) == 1 else None,
        entered=(min(device_times), max(device_times)) if device_times else None,
        about={**(about or {}), "operations": len(rows)},
        leaves=b"".join(map(leaf_of, rows)),
        at=str(rows[0]["received_at"]) if rows else None,
    )
    enter_as(session, site_id, event, number, before)


LOG_NAMES = (*LEAF_COLUMNS, "seq", "entry", "place")
LOG = (*(getattr(Operation, name) for name in LEAF_COLUMNS), Operation.seq, Operation.entry, Operation.place)


def log_rows(
    session: Session | Connection, site_id: str, ids: Sequence[str] | None = None
) -> Iterable[Mapping[str, object]]:
    """Rows of the log with what their leaves are made of."""
    query = select(*LOG).where(Operation.site == site_id)
    if ids is not None:
        query = query.where(Operation.id.in_(ids))
    for row in session.execute(query):
        yield dict(zip(LOG_NAMES, row, strict=True))


def taken_over(rows: Iterable[Mapping[str, object]]) -> About:
    """What an entry says of rows as they stand, before they are written anew and it vouches for them."""
    about: About = {"moved": [], "moved_old": []}
    for row in rows:
        if row["entry"] is None:
            about["moved_old"].append(leaf_of(row).hex())
        else:
            about["moved"].append([int(str(row["entry"])), int(str(row["place"]))])
    return about


def total_of(leaves: Iterable[bytes]) -> str:
    """What leaves add up to, in whatever order; rows that were there before the audit have no other."""
    return f"{sum(int.from_bytes(leaf) for leaf in leaves) % MODULUS:032x}"


def begin_chains(session: Session) -> None:
    """Begin the chains that are not there: the firm's, and those of sites from before the audit with all their rows."""
    there = set(session.execute(select(AuditHead.scope)).scalars())
    if FIRM not in there:
        enter(session, FIRM, Event(BEGUN))
    for site_id in session.execute(select(Site.id).order_by(Site.id)).scalars().all():
        if site_id not in there:
            begin_chain(session, site_id)


def begin_chain(session: Session, site_id: str) -> None:
    """Begin a site's chain with all the rows that its log has."""
    leaves = [leaf_of(row) for row in log_rows(session, site_id)]
    enter(session, site_id, Event(BEGUN, about={"operations": len(leaves), "total": total_of(leaves)}))
