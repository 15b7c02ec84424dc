"""What still goes on a closed site: failures are reported, photos of them sent, claims go their way with letters, emergency
lights are tested; all else is only read."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import literal_column, select
from sqlalchemy.orm import Session

from spanwalk.rules.survey import facet
from spanwalk.services.sync.state import COLUMNS, view_record
from spanwalk.storage.database import among
from spanwalk.storage.tables import Record
from spanwalk.sync.model import IDENTITY, Operation

FAILURE, PHOTO, ATTACHMENT, CLAIM_LETTER = "failure", "photo", "attachment", "claim-letter"
GO_ON = frozenset({FAILURE, "claim_step", "function_test", "emergency_test"})
"""Types of record that a building needs for as long as it stands."""


def goes_when_closed(session: Session, site_id: str, operations: Iterable[Operation]) -> bool:
    """Whether all that a push holds goes on a closed site: a phone that has only such work gets it in."""
    every = list(operations)
    others = [each for each in every if each.type not in GO_ON and not _is_claim_letter(each)]
    if any(each.type != PHOTO for each in others):
        return False
    wanted = {str((each.to or {}).get("subject")) if isinstance(each.to, dict) else "" for each in others}
    reported = {each.record for each in every if each.type == FAILURE}
    return not (left := wanted - reported) or left == _failures(session, site_id, left)


def _is_claim_letter(operation: Operation) -> bool:
    """Whether a letter about a claim is attached anew; what was attached before stays as it is."""
    value = operation.to if isinstance(operation.to, dict) else {}
    is_new = operation.facet == IDENTITY and operation.seen is None
    return operation.type == ATTACHMENT and is_new and value.get("purpose") == CLAIM_LETTER


def _failures(session: Session, site_id: str, ids: set[str]) -> set[str]:
    query = select(Record.id).where(Record.site == site_id, Record.type == FAILURE, among(Record.id, ids))
    return set(session.execute(query).scalars())


def is_of_a_failure(session: Session, site_id: str, sha256: str) -> bool:
    """Whether a photo is the evidence of a failure: such a one comes into a closed site too."""
    named = select(*COLUMNS).where(
        Record.site == site_id, Record.type == literal_column("'photo'"), Record.facets.contains(sha256)
    )
    subjects = {str(facet(view_record(row), "identity").get("subject")) for row in session.execute(named)}
    return bool(subjects) and bool(_failures(session, site_id, subjects))
