"""Files beside a site's records (invoices, certificates): kept byte for byte as they were sent, handed out as downloads alone.

They lie in the store of photos under names of their own, sealed as photos are, so that backups and the doctor see to
them; nothing of them is ever opened, drawn or shown by the server.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable

from sqlalchemy import func, insert, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from spanwalk.config import ATTACHMENT_BYTES_MOST
from spanwalk.services.clock import now
from spanwalk.services.people.members import Member
from spanwalk.services.photos.kept import Kept, opened, sealed
from spanwalk.services.photos.photos import SHA256, Receipt
from spanwalk.services.refusals import NotThere, TooLarge, WrongInput
from spanwalk.services.sync.state import COLUMNS, view_record
from spanwalk.storage.database import reading, writing
from spanwalk.storage.photos import PhotoStore
from spanwalk.storage.tables import Attachment, Record, Site

ATTACHMENT = "attachment"
PDF, JPEG, PNG = "pdf", "jpeg", "png"
ENDINGS = {PDF: "pdf", JPEG: "jpg", PNG: "png"}
SITE_MOST, SITE_BYTES_MOST = 500, 1_000_000_000
"""Of one site: so many files, so many bytes together."""
HEAD_BYTES, TAIL_BYTES = 1024, 2048


def media_of(data: bytes) -> str | None:
    """What a file is by its first and last bytes: ``pdf``, ``jpeg``, ``png``; None for all else.

    >>> media_of(b"%PDF-1.7 ... %%EOF"), media_of(b"<html>"), media_of(b"")
    ('pdf', None, None)
    """
    if data.startswith(b"%PDF-") and b"%%EOF" in data[-TAIL_BYTES:]:
        return PDF
    if data.startswith(b"\xff\xd8\xff"):
        return JPEG
    return PNG if data.startswith(b"\x89PNG\r\n\x1a\n") else None


def _check_name(sha256: str) -> None:
    if SHA256.fullmatch(sha256) is None:
        raise WrongInput("attachment.name-wrong", field="sha256", value=sha256[:80])


def name_kept(sha256: str) -> str:
    """The name in the store: no photo has it, also where the same bytes came as one."""
    return hashlib.sha256(f"attachment\n{sha256}".encode()).hexdigest()


def put_attachment(store: PhotoStore, member: Member, sha256: str, data: bytes) -> Receipt:
    """Take a file in.

    Parameters
    ----------
    store : PhotoStore
        Where it is kept.
    member : Member
        Who sends it, on which site.
    sha256 : str
        Hash of the bytes.
    data : bytes
        A PDF, JPEG or PNG.

    Returns
    -------
    Receipt
        Given only when the bytes are safe; the same file again gets the same receipt.

    Raises
    ------
    WrongInput
        The bytes are not those of the hash, or of another kind.
    TooLarge
        Too many bytes, or the site has too many files.
    NotThere
        The site was deleted meanwhile.
    """
    _check_name(sha256)
    if len(data) > ATTACHMENT_BYTES_MOST:
        raise TooLarge("attachment.too-large", value=len(data), most=ATTACHMENT_BYTES_MOST)
    if hashlib.sha256(data).hexdigest() != sha256:
        raise WrongInput("attachment.hash-differs", field="sha256", value=sha256, bytes=len(data))
    media = media_of(data)
    if media is None:
        raise WrongInput("attachment.kind-wrong", value=len(data))
    with reading() as session:
        if arrived(session, member.site_id, sha256) and store.has(name_kept(sha256)):
            return Receipt(sha256, len(data), new=False)
        _must_have_room(session, member.site_id, len(data))
    store.put(name_kept(sha256), sealed(Kept(data)))
    _write_down(member, sha256, media, len(data))
    return Receipt(sha256, len(data), new=True)


def _must_have_room(session: Session, site_id: str, more: int) -> None:
    stored = session.execute(
        select(func.count(), func.coalesce(func.sum(Attachment.bytes), 0)).where(Attachment.site == site_id)
    ).one()
    if stored[0] >= SITE_MOST or int(stored[1]) + more > SITE_BYTES_MOST:
        raise TooLarge("attachment.too-many", value=stored[0], most=SITE_MOST)


def _write_down(member: Member, sha256: str, media: str, size: int) -> None:
    about = {"site": member.site_id, "sha256": sha256, "kept_as": name_kept(sha256), "media": media, "bytes": size}
    try:
        with writing() as session:
            _must_be_there(session, member.site_id)
            if not arrived(session, member.site_id, sha256):
                session.execute(insert(Attachment).values(**about, person=member.person_id, received_at=now()))
    except IntegrityError:
        return  # another request brought the same file in the same moment


def _must_be_there(session: Session, site_id: str) -> None:
    """Raise unless the site is there; a closed one takes letters about claims, and which files are such its records say."""
    if session.execute(select(Site.id).where(Site.id == site_id)).first() is None:
        raise NotThere("site-unknown")


def arrived(session: Session, site_id: str, sha256: str) -> bool:
    """Whether a site's attachment has arrived."""
    query = select(Attachment.sha256).where(Attachment.site == site_id, Attachment.sha256 == sha256)
    return session.execute(query).first() is not None


def attachments_arrived(session: Session, site_id: str) -> dict[str, str]:
    """Hash -> kind of file of every attachment of a site that has arrived."""
    rows = session.execute(select(Attachment.sha256, Attachment.media).where(Attachment.site == site_id))
    return {row.sha256: row.media for row in rows}


def get_attachment(store: PhotoStore, member: Member, sha256: str) -> tuple[bytes, str]:
    """A file as it was sent, and what kind it is.

    Raises
    ------
    WrongInput
        That is no name of a file.
    NotThere
        It has not arrived on this site, was removed there, or is damaged in the store.
    """
    _check_name(sha256)
    with reading() as session:
        media = attachments_arrived(session, member.site_id).get(sha256)
        gone = media is not None and _removed(session, member.site_id, sha256)
    if media is None or gone:
        raise NotThere("attachment.not-arrived", value=sha256)
    return kept_attachment(store, name_kept(sha256)), media


def _removed(session: Session, site_id: str, sha256: str) -> bool:
    """Whether every record of an attachment on a site was removed. One that no record has named yet was not."""
    query = select(*COLUMNS).where(Record.site == site_id, Record.type == ATTACHMENT, Record.facets.contains(sha256))
    named = [view_record(row) for row in session.execute(query)]
    return bool(named) and all(each["removed"] for each in named)


def kept_attachment(store: PhotoStore, name: str) -> bytes:
    """The bytes that are kept under a name.

    Raises
    ------
    NotThere
        They are not there, or are damaged.
    """
    stored = store.get(name)
    kept = None if stored is None else opened(stored)
    if kept is None:
        raise NotThere("attachment.not-arrived", value=name)
    return kept.picture


def bring_attachment(store: PhotoStore, sha256: str, data: bytes) -> None:
    """Keep a file of the copy of a site.

    Raises
    ------
    WrongInput
        It is of no kind that is taken, or too large.
    """
    if media_of(data) is None or len(data) > ATTACHMENT_BYTES_MOST:
        raise WrongInput("attachment.kind-wrong", value=len(data))
    store.put(name_kept(sha256), sealed(Kept(data)))


def kept_names(session: Session) -> Iterable[str]:
    """Under which names attachments of all sites are kept."""
    return session.execute(select(Attachment.kept_as)).scalars()
