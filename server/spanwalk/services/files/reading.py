"""Read a CSV or XLSX file in a process of its own, with little memory and time: what it holds is nobody's friend yet.

`python -m spanwalk.services.files.reading FILE` writes one JSON object (`cells.FileRead`) to its output.
"""

from __future__ import annotations

import csv
import io
import json
import re
import resource
import sys
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime, time
from pathlib import Path
from typing import Protocol, cast

from spanwalk.rules.said import Said
from spanwalk.services.files.cells import Cell, FileRead, SheetRead, is_empty
from spanwalk.services.text.neutral import as_it_was

ROWS_MOST = 25_000
"""Rows of one sheet, heads included; rooms of a building, not of a town."""
COLUMNS_MOST = 200
LETTERS_MOST = 4000
PARTS_MOST = 2000
UNZIPPED_MOST = 200_000_000
"""Bytes that the parts of a workbook may unzip to: 20,000 rows of 20 columns are some 30 MB."""
MEMORY_BYTES, PROCESSOR_S = 900_000_000, 60
DELIMITERS = (",", ";", "\t", "|")
LOOKED_AT_ROWS = 30
OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
"""How a workbook begins that is encrypted, or of the form before 2007 (MS-CFB 2.2, header signature)."""
ZIP = b"PK\x03\x04"


class FileWrong(Exception):
    """A file that cannot be read: code and facts of the sentence."""

    def __init__(self, code: str, **facts: object) -> None:
        super().__init__(code)
        self.code, self.facts = code, facts


def read_file(path: Path) -> FileRead:
    """Read a file, by what it is and not by what it is called.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    FileRead
        Its sheets, or what is wrong with it.
    """
    try:
        return _read(path.read_bytes())
    except FileWrong as wrong:
        return {"wrong": wrong.code, "facts": wrong.facts}
    except MemoryError:
        return {"wrong": "files.too-much-inside", "facts": {}}


def _read(data: bytes) -> FileRead:
    if not data.strip():
        raise FileWrong("files.empty")
    if data.startswith(OLE):
        raise FileWrong("files.locked")
    if data.startswith(ZIP):
        return _read_workbook(data)
    return _read_text(data)


# -- text


def _read_text(data: bytes) -> FileRead:
    text, notes = _decoded(data)
    if "\0" in text:
        raise FileWrong("files.not-a-table")
    delimiter = _delimiter(text)
    rows: list[list[Cell]] = []
    try:
        for row in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter):
            rows.append([_short(as_it_was(cell)) for cell in row])
            _check_size(len(rows), len(row))
    except csv.Error:
        raise FileWrong("files.not-a-table") from None
    return {"sheets": [_sheet("", rows, [])], "notes": notes}


def _decoded(data: bytes) -> tuple[str, list[Said]]:
    """Text by its mark, else by its NULs, else UTF-8, else Windows-1252, and then it is said."""
    for mark, encoding in ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if data.startswith(mark):
            return _strictly(data, encoding), []
    zeros = [data[place:2000:2].count(0) for place in (0, 1)]
    if sum(zeros) > len(data[:2000]) // 5:
        return _strictly(data, "utf-16-be" if zeros[0] > zeros[1] else "utf-16-le"), []
    try:
        return data.decode("utf-8"), []
    except UnicodeDecodeError as wrong:
        text = data.decode("cp1252", errors="replace")
        sample = text[max(0, wrong.start - 12) : wrong.start + 12].strip()
        return text, [{"code": "files.read-as-1252", "facts": {"value": sample}}]


def _strictly(data: bytes, encoding: str) -> str:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError:
        raise FileWrong("files.not-a-table") from None


def _delimiter(text: str) -> str:
    """What parts the cells: the mark by which most of the first rows have equally many cells, more than one."""
    found = [(_evenness(text, mark), -place, mark) for place, mark in enumerate(DELIMITERS)]
    return max(found)[2]


def _evenness(text: str, mark: str) -> tuple[int, int]:
    rows: list[int] = []
    try:
        for row in csv.reader(io.StringIO(text[:200_000], newline=""), delimiter=mark):
            if row and len(rows) < LOOKED_AT_ROWS:
                rows.append(len(row))
    except csv.Error:
        return (0, 0)
    wide = [width for width in rows if width > 1]
    usual = max(set(wide), key=wide.count) if wide else 0
    return (wide.count(usual), usual) if wide else (0, 0)


# -- workbooks


class _StreamedCell(Protocol):
    """What is read of a cell; the library's own types leave its streamed sheets out."""

    @property
    def value(self) -> object: ...
    @property
    def data_type(self) -> str: ...


class _Streamed(Protocol):
    """What is read of a sheet that is read as a stream."""

    @property
    def title(self) -> str: ...
    @property
    def _worksheet_path(self) -> str: ...
    def reset_dimensions(self) -> None: ...
    def iter_rows(self, *, max_col: int) -> Iterable[Sequence[_StreamedCell]]: ...


def _read_workbook(data: bytes) -> FileRead:
    names = _look_inside(data)
    if not any(name.endswith("workbook.xml") for name in names):
        raise FileWrong("files.not-a-workbook")
    from openpyxl import load_workbook

    try:
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=False, keep_links=False)
        sheets = [
            _read_sheet(data, cast("_Streamed", each)) for each in book.worksheets if each.sheet_state == "visible"
        ]
    except (FileWrong, MemoryError):
        raise
    except Exception:  # whatever a damaged workbook makes the library stumble over
        raise FileWrong("files.damaged") from None
    hidden = [each.title for each in book.worksheets if each.sheet_state != "visible"]
    notes: list[Said] = [{"code": "files.hidden-sheets", "facts": {"names": hidden}}] if hidden else []
    return {"sheets": [each for each in sheets if each["rows"]], "notes": notes}


def _look_inside(data: bytes) -> list[str]:
    """The parts of a zip, by its directory: not too many, not too large, none locked."""
    try:
        parts = zipfile.ZipFile(io.BytesIO(data)).infolist()
    except zipfile.BadZipFile:
        raise FileWrong("files.damaged") from None
    if len(parts) > PARTS_MOST or sum(part.file_size for part in parts) > UNZIPPED_MOST:
        raise FileWrong("files.too-much-inside")
    if any(part.flag_bits & 1 for part in parts):
        raise FileWrong("files.locked")
    return [part.filename for part in parts]


def _read_sheet(data: bytes, sheet: _Streamed) -> SheetRead:
    sheet.reset_dimensions()  # what a file says of its own size is not believed: rows below it would be dropped
    rows: list[list[Cell]] = []
    for row in sheet.iter_rows(max_col=COLUMNS_MOST + 1):
        rows.append([_cell(cell) for cell in row])
        _check_size(len(rows), 0 if len(row) <= COLUMNS_MOST or is_empty(rows[-1][-1]) else len(row))
    return _sheet(sheet.title, rows, _merged(data, sheet))


def _cell(cell: _StreamedCell) -> Cell:
    value = cell.value
    if value is None:
        return None
    if cell.data_type == "f":
        return {"formula": str(value)[:60]}
    if cell.data_type == "e":
        return {"error": str(value)[:20]}
    if isinstance(value, (datetime, date, time)):
        return {"date": value.date().isoformat() if isinstance(value, datetime) else value.isoformat()}
    if isinstance(value, (bool, int, float)):
        return value
    return _short(str(value))


def _merged(data: bytes, sheet: _Streamed) -> list[list[int]]:
    """Merged ranges, which the streaming reader does not tell: read where they stand, behind the rows."""
    path = str(sheet._worksheet_path).lstrip("/")
    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        text = parts.read(path)
    start = text.rfind(b"</sheetData>")
    return [
        _range(found.decode()) for found in re.findall(rb'mergeCell [^>]*?ref="([A-Z]+\d+:[A-Z]+\d+)"', text[start:])
    ]


def _range(told: str) -> list[int]:
    numbers: list[int] = []
    for letters, row in re.findall(r"([A-Z]+)(\d+)", told):
        column = 0
        for letter in letters:
            column = column * 26 + ord(letter) - ord("A") + 1
        numbers += [int(row) - 1, column - 1]
    return numbers


# -- both


def _short(text: str) -> Cell:
    if len(text) > LETTERS_MOST:
        return text[:LETTERS_MOST] + "…"
    return text or None


def _check_size(rows: int, columns: int) -> None:
    if rows > ROWS_MOST:
        raise FileWrong("files.too-many-rows", most=ROWS_MOST)
    if columns > COLUMNS_MOST:
        raise FileWrong("files.too-many-columns", row=rows, most=COLUMNS_MOST)


def _sheet(name: str, rows: list[list[Cell]], merged: list[list[int]]) -> SheetRead:
    """A sheet without what is empty at its foot and at the end of its rows."""
    trimmed = [list(_trimmed(row)) for row in rows]
    while trimmed and not trimmed[-1]:
        trimmed.pop()
    return {"name": name, "rows": trimmed, "merged": merged}


def _trimmed(row: list[Cell]) -> Iterator[Cell]:
    last = max((place for place, cell in enumerate(row) if not is_empty(cell)), default=-1)
    return iter(row[: last + 1])


def main(arguments: list[str]) -> int:
    """Read the file that is named, within limits, and write what it holds."""
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (PROCESSOR_S, PROCESSOR_S))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    json.dump(read_file(Path(arguments[0])), sys.stdout, ensure_ascii=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
