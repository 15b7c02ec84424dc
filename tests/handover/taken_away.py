"""Readers of a hand-over report that are not ours: the text of a PDF by pdfium, the sheets of a workbook by openpyxl."""

from __future__ import annotations

from io import BytesIO
from typing import Any

import openpyxl
import pypdfium2

Sheet = list[dict[str, Any]]


def pages_of(data: bytes) -> list[str]:
    """The text of each page, every blank and line break as one blank."""
    document = pypdfium2.PdfDocument(data)
    try:
        return [" ".join(page.get_textpage().get_text_range().split()) for page in document]
    finally:
        document.close()


def text_of(data: bytes) -> str:
    """The text of all pages."""
    return " ".join(pages_of(data))


def sheet_of(data: bytes, title: str, first_head: str) -> Sheet:
    """The rows of a sheet by their heads, which stand in the first line that begins with `first_head`."""
    rows = list(openpyxl.load_workbook(BytesIO(data))[title].iter_rows(values_only=True))
    top = next(place for place, row in enumerate(rows) if row[0] == first_head)
    return [dict(zip(rows[top], row, strict=True)) for row in rows[top + 1 :]]  # type: ignore[arg-type]


def sheet_names(data: bytes) -> list[str]:
    """Titles of all sheets."""
    return list(openpyxl.load_workbook(BytesIO(data)).sheetnames)
