"""Photos and attachments of a copy of a site: their lines name nothing but themselves, and each file is looked at as a new one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from sqlalchemy.orm import Session

from spanwalk.services.attachments.attachments import ENDINGS, bring_attachment, media_of, name_kept
from spanwalk.services.photos.photos import SHA256, keep_photo, keeps_place
from spanwalk.services.photos.pictures import cleaned
from spanwalk.services.refusals import TooLarge, WrongInput
from spanwalk.storage.photos import PhotoStore

Line = dict[str, object]
"""A row of a table, or a line of a file, by column."""
PHOTOS_TOLD, ATTACHMENTS_TOLD = "photos.jsonl", "attachments.jsonl"
PHOTOS, ATTACHMENTS = "photos/", "attachments/"


def lines_of_files(name: str, lines: Iterator[Line], lengths: Mapping[str, int]) -> Iterator[Line]:
    """Lines of a copy, those of photos and attachments looked at: whoever made the zip may have put anything there.

    A line that named what another site keeps would hand that out with this one.

    Parameters
    ----------
    name : str
        Which file of the copy the lines are of.
    lines : iterator of dict
        Its lines.
    lengths : dict
        Length of each file of the copy by its name [bytes].

    Raises
    ------
    WrongInput
        A line names something else than its own file.
    """
    for number, line in enumerate(lines, 1):
        sha256 = line.get("sha256")
        if name in (PHOTOS_TOLD, ATTACHMENTS_TOLD) and not (isinstance(sha256, str) and SHA256.fullmatch(sha256)):
            raise WrongInput("copy.line-wrong", value=name, line=number)
        if name == ATTACHMENTS_TOLD and not _is_right(line, str(sha256), lengths.get(f"{ATTACHMENTS}{sha256}")):
            raise WrongInput("copy.line-wrong", value=name, line=number)
        yield line


def _is_right(line: Line, sha256: str, length: int | None) -> bool:
    """Whether an attachment's line says of it what it is; of one that the copy lacks no length is known."""
    kept = line["kept_as"] == name_kept(sha256) and line["media"] in ENDINGS
    return kept and (length is None or line["bytes"] == length)


def bring_photo(session: Session, store: PhotoStore, site_id: str, sha256: str, data: bytes) -> None:
    """Make a photo of the copy anew as one that a phone sends.

    Raises
    ------
    WrongInput
        It is none, or a weapon.
    """
    try:
        made = cleaned(data, keeps_place(session, site_id), patient=True)
    except (WrongInput, TooLarge) as wrong:
        raise WrongInput("copy.photo-wrong", value=sha256, why={"code": wrong.code, "facts": wrong.facts}) from None
    keep_photo(store, sha256, made)


def bring_file(store: PhotoStore, sha256: str, data: bytes, media: object) -> None:
    """Keep an attachment of the copy.

    Raises
    ------
    WrongInput
        It is not of the kind that its line says, or too large.
    """
    if media_of(data) != media:
        raise WrongInput("copy.file-differs", value=f"{ATTACHMENTS}{sha256}")
    bring_attachment(store, sha256, data)
