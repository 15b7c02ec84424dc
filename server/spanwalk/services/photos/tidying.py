"""Make photos of before anew: those kept as they were sent, and places that no site keeps any more."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from sqlalchemy import select

from spanwalk.services.photos.kept import Kept, is_as_sent, opened, sealed
from spanwalk.services.photos.photos import keeps_place, make_anew
from spanwalk.services.refusals import TooLarge, Unavailable, WrongInput
from spanwalk.storage.database import reading
from spanwalk.storage.photos import PhotoStore
from spanwalk.storage.tables import Photo


@dataclass(frozen=True)
class Tidied:
    """What came of the photos: how many were looked at, made anew, had a place taken out; and those that cannot be."""

    photos: int = 0
    made_anew: int = 0
    places_out: int = 0
    left: tuple[str, ...] = ()


def tidy(store: PhotoStore) -> Tidied:
    """Look at every photo that has arrived, while the server may run.

    One that cannot be made anew (it would be refused today) stays as it is, is never handed out, and is named.
    """
    told = Tidied()
    for sha256, keeps in _arrived():
        told = replace(told, photos=told.photos + 1)
        data = store.get(sha256)
        if data is None:
            continue  # the doctor says so
        if is_as_sent(sha256, data):
            told = _anew(store, sha256, data, told)
        elif (kept := opened(data)) is not None and kept.place and not keeps:
            store.put(sha256, sealed(Kept(kept.picture)))
            told = replace(told, places_out=told.places_out + 1)
    return told


def _anew(store: PhotoStore, sha256: str, data: bytes, told: Tidied) -> Tidied:
    try:
        make_anew(store, sha256, data, patient=True)
    except (WrongInput, TooLarge, Unavailable):
        return replace(told, left=(*told.left, sha256))
    return replace(told, made_anew=told.made_anew + 1)


def _arrived() -> Iterator[tuple[str, bool]]:
    """Each photo once, and whether a site that shows it keeps places."""
    with reading() as session:
        rows = session.execute(select(Photo.sha256, Photo.site).order_by(Photo.sha256)).all()
        keeping = {site for site in {row.site for row in rows} if keeps_place(session, site)}
    sites: dict[str, set[str]] = {}
    for row in rows:
        sites.setdefault(row.sha256, set()).add(row.site)
    for sha256, showing in sites.items():
        yield sha256, bool(showing & keeping)
