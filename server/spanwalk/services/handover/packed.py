"""Many small objects packed into a PDF's object streams, as PDF 1.5 has them (ISO 32000-1, 7.5.7 and 7.5.8; read).

The library writes each object by itself and a table of where it lies; a tag for each cell of a long table would make the
file half as large again. What the library wrote stays byte for byte; only its table is written anew, as a stream.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator, Mapping, Sequence

from reportlab.pdfbase.pdfdoc import PDFDocument

AT_ONCE = 2000
"""Objects in one stream."""
FREE, PLAIN, PACKED = 0, 1, 2
OFFSET_BYTES, PLACE_BYTES = 4, 2
TRAILER = re.compile(rb"trailer\s*<<(.*?)>>\s*startxref\s*(\d+)\s*%%EOF\s*$", re.DOTALL)
KEPT = re.compile(rb"/(?:Root|Info) \d+ 0 R|/ID\s*\[.*?\]", re.DOTALL)
Entry = tuple[int, int, int]


def with_packed(document: PDFDocument, data: bytes, objects: Mapping[int, bytes]) -> bytes:
    """A file with more objects, packed.

    Parameters
    ----------
    document : PDFDocument
        What the library has just written.
    data : bytes
        Its file.
    objects : dict
        The other objects by their numbers, which the library uses for none.

    Raises
    ------
    ValueError
        The library wrote its end otherwise than it does.
    """
    end = TRAILER.search(data[-4096:])
    if end is None:
        raise ValueError("the end of the file is not as the library writes it")
    out = bytearray(data[: int(end[2])])
    entries: dict[int, Entry] = {0: (FREE, 0, 0)}
    for name, (number, _) in document.idToObjectNumberAndVersion.items():
        entries[number] = (PLAIN, document.idToOffset[name], 0)
    streams = max([*entries, *objects]) + 1
    for stream, some in enumerate(_slices(sorted(objects)), streams):
        entries[stream] = (PLAIN, len(out), 0)
        out += _object_stream(stream, [(number, objects[number]) for number in some])
        entries |= {number: (PACKED, stream, place) for place, number in enumerate(some)}
    table = max(entries) + 1
    entries[table] = (PLAIN, len(out), 0)
    at = len(out)
    out += _table(table, entries, b"".join(KEPT.findall(end[1])))
    return bytes(out + b"startxref\n%d\n%%%%EOF\n" % at)


def _slices(numbers: Sequence[int]) -> Iterator[Sequence[int]]:
    return (numbers[start : start + AT_ONCE] for start in range(0, len(numbers), AT_ONCE))


def _stream(number: int, about: bytes, data: bytes) -> bytes:
    packed = zlib.compress(data)
    return b"%d 0 obj\n<<%s/Filter/FlateDecode/Length %d>>\nstream\n%s\nendstream\nendobj\n" % (
        number, about, len(packed), packed,
    )  # fmt: skip


def _object_stream(stream: int, objects: Sequence[tuple[int, bytes]]) -> bytes:
    heads, bodies, at = [], [], 0
    for number, body in objects:
        heads.append(b"%d %d" % (number, at))
        bodies.append(body)
        at += len(body) + 1
    head = b" ".join(heads) + b"\n"
    about = b"/Type/ObjStm/N %d/First %d" % (len(objects), len(head))
    return _stream(stream, about, head + b"\n".join(bodies))


def _table(number: int, entries: Mapping[int, Entry], kept: bytes) -> bytes:
    """Where each object lies: in runs of numbers that follow each other."""
    runs: list[list[int]] = []
    rows = []
    for each in sorted(entries):
        if runs and each == sum(runs[-1]):
            runs[-1][1] += 1
        else:
            runs.append([each, 1])
        sort, where, place = entries[each]
        rows.append(sort.to_bytes(1) + where.to_bytes(OFFSET_BYTES) + place.to_bytes(PLACE_BYTES))
    index = " ".join(f"{first} {count}" for first, count in runs).encode()
    about = b"/Type/XRef/W[1 %d %d]/Index[%s]/Size %d%s" % (OFFSET_BYTES, PLACE_BYTES, index, max(entries) + 1, kept)
    return _stream(number, about, b"".join(rows))


__all__ = ["with_packed"]
