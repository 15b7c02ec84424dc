"""Which file of the hand-over somebody wants, and the newest row that is just that."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import ColumnElement, and_, select
from sqlalchemy.orm import Session

from spanwalk.records import readable_types
from spanwalk.services.background.making import Sort
from spanwalk.services.handover.gathering import SUMS
from spanwalk.services.people.members import Member
from spanwalk.services.proof.packs import PACKS
from spanwalk.storage.tables import HandoverFile

FILES = Sort(HandoverFile, "handover")
PDF, WORKBOOK = "pdf", "xlsx"
REPORTS = (PDF, WORKBOOK)
ALL_PACKS = "all"
WHICH_PACK = (ALL_PACKS, *PACKS)
OTHER_ROLE = "crew"
"""A role that does not read sums; a manager's copy is `SUM_ROLE`'s."""
SUM_ROLE = "owner"


@dataclass(frozen=True)
class Wanted:
    """What somebody wants: a report's form or the name of a pack, whether money is in it, and who reads it in which language."""

    what: str
    with_sums: bool
    with_money: bool
    language: str

    @property
    def role(self) -> str:
        """A role that reads what this reader does."""
        return SUM_ROLE if self.with_sums else OTHER_ROLE

    def where(self, site_id: str) -> ColumnElement[bool]:
        """The rows of a site that are just this."""
        return and_(
            HandoverFile.site == site_id,
            HandoverFile.what == self.what,
            HandoverFile.with_sums == self.with_sums,
            HandoverFile.with_money == self.with_money,
            HandoverFile.language == self.language,
        )


def wanted_by(member: Member, what: str, with_money: bool, language: str) -> Wanted:
    """What a member wants, by what their role reads: money only where it reads the sums of releases."""
    with_sums = SUMS in readable_types(member.reads_as)
    return Wanted(what, with_sums, with_money and with_sums, language)


def newest_file(session: Session, where: ColumnElement[bool], state: str | None = None) -> HandoverFile | None:
    """The newest row of just what is wanted; of a state, where one is named."""
    query = select(HandoverFile).where(where)
    if state is not None:
        query = query.where(HandoverFile.state == state)
    newest_first = query.order_by(HandoverFile.made_at.desc(), HandoverFile.id)
    row: HandoverFile | None = session.execute(newest_first.limit(1)).scalars().first()
    return row
