"""Take the name of somebody who left out of everything: the account, records, the whole log. What was done stays, by nobody's name.

The audit stays whole: it names people by id, and an entry vouches for each row of the log from which a name was taken.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from sqlalchemy import delete, select, update
from sqlalchemy.orm import Session

from spanwalk.rules.record_view import Facet
from spanwalk.services.audit.chain import REWRITTEN
from spanwalk.services.audit.rewriting import rewrite
from spanwalk.services.clock import now
from spanwalk.services.files.imports import unpacked
from spanwalk.services.offering.keeping import TYPES as OFFERS
from spanwalk.services.offering.keeping import refingerprinted
from spanwalk.services.people.names import name_key
from spanwalk.services.people.sealed import hidden_name
from spanwalk.services.people.second_factor import take_off_all
from spanwalk.services.planning.kept_answers import forget_answers
from spanwalk.services.refusals import InTheWay, NotThere
from spanwalk.services.sync.server_operations import ServerOperation, server_push
from spanwalk.services.sync.state import COLUMNS, state_of
from spanwalk.storage import json_text
from spanwalk.storage.tables import (
    LEFT,
    Enrolment,
    FileImport,
    OneTimeLink,
    Operation,
    Person,
    Record,
    SignInTry,
    Site,
)
from spanwalk.storage.tables import Session as SignIn
from spanwalk.sync.model import LIFE, State
from spanwalk.words import say

NUMBER_LETTERS = 8
IDENTITY = "identity"


def anonymise(session: Session, person_id: str, by: str) -> None:
    """Take a person's name out of everything.

    Parameters
    ----------
    session : Session
        A writing transaction.
    person_id : str
        Who has left the firm.
    by : str
        On whose word.

    Raises
    ------
    NotThere
        No such person.
    InTheWay
        They have not left, or a record cannot be written without the name.
    """
    person = session.execute(select(Person).where(Person.id == person_id)).scalar_one_or_none()
    if person is None:
        raise NotThere("person-unknown", value=person_id)
    if person.state != LEFT:
        raise InTheWay("person-not-left", name=person.name)
    name, instead = person.name, say("privacy.former", {"number": person_id[:NUMBER_LETTERS]})
    values = {"name": instead, "name_key": name_key(instead), "password_hash": None, "language": None, "units": None}
    session.execute(update(Person).where(Person.id == person_id).values(**values, anonymised_at=now()))
    for table in (SignIn, Enrolment):
        session.execute(delete(table).where(table.person == person_id))
    take_off_all(session, person_id)
    session.execute(delete(SignInTry).where(SignInTry.name_key == hidden_name(session, name)))
    theirs = (OneTimeLink.person == person_id) | (OneTimeLink.made_by == person_id)
    session.execute(update(OneTimeLink).where(theirs).values(note=None))
    take_name_out(session, person_id, name, instead, by)
    forget_answers(session)


def take_name_out(session: Session, person_id: str, name: str, instead: str, by: str) -> None:
    """Put another name in the place of one wherever it stands in records and in the log, of all sites."""
    putting = Putting(name, instead)
    for site_id, archived_at in session.execute(select(Site.id, Site.archived_at).order_by(Site.id)).all():
        if archived_at is not None:
            session.execute(update(Site).where(Site.id == site_id).values(archived_at=None))
        _records(session, site_id, putting, by)
        _log(session, site_id, putting, person_id, by)
        _files(session, site_id, putting)
        if archived_at is not None:
            session.execute(update(Site).where(Site.id == site_id).values(archived_at=archived_at))


class Putting:
    """One name put in the place of another, in texts and in whatever holds texts; only whole words, in any case.

    >>> Putting("Ada Field", "nobody").into({"note": ["seen by ada field.", "Ada Fielding"]})
    {'note': ['seen by nobody.', 'Ada Fielding']}
    """

    def __init__(self, name: str, instead: str) -> None:
        words = r"\s+".join(map(re.escape, name.split()))
        self.pattern, self.instead = re.compile(rf"(?<!\w){words}(?!\w)", re.IGNORECASE), instead

    def into(self, value: object) -> object:
        """The value without the name."""
        if isinstance(value, str):
            return self.pattern.sub(lambda _: self.instead, value)
        if isinstance(value, list):
            return [self.into(each) for each in value]
        if isinstance(value, dict):
            return {key: self.into(each) for key, each in value.items()}
        return value


def _records(session: Session, site_id: str, putting: Putting, by: str) -> None:
    """Records as they stand, by operations of the server, so that phones follow; open conflicts in their place."""
    states = [state_of(row) for row in session.execute(select(*COLUMNS).where(Record.site == site_id)).all()]
    operations: list[ServerOperation] = []
    for state in states:
        for facet, kept in state.facets.items():
            value = putting.into(kept["value"])
            if facet != LIFE and value != kept["value"]:
                to: Mapping[str, object] = value if isinstance(value, dict) else {}
                operations.append({"record": state.id, "type": state.type, "facet": facet, "to": to})
        conflicts = putting.into(state.conflicts)
        if conflicts != state.conflicts:
            where = (Record.site == site_id, Record.id == state.id)
            session.execute(update(Record).where(*where).values(conflicts=json_text.dumps(conflicts)))
    if not operations:
        return
    for answer in server_push(session, site_id, _fingerprinted(states, operations), by):
        if answer["result"] not in ("applied", "same"):
            raise InTheWay("privacy.not-taken-out", why={"code": answer["code"], "facts": answer["facts"]})


def _fingerprinted(states: Sequence[State], operations: Sequence[ServerOperation]) -> list[ServerOperation]:
    """The operations, those of offers with the fingerprint of what is left: else an offer would say that it was changed."""
    before = {
        state.id: state.facets[IDENTITY]["value"]
        for state in states
        if state.type in OFFERS and IDENTITY in state.facets
    }
    written = {
        each["record"]: each["to"] for each in operations if each["facet"] == IDENTITY and each["record"] in before
    }
    offers = {str(before[id]["parent"]) if "lines" in before[id] else id for id in written}
    others = [each for each in operations if each["record"] not in offers or each["facet"] != IDENTITY]
    after = {**before, **written}
    for id in sorted(offers & set(before)):
        to = refingerprinted(before[id], _lines(before, id), after[id], _lines(after, id))
        others.append({"record": id, "type": OFFERS[0], "facet": IDENTITY, "to": to})
    return others


def _lines(identities: Mapping[str, Facet], offer: str) -> list[object]:
    """All lines of an offer, of however many records."""
    parts = [each for each in identities.values() if each and "lines" in each and each["parent"] == offer]
    return [line for part in sorted(parts, key=lambda each: int(each["place"])) for line in part["lines"]]


def _log(session: Session, site_id: str, putting: Putting, person_id: str, by: str) -> None:
    changes: dict[str, dict[str, object]] = {}
    query = select(Operation.id, Operation.body, Operation.facts).where(Operation.site == site_id)
    for row in session.execute(query):
        body, facts = _text(putting, row.body), _text(putting, row.facts)
        if (body, facts) != (row.body, row.facts):
            changes[row.id] = {"body": body, "facts": facts}
    rewrite(session, site_id, changes, REWRITTEN, by, {"person": person_id})


def _files(session: Session, site_id: str, putting: Putting) -> None:
    """Files that were brought in: what was read of one that has the name goes, so that it can no longer be taken back."""
    for row in session.execute(select(FileImport).where(FileImport.site == site_id)).scalars():
        row.name, row.told, row.asked = (
            str(putting.into(row.name)), str(_text(putting, row.told)), str(_text(putting, row.asked)),
        )  # fmt: skip
        if any(putting.into(value) != value for value in map(unpacked, (row.read, row.changes, row.undo))):
            row.read = row.changes = row.undo = None


def _text(putting: Putting, text: str | None) -> str | None:
    if text is None:
        return None
    value = json_text.loads(text)
    changed = putting.into(value)
    return text if changed == value else json_text.dumps(changed)
