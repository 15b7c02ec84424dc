"""Draw one page of a PDF in a process of its own, with little memory and time: what it holds is nobody's friend yet.

`python -m spanwalk.services.photos.plan_drawing PDF PAGE PNG` writes the picture to PNG and one JSON object (`Drawn`) to
its output.
"""

from __future__ import annotations

import json
import resource
import sys
from pathlib import Path
from typing import NotRequired, TypedDict

import pypdfium2

LONGEST_SIDE_PX = 3200
"""A0 at some 70 dots an inch, A3 at 190: a room's number on a floor plan can be read."""
SCALE_MOST = 8.0
"""A page of a stamp's size is not drawn larger than this many dots for each 1/72 in."""
PAGES_MOST = 2000
MEMORY_BYTES, PROCESSOR_S = 1_200_000_000, 25
PDF_BEGINS_WITHIN_BYTES = 1024
"""A reader takes the header within the first 1,024 bytes (ISO 32000-1:2008, Annex H.3 implementation note 13, from memory)."""


class Drawn(TypedDict):
    """What came of a page: its size [px] and how many pages there are, or what is wrong."""

    pages: NotRequired[int]
    width_px: NotRequired[int]
    height_px: NotRequired[int]
    wrong: NotRequired[str]
    facts: NotRequired[dict[str, object]]


def scale_of(width_pt: float, height_pt: float) -> float:
    """Dots for each point [1/72 in] so that the longer side becomes `LONGEST_SIDE_PX`.

    >>> round(scale_of(1190.55, 841.89), 3)  # A3, 420 x 297 mm
    2.688
    """
    return min(SCALE_MOST, LONGEST_SIDE_PX / max(width_pt, height_pt, 1.0))


def draw(data: bytes, page: int, out: Path) -> Drawn:
    """Draw a page as PNG.

    Parameters
    ----------
    data : bytes
        The PDF.
    page : int
        Which page, from 1.
    out : Path
        Where the picture goes.

    Returns
    -------
    Drawn
        Its size and how many pages there are, or what is wrong.
    """
    if b"%PDF-" not in data[:PDF_BEGINS_WITHIN_BYTES]:
        return {"wrong": "floor-plan.not-a-pdf", "facts": {}}
    try:
        return _draw(data, page, out)
    except pypdfium2.PdfiumError as error:
        locked = "password" in str(error).lower()
        return {"wrong": "floor-plan.locked" if locked else "floor-plan.damaged", "facts": {}}
    except MemoryError:
        return {"wrong": "floor-plan.too-much-inside", "facts": {}}


def _draw(data: bytes, page: int, out: Path) -> Drawn:
    document = pypdfium2.PdfDocument(data)
    pages = len(document)
    if not 1 <= page <= min(pages, PAGES_MOST):
        return {"wrong": "floor-plan.page-none", "facts": {"value": page, "most": min(pages, PAGES_MOST)}}
    drawn = document[page - 1].render(scale=scale_of(*document[page - 1].get_size())).to_pil().convert("RGB")
    drawn.save(out, "PNG")
    return {"pages": pages, "width_px": drawn.width, "height_px": drawn.height}


def main(arguments: list[str]) -> int:
    """Draw the page that is named, within limits."""
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (PROCESSOR_S, PROCESSOR_S))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    pdf, page, out = arguments
    json.dump(draw(Path(pdf).read_bytes(), int(page), Path(out)), sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
