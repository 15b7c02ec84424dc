"""The parts of a JPEG, by its marks alone and before anything is decoded: how large, how many scans, is all of it there.

Marks and segments: ITU-T T.81 (1992), Annex B; restart intervals and the order of data units: A.2 (from memory).
"""

from __future__ import annotations

import re
import struct
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from spanwalk.config import PHOTO_PIXELS_MOST

SIDE_PX_MOST = 20_000
SCANS_MOST = 40
"""An ordinary progressive file has about 10; each scan more is a whole pass over the picture."""
SEGMENTS_MOST = 2000
SOI, EOI, SOS, DQT, DHT, DRI, APP1, APP2, APP14 = 0xD8, 0xD9, 0xDA, 0xDB, 0xC4, 0xDD, 0xE1, 0xE2, 0xEE
FRAMES = frozenset(range(0xC0, 0xD0)) - {DHT, 0xC8, 0xCC}
TAKEN_FRAMES = frozenset({0xC0, 0xC1, 0xC2})
"""Baseline, extended sequential, progressive; all with Huffman codes."""
PROGRESSIVE = 0xC2
DECODED_BY = frozenset({DQT, DHT, DRI, SOS, APP14, *TAKEN_FRAMES})
"""Segments that say how to decode; the rest is never shown to the decoder."""
EXIF, ICC = b"Exif\0\0", b"ICC_PROFILE\0"
ICC_BYTES_MOST = 1_000_000
END_OF_SCAN = re.compile(rb"\xff+[^\x00\xd0-\xd7\xff]")
RESTART = re.compile(rb"\xff+[\xd0-\xd7]")


class NotTaken(Exception):
    """A JPEG that is not taken: code and facts of the sentence."""

    def __init__(self, code: str, **facts: object) -> None:
        super().__init__(code)
        self.code = code
        self.facts = facts


class NotWhole(NotTaken):
    """It ends too early, or is damaged."""

    def __init__(self) -> None:
        super().__init__("photo-cut-short")


@dataclass(frozen=True)
class Component:
    """A colour of the frame: how many data units of it lie beside and above each other in one coded unit."""

    id: int
    across: int
    down: int


@dataclass
class Frame:
    """What the frame header says."""

    kind: int
    width_px: int
    height_px: int
    components: tuple[Component, ...]

    def units_of_scan(self, which: bytes) -> tuple[int, int]:
        """Coded units (MCU) of a scan over these components, and data units of 8 × 8 in each."""
        most_across = max(each.across for each in self.components)
        most_down = max(each.down for each in self.components)
        chosen = [each for each in self.components if each.id in which]
        if len(chosen) != len(which):
            raise NotWhole
        if len(chosen) > 1:
            across, down = 8 * most_across, 8 * most_down
            return _up(self.width_px, across) * _up(self.height_px, down), sum(c.across * c.down for c in chosen)
        (one,) = chosen
        columns = _up(_up(self.width_px * one.across, most_across), 8)
        rows = _up(_up(self.height_px * one.down, most_down), 8)
        return columns * rows, 1


class Piece(NamedTuple):
    """A segment, or the coded data of a scan."""

    data: bytes
    coded: bool = False


@dataclass
class Parts:
    """A JPEG taken apart.

    Parameters
    ----------
    frame : Frame
        Its size and colours.
    scans : int
        Passes over the picture.
    pieces : list of Piece
        What decodes it, in order: segments, and after each header of a scan its coded data.
    exif : bytes or None
        The first Exif segment's body.
    icc : bytes
        Its colour profile, put together; empty where it has none.
    """

    frame: Frame
    scans: int = 0
    pieces: list[Piece] = field(default_factory=list)
    exif: bytes | None = None
    icc: bytes = b""

    def decoded_by(self, filler: bytes = b"") -> bytes:
        """A JPEG of nothing but what decodes it; `filler` stands behind the coded data of each scan."""
        pieces = (each.data + filler if each.coded else each.data for each in self.pieces)
        return b"\xff\xd8" + b"".join(pieces) + b"\xff\xd9"


def _up(value: int, by: int) -> int:
    return -(-value // by)


def take_apart(data: bytes) -> Parts:
    """Walk the marks of a JPEG.

    Parameters
    ----------
    data : bytes
        What was sent; it begins as a JPEG does.

    Raises
    ------
    NotWhole
        It ends before its end mark, or holds less coded data than its size needs at the very least.
    NotTaken
        Too many pixels or scans, or a kind of JPEG that cameras and browsers do not make.
    """
    frame: Frame | None = None
    parts: Parts | None = None
    pieces: list[Piece] = []
    exif: bytes | None = None
    profile: dict[int, bytes] = {}
    restart_every = 0
    for marker, at, end in _segments(data):
        body = data[at + 4 : end]
        if marker in FRAMES:
            if frame is not None or marker not in TAKEN_FRAMES:
                raise NotTaken("photo-kind-unknown")
            frame = _frame(marker, body)
            parts = Parts(frame, pieces=pieces)
        elif marker == DRI and len(body) >= 2:
            restart_every = int.from_bytes(body[:2], "big")
        elif marker == APP1 and exif is None and body.startswith(EXIF):
            exif = body[len(EXIF) :]
        elif marker == APP2 and body.startswith(ICC) and len(body) > len(ICC) + 2:
            profile.setdefault(body[len(ICC)], body[len(ICC) + 2 :])
        if marker in DECODED_BY:
            pieces.append(Piece(data[at:end]))
        if marker == SOS:
            if parts is None:
                raise NotWhole
            _take_scan(parts, data, body, end, restart_every)
    if parts is None or not parts.scans:
        raise NotWhole
    parts.exif = exif
    parts.icc = b"".join(profile[number] for number in sorted(profile))[:ICC_BYTES_MOST]
    return parts


def _segments(data: bytes) -> Iterator[tuple[int, int, int]]:
    """Marker, first byte and end of each segment up to the end mark; coded data is stepped over."""
    at, count = 2, 0
    while True:
        while data[at : at + 2] == b"\xff\xff":  # fill bytes
            at += 1
        if at + 2 > len(data) or data[at] != 0xFF:
            raise NotWhole
        marker = data[at + 1]
        if marker == EOI:
            return
        count += 1
        if count > SEGMENTS_MOST:
            raise NotTaken("photo-too-much-inside")
        length = int.from_bytes(data[at + 2 : at + 4], "big")
        end = at + 2 + length
        if length < 2 or end > len(data) or marker in (0x00, 0x01, SOI) or 0xD0 <= marker <= 0xD7:
            raise NotWhole
        yield marker, at, end
        at = _end_of_scan(data, end) if marker == SOS else end


def _end_of_scan(data: bytes, at: int) -> int:
    found = END_OF_SCAN.search(data, at)
    if found is None:
        raise NotWhole
    return found.end() - 2


def _frame(kind: int, body: bytes) -> Frame:
    try:
        bits, height, width, count = struct.unpack_from(">BHHB", body)
        listed = [struct.unpack_from(">BBB", body, 6 + 3 * number) for number in range(count)]
    except struct.error:
        raise NotWhole from None
    components = tuple(Component(id, sampling >> 4, sampling & 15) for id, sampling, _table in listed)
    if bits != 8 or count not in (1, 3, 4) or not all(1 <= c.across <= 4 and 1 <= c.down <= 4 for c in components):
        raise NotTaken("photo-kind-unknown")
    if not width or not height or len({each.id for each in components}) != count:
        raise NotWhole
    if width * height > PHOTO_PIXELS_MOST or max(width, height) > SIDE_PX_MOST:
        raise NotTaken("photo-pixels", width=width, height=height, side=SIDE_PX_MOST, most=PHOTO_PIXELS_MOST)
    return Frame(kind, width, height, components)


def _take_scan(parts: Parts, data: bytes, header: bytes, at: int, restart_every: int) -> None:
    """Take a scan's coded data; it must hold at least one bit for each code that it cannot do without."""
    parts.scans += 1
    if parts.scans > SCANS_MOST:
        raise NotTaken("photo-too-much-inside")
    coded = data[at : _end_of_scan(data, at)]
    which = header[1 : 1 + 2 * header[0] : 2] if header else b""
    if not which or len(header) < 2 * len(which) + 4:
        raise NotWhole
    units, each_holds = parts.frame.units_of_scan(which)
    first_of_band = header[1 + 2 * len(which)]
    # Sequential: a code for the first and one for the end of each data unit. Progressive: a bit for the first; what
    # follows may be passed over by whole runs.
    bits = 2 if parts.frame.kind != PROGRESSIVE else (first_of_band == 0)
    if len(coded) * 8 < units * each_holds * bits:
        raise NotWhole
    if restart_every and len(RESTART.findall(coded)) < _up(units, restart_every) - 1:
        raise NotWhole
    parts.pieces.append(Piece(coded, coded=True))
