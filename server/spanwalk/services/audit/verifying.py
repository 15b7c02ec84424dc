"""Is the audit whole, and does the log stand as it says? The first break is told, and how many there are."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk.services.audit.chain import (
    FIRM,
    LEAF_BYTES,
    LET_GO,
    MODULUS,
    RESTORED,
    content_of,
    hash_after,
    leaf_of,
    log_rows,
)
from spanwalk.storage import json_text
from spanwalk.storage.tables import AuditEntry, AuditHead, Site
from spanwalk.telemetry.security import security_event

COLUMNS = tuple(column.name for column in AuditEntry.__table__.columns if column.name != "scope")
HIDDEN = ("person", "sender", "device", "entered_first", "entered_last", "about", "leaves")
"""What an entry loses when its content is let go."""


@dataclass(frozen=True, order=True)
class Break:
    """Where a chain does not hold: the entry's number, the place within it, the code of its sentence, and facts."""

    number: int
    place: int
    code: str
    facts: Mapping[str, object] = field(compare=False, default_factory=dict)


@dataclass(frozen=True)
class Verified:
    """A chain that was looked at: its last entry, what it vouches for, and what does not hold, the first break first."""

    scope: str
    number: int
    hash: str
    operations: int
    breaks: tuple[Break, ...]


@dataclass
class _Expected:
    """What the log must have: leaves by entry and place, and what rows from before the audit add up to."""

    leaves: dict[tuple[int, int], bytes] = field(default_factory=dict)
    old_total: int = 0
    old_count: int = 0


Entry = Mapping[str, object]


def verify_all(session: Session, known: Mapping[str, tuple[int, str]] | None = None) -> list[Verified]:
    """Look at the firm's chain and at those of all sites; `known`: number and hash of entries that were written down elsewhere."""
    scopes = {FIRM, *session.execute(select(Site.id)).scalars(), *session.execute(select(AuditHead.scope)).scalars()}
    return [verify(session, scope, (known or {}).get(scope)) for scope in sorted(scopes, key=lambda s: (s != FIRM, s))]


def verify(session: Session, scope: str, known: tuple[int, str] | None = None) -> Verified:
    """Look at one chain, and for a site at every row of its log."""
    query = select(AuditEntry).where(AuditEntry.scope == scope).order_by(AuditEntry.number)
    entries: list[Entry] = [{name: getattr(row, name) for name in COLUMNS} for row in session.execute(query).scalars()]
    row = session.execute(select(AuditHead.number, AuditHead.hash).where(AuditHead.scope == scope)).one_or_none()
    head = (row.number, row.hash) if row is not None else None
    found = verify_told(scope, entries, head, None if scope == FIRM else log_rows(session, scope), known)
    if found.breaks:
        security_event("audit-broken", site=None if scope == FIRM else scope)
    return found


def verify_told(
    scope: str,
    entries: Sequence[Entry],
    head: tuple[int, str] | None,
    log: Iterable[Mapping[str, object]] | None,
    known: tuple[int, str] | None = None,
) -> Verified:
    """Look at one chain as it was told, from a database or from an archive.

    Parameters
    ----------
    scope : str
        A site's id, or `FIRM`.
    entries : sequence of mapping
        By number.
    head : tuple of int and str, or None
        Number and hash of the last entry, as they are said beside the chain.
    log : iterable of mapping, or None
        Rows as `log_rows` has them; None: none belong to it.
    known : tuple of int and str, optional
        Number and hash of an entry that were written down elsewhere.
    """
    breaks = _chain_breaks(head, scope, entries)
    if known is not None:
        breaks += _known_breaks(entries, known)
    operations = 0
    if log is not None:
        wanted = _expected(entries)
        operations = len(wanted.leaves) + wanted.old_count
        breaks += _log_breaks(log, wanted)
    last = entries[-1] if entries else {"number": 0, "hash": ""}
    return Verified(scope, int(str(last["number"])), str(last["hash"]), operations, tuple(sorted(breaks)))


def _chain_breaks(head: tuple[int, str] | None, scope: str, entries: Sequence[Entry]) -> list[Break]:
    breaks: list[Break] = []
    before, right = "", 1
    let_go = {number for entry in entries if entry["what"] == LET_GO for number in _about(entry).get("let_go", ())}
    for entry in entries:
        number = int(str(entry["number"]))
        if number != right:
            breaks.append(Break(right, -1, "entry-missing", {"number": right, "next": number}))
        hidden = number in let_go and all(entry[name] is None for name in HIDDEN)
        if not hidden and content_of(scope, number, entry) != entry["content"]:
            breaks.append(Break(number, -1, "entry-changed", {"number": number, "at": entry["at"]}))
        hashed = hash_after(before, number, str(entry["at"]), str(entry["what"]), str(entry["content"]))
        changed = bool(breaks) and breaks[-1].number == number
        if hashed != entry["hash"] and number == right and not changed:
            breaks.append(Break(number, -1, "chain-broken", {"number": number, "at": entry["at"]}))
        before, right = str(entry["hash"]), number + 1
    if head != (right - 1, before):
        facts = {"number": right, "right": head[0] if head else 0}
        breaks.append(Break(right, -1, "end-missing", facts))
    return breaks


def _known_breaks(entries: Sequence[Entry], known: tuple[int, str]) -> list[Break]:
    number, hashed = known
    if any((entry["number"], entry["hash"]) == (number, hashed) for entry in entries) or number == 0:
        return []
    return [Break(number, -1, "not-as-written-down", {"number": number})]


def _about(entry: Entry) -> dict[str, list[int]]:
    told: dict[str, list[int]] = json_text.loads(str(entry["about"])) if entry["about"] else {}
    return told


def _expected(entries: Sequence[Entry]) -> _Expected:
    """What the log must have after some entries."""
    wanted = _Expected()
    for place, entry in enumerate(entries):
        about = json_text.loads(str(entry["about"])) if entry["about"] else {}
        if entry["what"] == RESTORED:
            wanted = _expected([each for each in entries[:place] if int(str(each["number"])) <= about["going_on_from"]])
            continue
        if "total" in about:
            wanted.old_total, wanted.old_count = int(about["total"], 16), about["operations"]
        for number, at in about.get("moved", ()):
            wanted.leaves.pop((number, at), None)
        for leaf in about.get("moved_old", ()):
            wanted.old_total = (wanted.old_total - int(leaf, 16)) % MODULUS
            wanted.old_count -= 1
        leaves = entry["leaves"] if isinstance(entry["leaves"], bytes) else b""
        for at in range(len(leaves) // LEAF_BYTES):
            wanted.leaves[int(str(entry["number"])), at] = leaves[at * LEAF_BYTES : (at + 1) * LEAF_BYTES]
    return wanted


def _log_breaks(log: Iterable[Mapping[str, object]], wanted: _Expected) -> list[Break]:
    breaks: list[Break] = []
    left = dict(wanted.leaves)
    old_total = old_count = 0
    for row in log:
        if row["entry"] is None:
            old_total = (old_total + int.from_bytes(leaf_of(row))) % MODULUS
            old_count += 1
            continue
        at = (int(str(row["entry"])), int(str(row["place"])))
        leaf = left.pop(at, None)
        if leaf != leaf_of(row):
            code = "operation-inserted" if leaf is None else "operation-changed"
            breaks.append(Break(*at, code, {"operation": row["id"], "number": at[0], "place": at[1] + 1}))
    breaks += [Break(*at, "operation-missing", {"number": at[0], "place": at[1] + 1}) for at in sorted(left)]
    if (old_total, old_count) != (wanted.old_total, wanted.old_count):
        breaks.append(Break(1, 0, "old-operations", {"found": old_count, "right": wanted.old_count}))
    return breaks
