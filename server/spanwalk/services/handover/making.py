"""Making a hand-over report: one at a time in a process of the server, so that memory stays bounded; others wait their turn."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from threading import BoundedSemaphore

from spanwalk.rules.acceptance import acceptances, bytes_of, lines_signed
from spanwalk.rules.survey import Survey
from spanwalk.services.handover.gathering import report_of
from spanwalk.services.handover.pages import report_pdf
from spanwalk.services.handover.progress import told_steps
from spanwalk.services.handover.told import Report
from spanwalk.services.handover.workbook import report_workbook
from spanwalk.services.people.members import Member
from spanwalk.services.refusals import NotThere, Unavailable
from spanwalk.services.sync.state import site_records
from spanwalk.storage.database import reading
from spanwalk.storage.photos import PhotoStore

WAITING_MOST = 2
"""So many wait while one is made; who comes then is told to come again, so that other requests find a thread."""
WAIT_S = 90
_places = BoundedSemaphore(1 + WAITING_MOST)
_working = BoundedSemaphore(1)


def made_pdf(member: Member, with_money: bool, store: PhotoStore, asked: str = "") -> bytes:
    """The report of a member's site as a PDF: see `report_of` for what is told to whom.

    `asked` is a word under which its progress can be asked for meanwhile.

    Raises
    ------
    NotThere
        Nothing has been released.
    Unavailable
        Others are being made.
    """
    with turn(), told_steps(member.site_id, asked) as step:
        return report_pdf(_report(member, with_money), store, step)


def made_workbook(member: Member, with_money: bool, asked: str = "") -> bytes:
    """The same as a workbook."""
    with turn(), told_steps(member.site_id, asked) as step:
        return report_workbook(_report(member, with_money), step)


def told(member: Member) -> Report:
    """What the report would tell now, for the screen."""
    return _report(member, with_money=False)


def text_signed(member: Member, acceptance_id: str) -> bytes:
    """What a signature was put to, byte for byte.

    Raises
    ------
    NotThere
        No such signature on this site.
    """
    with reading() as session:
        survey = Survey(site_records(session, member.site_id, types=("site", "acceptance")))
    found = [each for each in acceptances(survey) if each["id"] == acceptance_id]
    if not found:
        raise NotThere("handover.no-signature", value=acceptance_id)
    return bytes_of(lines_signed(found[0]))


def _report(member: Member, with_money: bool) -> Report:
    with reading() as session:
        return report_of(session, member.site_id, member.reads_as, with_money)


@contextmanager
def turn() -> Iterator[None]:
    """One at a time; who comes when enough wait is told to come again."""
    if not _places.acquire(blocking=False):
        raise Unavailable("handover.busy")
    try:
        if not _working.acquire(timeout=WAIT_S):
            raise Unavailable("handover.busy")
        try:
            yield
        finally:
            _working.release()
    finally:
        _places.release()


__all__ = ["made_pdf", "made_workbook", "text_signed", "told", "turn"]
