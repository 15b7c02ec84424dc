"""Is the database whole? What no foreign key can say: records against the log, sequences, photos against the store.

Each finding is a code with facts; its sentence says what is wrong and what to do. Nothing is changed.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from sqlalchemy import Row as SqlRow
from sqlalchemy import select, text
from sqlalchemy.exc import DatabaseError, OperationalError
from sqlalchemy.orm import Session

from spanwalk import records, spec_1
from spanwalk.config import Settings
from spanwalk.services.background.parts import parts_of_site
from spanwalk.services.photos.kept import is_as_sent, is_whole, opened
from spanwalk.services.photos.photos import THUMBNAIL
from spanwalk.services.sync.state import COLUMNS, state_of
from spanwalk.services.sync.sums import differing
from spanwalk.storage import json_text
from spanwalk.storage.migrating import is_current
from spanwalk.storage.photos import PhotoStore, StoreFails
from spanwalk.storage.tables import Attachment, Installation, Operation, Photo, Record, Site
from spanwalk.sync.model import APPLIED, CONFLICT, IDENTITY, LIFE, PARENT, REMOVE, State, StoredFacet

AT_ONCE = 5000
HALF_WRITTEN = "."


@dataclass(frozen=True)
class Finding:
    """Something that is not as it must be: the code of its sentence, and the facts."""

    code: str
    facts: dict[str, object]


@dataclass
class Report:
    """What was looked at, and what was found."""

    sites: int = 0
    records: int = 0
    operations: int = 0
    photos: int = 0
    findings: list[Finding] = field(default_factory=list)

    def find(self, code: str, **facts: object) -> None:
        """Note a finding."""
        self.findings.append(Finding(f"doctor.{code}", facts))


def examine_all(session: Session, store: PhotoStore, read_photos: bool = False) -> Report:
    """Look at the whole installation.

    Parameters
    ----------
    session : Session
        One snapshot of the database.
    store : PhotoStore
        Where photos lie.
    read_photos : bool
        Read every photo and compare it with its name; else only ask whether it is there.

    Returns
    -------
    Report
        What was looked at, and the findings, none if all is well.
    """
    report = Report()
    try:
        if not is_current(session.get_bind().engine):
            report.find("tables-old")
            return report
        _examine_database(session, report)
        for site_id, head in session.execute(select(Site.id, Site.head).order_by(Site.id)).all():
            _Site(session, site_id, head, report).examine()
        _examine_photos(session, store, report, read_photos)
    except StoreFails as failed:
        report.find("photo-store-failing", reason=str(failed))
    except OperationalError:
        raise  # not there, or busy: that says nothing of what is in it
    except DatabaseError as failed:
        report.find("database-damaged", reason=str(failed.orig))
    return report


def examine_front(settings: Settings, report: Report) -> None:
    """Look at how this installation is reached: behind a proxy that is not believed all people are one."""
    if settings.public_url is not None and settings.public_url.startswith("https:") and settings.trusted_proxy is None:
        report.find("proxy-untrusted", address=settings.public_url)


def examine_site(session: Session, site_id: str, head: int) -> Report:
    """Look at the records, the log and the sums of one site.

    Parameters
    ----------
    session : Session
        One snapshot of the database, or the transaction that wrote it.
    site_id : str
        The site.
    head : int
        Its newest sequence.
    """
    report = Report()
    _Site(session, site_id, head, report).examine()
    return report


def _examine_database(session: Session, report: Report) -> None:
    if len(session.execute(select(Installation.incarnation)).all()) != 1:
        report.find("no-incarnation")
    if session.get_bind().dialect.name != "sqlite":
        return
    told = [row[0] for row in session.execute(text("PRAGMA quick_check(5)"))]
    if told != ["ok"]:
        report.find("database-damaged", reason="; ".join(told))
    for table, _row, parent, _number in session.execute(text("PRAGMA foreign_key_check")):
        report.find("row-orphaned", table=table, parent=parent)


class _Site:
    """One site's records against its log."""

    def __init__(self, session: Session, site_id: str, head: int, report: Report) -> None:
        self.session, self.site, self.head, self.report = session, site_id, head, report
        self.states: dict[str, State] = {}
        self.log: dict[str, SqlRow[*tuple[object, ...]]] = {}
        self.newest: dict[tuple[str, str], str] = {}

    def find(self, code: str, **facts: object) -> None:
        self.report.find(code, site=self.site, **facts)

    def examine(self) -> None:
        states = map(state_of, self.session.execute(select(*COLUMNS).where(Record.site == self.site)))
        self.states = {state.id: state for state in states}
        wanted = (Operation.id, Operation.seq, Operation.record, Operation.facet, Operation.result, Operation.formerly)
        query = select(*wanted).where(Operation.site == self.site).order_by(Operation.seq)
        for row in self.session.execute(query):
            self.log[row.id] = row
            if row.result == APPLIED:
                self.newest[row.record, row.facet] = row.id
        self.report.sites += 1
        self.report.records += len(self.states)
        self.report.operations += len(self.log)
        self._sequences()
        self._log_in_records()
        for state in self.states.values():
            self._record(state)
        self._values()
        self._sums()

    def _sequences(self) -> None:
        newest = max((state.seq for state in self.states.values()), default=0)
        if newest != self.head:
            self.find("head-differs", head=self.head, newest=newest)
        beyond = [row.id for row in self.log.values() if (row.seq or 0) > self.head]
        for id in beyond:
            self.find("operation-beyond-head", operation=id, seq=self.log[id].seq, head=self.head)
        # What came again under another id, after a copied phone took one, was answered with the sequence of the first.
        told = {(row.seq, row.formerly or row.id) for row in self.log.values() if row.result in (APPLIED, CONFLICT)}
        given = Counter(seq for seq, _ in told)
        stored = Counter(state.seq for state in self.states.values())
        for seq in sorted(seq for counted in (given, stored) for seq, times in counted.items() if times > 1):
            self.find("sequence-twice", seq=seq)
        if self.site not in self.states:
            self.find("site-without-record")

    def _log_in_records(self) -> None:
        """Each facet that the log says was written stands in its record."""
        for (record, facet), operation in self.newest.items():
            state = self.states.get(record)
            if state is None:
                if facet == IDENTITY:
                    self.find("record-lost", record=record, operation=operation)
            elif facet not in state.facets:
                self.find("facet-lost", record=record, facet=facet, operation=operation)

    def _record(self, state: State) -> None:
        about = {"record": state.id, "type": state.type}
        if state.parent not in (None, self.site) and state.parent not in self.states:
            self.find("parent-missing", **about, parent=state.parent)
        identity = _value(state, IDENTITY)
        if state.id != self.site and identity.get(PARENT) != state.parent:
            self.find("parent-differs", **about, parent=state.parent, right=identity.get(PARENT))
        if _value(state, LIFE).get("removed", False) is not state.removed:
            self.find("removed-differs", **about)
        for name, facet in state.facets.items():
            self._facet(state, name, facet)
        for conflict in state.conflicts:
            row = self.log.get(conflict["id"])
            if row is None or (row.result != CONFLICT and conflict["kind"] != "child"):
                self.find("conflict-not-in-log", **about, operation=conflict["id"])

    def _facet(self, state: State, name: str, stored: StoredFacet) -> None:
        about = {"record": state.id, "type": state.type, "facet": name, "operation": stored["op"]}
        row = self.log.get(stored["op"])
        if row is None or (row.record, row.facet, row.seq) != (state.id, name, stored["seq"]):
            self.find("facet-not-in-log", **about)
        elif self.newest.get((state.id, name)) != stored["op"]:
            self.find("facet-not-newest", **about, newest=self.newest.get((state.id, name)))
        if stored["seq"] > state.seq:
            self.find("facet-beyond-record", **about, seq=stored["seq"], newest=state.seq)
        if name == LIFE or (name == IDENTITY and PARENT not in stored["value"]):
            return
        for target_field, target, _types in records.references(state.type, name, stored["value"]):
            if target_field != PARENT and target != self.site and target not in self.states:
                self.find("reference-missing", **about, field=target_field, target=target)

    def _values(self) -> None:
        """The value of each facet is the one that its operation set."""
        written = {
            stored["op"]: (state, name, stored["value"])
            for state in self.states.values()
            for name, stored in state.facets.items()
        }
        ids = sorted(written)
        for start in range(0, len(ids), AT_ONCE):
            some = ids[start : start + AT_ONCE]
            wanted = (Operation.id, Operation.body, Operation.facts)
            query = select(*wanted).where(Operation.site == self.site, Operation.id.in_(some))
            for id, body, facts in self.session.execute(query):
                state, name, value = written[id]
                operation = json_text.loads(body)
                set_to = {"removed": operation["kind"] == REMOVE} if name == LIFE else operation["to"]
                if name != LIFE and int(operation.get("spec", spec_1.LAST)) <= spec_1.LAST:
                    set_to = spec_1.in_codes(state.type, name, set_to)
                # Fields that its sender's spec did not know stayed beside what it set.
                kept = json_text.loads(facts)["kept"] if facts else ()
                if _without(kept, set_to) != _without(kept, value):
                    self.find("value-differs", record=state.id, type=state.type, facet=name, operation=id)

    def _sums(self) -> None:
        """What phones check their copies by, counted anew."""
        types, ids = differing(self.session, self.site)
        for type_ in types:
            self.find("sum-differs", type=type_)
        for id in ids:
            self.find("hash-differs", record=id)


def _without(names: Sequence[str], value: dict[str, object]) -> dict[str, object]:
    return {name: each for name, each in value.items() if name not in names}


def _examine_photos(session: Session, store: PhotoStore, report: Report, read: bool) -> None:
    there = Counter(store.names())
    rows = session.execute(select(Photo.site, Photo.sha256).order_by(Photo.site, Photo.sha256)).all()
    report.photos = len(rows)
    as_sent: set[str] = set()
    for row in rows:
        about = {"site": row.site, "photo": row.sha256}
        if row.sha256 not in there:
            report.find("photo-missing", **about)
        elif read:
            data = store.get(row.sha256) or b""
            if is_as_sent(row.sha256, data):
                as_sent.add(row.sha256)
            elif not is_whole(row.sha256, data):
                report.find("photo-damaged", **about, bytes=len(data))
    if as_sent:
        report.find("photos-as-sent", count=len(as_sent))
    known = {row.sha256 for row in rows} | _examine_attachments(session, there, store, report, read)
    known |= set(parts_of_site(session))
    for name in _strangers(there, known):
        report.find("photo-half-written" if name.startswith(HALF_WRITTEN) else "photo-unreferenced", photo=name)


def _examine_attachments(
    session: Session, there: Counter[str], store: PhotoStore, report: Report, read: bool
) -> set[str]:
    """The names under which attachments are kept; those that are not there, or damaged, are told as photos are."""
    rows = session.execute(select(Attachment.site, Attachment.kept_as).order_by(Attachment.site)).all()
    for row in rows:
        about = {"site": row.site, "photo": row.kept_as}
        if row.kept_as not in there:
            report.find("photo-missing", **about)
        elif read and opened(data := store.get(row.kept_as) or b"") is None:
            report.find("photo-damaged", **about, bytes=len(data))
    return {row.kept_as for row in rows}


def _strangers(there: Counter[str], known: set[str]) -> Iterator[str]:
    return (name for name in sorted(there) if name.removesuffix(THUMBNAIL) not in known)


def _value(state: State, facet: str) -> Mapping[str, object]:
    stored = state.facets.get(facet)
    return {} if stored is None else stored["value"]
