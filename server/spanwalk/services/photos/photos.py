"""Photos: named by the hash of what was sent, made anew on arrival, handed out without the place they were taken at."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass, replace

from sqlalchemy import insert, literal_column, select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from spanwalk import records
from spanwalk.rules.survey import facet
from spanwalk.services.clock import now
from spanwalk.services.people.members import Member
from spanwalk.services.photos.kept import Kept, is_as_sent, opened, sealed
from spanwalk.services.photos.pictures import Cleaned, cleaned
from spanwalk.services.refusals import InTheWay, NotThere, WrongInput
from spanwalk.services.sync.closed_sites import is_of_a_failure
from spanwalk.services.sync.state import COLUMNS, view_record
from spanwalk.storage.database import reading, writing
from spanwalk.storage.photos import PhotoStore, StoreFails
from spanwalk.storage.tables import Attachment, Photo, Record, Site

SHA256 = re.compile(r"[0-9a-f]{64}")
THUMBNAIL = ".thumbnail"


@dataclass(frozen=True)
class Receipt:
    """A photo that is safe on the server."""

    sha256: str
    bytes: int
    new: bool


def check_name(sha256: str) -> str:
    """Raise unless a name is a SHA-256 in lower-case hexadecimal."""
    if SHA256.fullmatch(sha256) is None:
        raise WrongInput("photo-name-wrong", field="sha256", value=sha256[:80])
    return sha256


def put_photo(store: PhotoStore, member: Member, sha256: str, data: bytes) -> Receipt:
    """Take a photo in.

    Parameters
    ----------
    store : PhotoStore
        Where photos lie.
    member : Member
        Who sends it, on which site.
    sha256 : str
        Hash of the bytes, as the phone made it at capture.
    data : bytes
        The photo, a JPEG.

    Returns
    -------
    Receipt
        Given only when the bytes are safe; the same photo again gets the same receipt.

    Raises
    ------
    WrongInput
        The bytes are not those of the hash (cut on the way: send again), or no JPEG that can be shown.
    TooLarge
        Too many bytes or pixels.
    InTheWay
        The site is archived; or a facility manager sends what is no failure's evidence, as far as has arrived.
    """
    check_name(sha256)
    if hashlib.sha256(data).hexdigest() != sha256:
        raise WrongInput("photo-hash-differs", field="sha256", value=sha256, bytes=len(data))
    with reading() as session:
        if arrived(session, member.site_id, sha256) and store.has(sha256):
            return Receipt(sha256, len(data), new=False)
        if member.role == records.FACILITY and not is_of_a_failure(session, member.site_id, sha256):
            raise InTheWay("photo-of-no-failure", role=records.FACILITY, value=sha256[:12])
        keeps = keeps_place(session, member.site_id)
    made = cleaned(data, keeps)
    keep_photo(store, sha256, made)
    _write_down(member, sha256, len(data), made)
    return Receipt(sha256, len(data), new=True)


def keep_photo(store: PhotoStore, sha256: str, made: Cleaned) -> None:
    """Put a photo that was made anew into the store; a place that another site keeps of it stays."""
    if not made.kept.place:
        stored = store.get(sha256)
        there = None if stored is None or is_as_sent(sha256, stored) else opened(stored)
        if there is not None and there.place:
            made = replace(made, kept=Kept(made.kept.picture, there.place))
    store.put(sha256, sealed(made.kept))
    with suppress(StoreFails):  # it can be made again
        store.put(sha256 + THUMBNAIL, sealed(made.thumbnail))


def take_out(store: PhotoStore, names: Iterable[str]) -> None:
    """Take the photos of a deleted site out of the store, thumbnails too, but for those that a site shows again by now."""
    for sha256 in names:
        with writing() as session:  # nobody writes a photo down meanwhile
            kept = select(Photo.sha256).where(Photo.sha256 == sha256)
            if (
                session.execute(kept.union(select(Attachment.kept_as).where(Attachment.kept_as == sha256))).first()
                is None
            ):
                store.drop(sha256)
                store.drop(sha256 + THUMBNAIL)


def _write_down(member: Member, sha256: str, size: int, picture: Cleaned) -> None:
    try:
        with writing() as session:
            must_be_in_work(session, member.site_id, sha256)
            if not arrived(session, member.site_id, sha256):
                values = {"bytes": size, "width_px": picture.width_px, "height_px": picture.height_px}
                about = {
                    "site": member.site_id,
                    "sha256": sha256,
                    "person": member.person_id,
                    "received_at": now(),
                }
                session.execute(insert(Photo).values(**about, **values))
    except IntegrityError:
        return  # another request brought the same photo in the same moment


def must_be_in_work(session: Session, site_id: str, sha256: str | None = None) -> None:
    """Raise unless a site is there and not archived, or the photo is of a failure, which a closed site still takes."""
    site = session.execute(select(Site.archived_at).where(Site.id == site_id)).one_or_none()
    if site is None:
        raise NotThere("site-unknown")
    is_taken = sha256 is not None and is_of_a_failure(session, site_id, sha256)
    if site.archived_at is not None and not is_taken:
        raise InTheWay("site-archived", archived_at=site.archived_at)


def arrived(session: Session, site_id: str, sha256: str) -> bool:
    """Whether a site's photo has arrived."""
    query = select(Photo.sha256).where(Photo.site == site_id, Photo.sha256 == sha256)
    return session.execute(query).first() is not None


def photos_arrived(session: Session, site_id: str) -> list[str]:
    """Hashes of all the photos of a site that have arrived."""
    return list(session.execute(select(Photo.sha256).where(Photo.site == site_id)).scalars())


def get_photo(store: PhotoStore, member: Member, sha256: str, small: bool = False) -> bytes:
    """A photo as it may be shown: without its place unless the site keeps that, or a thumbnail.

    Raises
    ------
    NotThere
        It has not arrived on this site, or was removed there; or it is of no failure, and a facility manager asks.
    """
    check_name(sha256)
    with reading() as session:
        is_read = member.role != records.FACILITY or is_of_a_failure(session, member.site_id, sha256)
        if not is_read or not arrived(session, member.site_id, sha256):
            raise NotThere("photo-not-arrived", value=sha256)
        if removed(session, member.site_id, sha256):
            raise NotThere("photo-removed", value=sha256)
        keeps = keeps_place(session, member.site_id)
    if small:
        return thumbnail(store, sha256)
    return kept_photo(store, sha256).shown(with_place=keeps)


def removed(session: Session, site_id: str, sha256: str) -> bool:
    """Whether every record of a photo on a site was removed. One that no record has named yet was not."""
    query = select(*COLUMNS).where(
        Record.site == site_id, Record.type == literal_column("'photo'"), Record.facets.contains(sha256)
    )
    states = [view_record(row) for row in session.execute(query)]
    named = [state["removed"] for state in states if facet(state, "identity").get("sha256") == sha256]
    return bool(named) and all(named)


def kept_photo(store: PhotoStore, sha256: str, patient: bool = False) -> Kept:
    """A photo of the store; one that still is what was sent, from before photos were made anew, is so now.

    Raises
    ------
    NotThere
        It is not in the store, or is damaged there.
    """
    data = store.get(sha256)
    if data is None:
        raise NotThere("photo-not-arrived", value=sha256)
    if is_as_sent(sha256, data):
        return make_anew(store, sha256, data, patient).kept
    kept = opened(data)
    if kept is None:
        raise NotThere("photo-damaged", value=sha256)
    return kept


def make_anew(store: PhotoStore, sha256: str, data: bytes, patient: bool = False) -> Cleaned:
    """Put a photo that was kept as it was sent into the store as one made anew.

    Its place stays with it if a site that shows it keeps places now.
    """
    with reading() as session:
        sites = session.execute(select(Photo.site).where(Photo.sha256 == sha256)).scalars().all()
        keeps = any(keeps_place(session, site) for site in sites)
    made = cleaned(data, keeps, patient)
    keep_photo(store, sha256, made)
    return made


def thumbnail(store: PhotoStore, sha256: str) -> bytes:
    """The small picture of a photo that has arrived; made again where it is not kept.

    Raises
    ------
    NotThere
        The photo is not in the store, or is damaged there.
    """
    stored = store.get(sha256 + THUMBNAIL)
    small = None if stored is None else opened(stored)
    if small is not None:
        return small.picture
    data = store.get(sha256)
    if data is None:
        raise NotThere("photo-not-arrived", value=sha256)
    if is_as_sent(sha256, data):
        return make_anew(store, sha256, data).thumbnail.picture
    small = cleaned(kept_photo(store, sha256).picture, keep_place=False).thumbnail
    with suppress(StoreFails):  # it can be made again
        store.put(sha256 + THUMBNAIL, sealed(small))
    return small.picture


def keeps_place(session: Session, site_id: str) -> bool:
    """Whether a site's settings keep the place data of photos."""
    row = session.execute(select(Record).where(Record.site == site_id, Record.id == site_id)).scalar_one_or_none()
    settings = facet(view_record(row), "settings") if row is not None else {}
    return settings.get("keep_photo_place") is True
