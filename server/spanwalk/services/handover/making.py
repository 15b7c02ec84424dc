"""What a hand-over report would tell now, and what a signature was put to; the files themselves: `handover_files`."""

from __future__ import annotations

from spanwalk.rules.installing.acceptance import acceptances, bytes_of, lines_signed
from spanwalk.rules.survey import Survey
from spanwalk.services.handover.in_short import InShort, in_short
from spanwalk.services.people.members import Member
from spanwalk.services.refusals import NotThere
from spanwalk.services.sync.state import site_records
from spanwalk.storage.database import reading


def told(member: Member) -> InShort:
    """What the report would tell now, for the screen."""
    with reading() as session:
        return in_short(session, member.site_id)


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


__all__ = ["text_signed", "told"]
