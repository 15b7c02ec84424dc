"""Rows of the log that are changed after they were written: held work that is refused, a name that is taken out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sqlalchemy import update
from sqlalchemy.orm import Session

from spanwalk.services.audit.chain import About, Event, enter_as, leaf_of, log_rows, next_number, taken_over
from spanwalk.services.clock import now
from spanwalk.storage.tables import Operation

AT_ONCE = 500


def rewrite(
    session: Session,
    site_id: str,
    changes: Mapping[str, Mapping[str, object]],
    what: str,
    person: str | None,
    more: Mapping[str, object] | None = None,
) -> None:
    """Change rows of the log, and enter it: from then on that entry vouches for them.

    Parameters
    ----------
    session : Session
        A writing transaction, in which the site is locked.
    site_id : str
        The site.
    changes : mapping of str to mapping
        By id of an operation: the columns that change, and their values.
    what : str
        What it is called in the audit.
    person : str or None
        Who does it.
    more : mapping, optional
        Further facts of the entry.
    """
    ids = list(changes)
    for start in range(0, len(ids), AT_ONCE):
        _rewrite_some(session, site_id, ids[start : start + AT_ONCE], changes, what, person, more)


def _rewrite_some(
    session: Session,
    site_id: str,
    ids: Sequence[str],
    changes: Mapping[str, Mapping[str, object]],
    what: str,
    person: str | None,
    more: Mapping[str, object] | None,
) -> None:
    found = {str(row["id"]): dict(row) for row in log_rows(session, site_id, ids)}
    ordered = [id for id in ids if id in found]
    if not ordered:
        return
    before: About = taken_over(found[id] for id in ordered)
    number, last = next_number(session, site_id)
    leaves = []
    for place, id in enumerate(ordered):
        values = {**changes[id], "entry": number, "place": place}
        leaves.append(leaf_of(found[id] | values))
        session.execute(update(Operation).where(Operation.site == site_id, Operation.id == id).values(**values))
    about = {**before, **(more or {}), "operations": len(ordered)}
    event = Event(what, person=person, sender=person, about=about, leaves=b"".join(leaves), at=now())
    enter_as(session, site_id, event, number, last)
