"""Is this a photo, how large, and what must not be handed on with it: JPEG, by its bytes alone."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO

from PIL import Image, ImageOps, UnidentifiedImageError

from spanwalk.config import PHOTO_BYTES_MOST, PHOTO_PIXELS_MOST
from spanwalk.services.refusals import TooLarge, WrongInput

THUMBNAIL_PX = 320
SIDE_PX_MOST = 20_000
ORIENTATION = 0x0112
APP1, APP13, COMMENT, START_OF_SCAN, END_OF_IMAGE = 0xE1, 0xED, 0xFE, 0xDA, 0xD9
Image.MAX_IMAGE_PIXELS = None
"""Pillow's own limit says only 'bomb'. `examine` looks at the size before a pixel is decoded, and says it."""


@dataclass(frozen=True)
class Picture:
    """A photo that can be shown: its size [px]."""

    width_px: int
    height_px: int


def examine(data: bytes) -> Picture:
    """Decode a photo wholly, to be sure that it can be shown.

    Parameters
    ----------
    data : bytes
        What was sent.

    Raises
    ------
    TooLarge
        More bytes or pixels than are taken.
    WrongInput
        Empty, not a JPEG, or cut short.
    """
    if not data:
        raise WrongInput("photo-empty")
    if len(data) > PHOTO_BYTES_MOST:
        raise TooLarge("photo-bytes", value=len(data), most=PHOTO_BYTES_MOST)
    try:
        with _opened(data) as image:
            width, height = image.size
            if width * height > PHOTO_PIXELS_MOST or max(width, height) > SIDE_PX_MOST:
                raise TooLarge("photo-pixels", width=width, height=height, side=SIDE_PX_MOST, most=PHOTO_PIXELS_MOST)
            image.load()
    except UnidentifiedImageError:
        raise WrongInput("photo-not-jpeg", begins=_beginning(data)) from None
    except (OSError, SyntaxError, ValueError, struct.error):
        raise WrongInput("photo-cut-short", value=len(data)) from None
    return Picture(width, height)


def _opened(data: bytes) -> Image.Image:
    return Image.open(BytesIO(data), formats=("JPEG",))


def _beginning(data: bytes) -> str:
    for sign, name in (
        (b"%PDF", "PDF"),
        (b"\x89PNG", "PNG"),
        (b"GIF8", "GIF"),
        (b"RIFF", "WebP"),
        (b"<", "text"),
    ):
        if data.startswith(sign):
            return name
    return data[:8].hex(" ")


def thumbnail(data: bytes) -> bytes:
    """A small JPEG, upright, with nothing of the original but its picture."""
    with _opened(data) as image:
        image.draft("RGB", (THUMBNAIL_PX, THUMBNAIL_PX))
        small = ImageOps.exif_transpose(image).convert("RGB")
        small.thumbnail((THUMBNAIL_PX, THUMBNAIL_PX))
        out = BytesIO()
        small.save(out, "JPEG", quality=80, optimize=True)
    return out.getvalue()


def without_place(data: bytes) -> bytes:
    """The same JPEG without what says where and with what it was taken; its picture is not touched.

    Exif, XMP, IPTC and comments go; of Exif only the orientation is put back, or it would lie on its side.
    """
    out = bytearray(b"\xff\xd8")
    turned = _orientation(data)
    if turned != 1:
        out += _orientation_segment(turned)
    for marker, segment in _segments(data):
        if marker not in (APP1, APP13, COMMENT):
            out += segment
    return bytes(out)


def _segments(data: bytes) -> Iterator[tuple[int, bytes]]:
    """The segments of a JPEG after its first mark; the scan and all behind it as one."""
    at = 2
    while at + 4 <= len(data):
        marker = data[at + 1]
        if marker == START_OF_SCAN:
            end = data.rfind(b"\xff\xd9", at)
            yield marker, data[at : end + 2 if end > 0 else len(data)]
            return
        if marker == 0xFF:  # a fill byte
            at += 1
            continue
        length = int.from_bytes(data[at + 2 : at + 4], "big") + 2
        yield marker, data[at : at + length]
        at += length


def _orientation(data: bytes) -> int:
    with _opened(data) as image:
        turned = image.getexif().get(ORIENTATION, 1)
    return turned if isinstance(turned, int) and 1 <= turned <= 8 else 1


def _orientation_segment(turned: int) -> bytes:
    exif = Image.Exif()
    exif[ORIENTATION] = turned
    body = exif.tobytes()
    body = body if body.startswith(b"Exif\0\0") else b"Exif\0\0" + body
    return b"\xff\xe1" + (len(body) + 2).to_bytes(2, "big") + body
