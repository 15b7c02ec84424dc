"""A page of a PDF as a picture: a floor plan is mostly a PDF, and a phone carries no reader of them."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from pathlib import Path
from threading import BoundedSemaphore
from typing import TYPE_CHECKING

import orjson

from spanwalk.services.apart import done_apart
from spanwalk.services.refusals import TooLarge, Unavailable, WrongInput

if TYPE_CHECKING:  # the reader of PDFs is loaded by the process that draws, never by the server's own
    from spanwalk.services.photos.plan_drawing import Drawn

PDF_BYTES_MOST = 40_000_000
WAIT_S = 40
DRAWING, TOO_MUCH = "spanwalk.services.photos.plan_drawing", "floor-plan.too-much-inside"
AT_ONCE = 2
"""Drawings at a time in one process of the server; who comes then is told to try again."""
_free = BoundedSemaphore(AT_ONCE)


@dataclass(frozen=True)
class PlanPage:
    """A page that was drawn: the picture, a PNG, and how many pages the PDF has."""

    png: bytes
    pages: int


def plan_page(data: bytes, page: int) -> PlanPage:
    """Draw a page of a PDF, in a process that may die of it. Nothing of it is kept.

    Parameters
    ----------
    data : bytes
        The PDF.
    page : int
        Which page, from 1.

    Raises
    ------
    TooLarge
        More bytes than are taken.
    WrongInput
        It is no PDF, is locked or damaged, has no such page, or would take too long.
    Unavailable
        Others are being drawn.
    """
    if len(data) > PDF_BYTES_MOST:
        raise TooLarge("floor-plan.too-large", value=len(data), most=PDF_BYTES_MOST)
    if not _free.acquire(blocking=False):
        raise Unavailable("floor-plan.busy")
    try:
        return _drawn_apart(data, page)
    finally:
        _free.release()


def _drawn_apart(data: bytes, page: int) -> PlanPage:
    with tempfile.TemporaryDirectory(prefix="spanwalk-") as folder:
        pdf, png = Path(folder) / "plan.pdf", Path(folder) / "plan.png"
        pdf.write_bytes(data)
        arguments = (str(pdf), str(page), str(png))
        told: Drawn = orjson.loads(done_apart(DRAWING, *arguments, within_s=WAIT_S, too_much=TOO_MUCH))
        if "wrong" in told:
            raise WrongInput(told["wrong"], **told["facts"])
        return PlanPage(png.read_bytes(), told["pages"])
