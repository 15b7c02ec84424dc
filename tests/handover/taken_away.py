"""A hand-over report as somebody has it made and takes it away; its readers are not ours: pdfium for pages, openpyxl for sheets."""

from __future__ import annotations

import time
from io import BytesIO
from typing import Any

import openpyxl
import pypdfium2
from tests.support.server import Client

Sheet = list[dict[str, Any]]
MADE_WITHIN_S = 120.0
LOOK_EACH_S = 0.05


def have_report(client: Client, site: str, form: str, money: str = "no") -> bytes:
    """A report (`pdf`, `xlsx`) that is made anew and taken away."""
    settled(client, f"/api/sites/{site}/handover/files", {"form": form, "money": money == "yes"})
    return bytes(client.get(f"/api/sites/{site}/handover.{form}?money={money}"))


def have_pack(client: Client, site: str, pack: str) -> bytes:
    """A proof pack that is made anew and taken away."""
    settled(client, f"/api/sites/{site}/proof/files", {"pack": pack})
    return bytes(client.get(f"/api/sites/{site}/proof.zip?pack={pack}"))


def settled(client: Client, path: str, body: dict[str, Any]) -> list[Any]:
    """Have a file made, and how files stand once none is being made."""
    status, told = client.call("POST", path, body)
    assert status == 200, told
    end = time.monotonic() + MADE_WITHIN_S
    while any(each["state"] == "making" for each in told["files"]):
        assert time.monotonic() < end, told
        time.sleep(LOOK_EACH_S)
        told = client.get(path)
    assert [each["why"] for each in told["files"] if each["state"] != "made"] == []
    return list(told["files"])


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
