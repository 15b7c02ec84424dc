"""A person who brings files to an installation, and tables made by writers that are not ours."""

from __future__ import annotations

import io
import time
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import xlsxwriter
from tests.support.installation import Installation

WAIT_S = 60
RESTING = ("asking", "ready", "done", "undone", "wrong", "cancelled")


def csv_text(rows: Sequence[Sequence[Any]], mark: str = ",") -> str:
    """Rows as CSV, written letter by letter: what holds the mark or quotes is quoted (RFC 4180)."""

    def cell(value: Any) -> str:
        text = "" if value is None else str(value)
        return '"' + text.replace('"', '""') + '"' if mark in text or '"' in text or "\n" in text else text

    return "\r\n".join(mark.join(cell(value) for value in row) for row in rows) + "\r\n"


def xlsx(rows: Sequence[Sequence[Any]], name: str = "Sheet1", **more: Sequence[Sequence[Any]]) -> bytes:
    """Rows as a workbook by XlsxWriter; the server reads with another library. `more` are further sheets."""
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True})
    for title, table in {name: rows, **more}.items():
        sheet = book.add_worksheet(title)
        for place, row in enumerate(table):
            sheet.write_row(place, 0, row)
    book.close()
    return out.getvalue()


@dataclass
class Bringer:
    """Brings files as one person."""

    here: Installation
    name: str = "manager"

    def begin(self, kind: str, data: bytes | str, name: str = "list.csv") -> Any:
        body = data.encode() if isinstance(data, str) else data
        return self.here.call(
            self.name,
            "POST",
            f"/api/sites/{{site}}/imports?kind={kind}&name={name}",
            data=body,
            content_type="application/octet-stream",
        )

    def bring(self, kind: str, data: bytes | str, name: str = "list.csv") -> dict[str, Any]:
        """Send a file and wait until it rests."""
        answer = self.begin(kind, data, name)
        assert answer.status_code == 201, answer.text
        return self.rest(answer.json["id"])

    def rest(self, job: str) -> dict[str, Any]:
        end = time.monotonic() + WAIT_S
        while (told := self.told(job))["state"] not in RESTING:
            assert time.monotonic() < end, told
            time.sleep(0.02)
        return told

    def told(self, job: str) -> dict[str, Any]:
        answer = self.here.call(self.name, "GET", f"/api/sites/{{site}}/imports/{job}")
        assert answer.status_code == 200, answer.text
        return answer.json

    def do(self, job: str, what: str, body: Any = None) -> dict[str, Any]:
        """Accept, cancel, undo or answer, and wait until it rests."""
        more = {} if body is None else {"json": body}
        answer = self.here.call(self.name, "POST", f"/api/sites/{{site}}/imports/{job}/{what}", **more)
        assert answer.status_code == 204, answer.text
        return self.rest(job)

    def take(self, kind: str, data: bytes | str) -> dict[str, Any]:
        """Bring a file and accept it."""
        told = self.bring(kind, data)
        assert told["state"] == "ready", told
        told = self.do(told["id"], "accept")
        assert told["state"] == "done", told
        return told

    def records(self, type_: str) -> list[dict[str, Any]]:
        """Live records of a type: id, parent, and facets by name."""
        found: list[dict[str, Any]] = []
        since = 0
        while True:
            told = self.here.pull("owner", f"since={since}&limit=5000")
            found += told["records"]
            if not told.get("more"):
                break
            since = max(each["seq"] for each in told["records"])
        newest = {each["id"]: each for each in found}
        return [
            {"id": each["id"], **{name: facet["value"] for name, facet in each["facets"].items()}}
            for each in newest.values()
            if each["type"] == type_ and not each["removed"]
        ]

    def head(self) -> int:
        return self.here.pull("owner", "since=0&limit=1")["head"]


def codes(told: dict[str, Any]) -> list[tuple[int, str, str]]:
    """Where something is wrong in a file, and what: row, column, code."""
    return [(each["row"], each["column"], each["code"]) for each in told["problems"]]
