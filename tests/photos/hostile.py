"""JPEGs that nobody's camera makes: each harms somebody in its own way. Made here, none is kept."""

from __future__ import annotations

import hashlib
import re
import struct
from io import BytesIO
from typing import Any

from PIL import Image

PLACE_LAT, PLACE_LON = (47.0, 22.0, 1.0), (8.0, 32.0, 1.0)
SECRET = b"WALKED-HERE 47.3669 N"
"""Planted where a place may hide; nothing that leaves may hold it."""
GPS, ORIENTATION = 0x8825, 0x0112


def noise(width: int, height: int, of: str = "noise") -> Image.Image:
    return Image.frombytes("RGB", (width, height), hashlib.shake_128(of.encode()).digest(width * height * 3))


def smooth(width: int, height: int) -> Image.Image:
    """Reddish to the left, bluish below: which way is up can be seen."""
    return Image.merge(
        "RGB",
        (
            Image.linear_gradient("L").rotate(90).resize((width, height)),
            Image.new("L", (width, height), 90),
            Image.linear_gradient("L").resize((width, height)),
        ),
    )


def jpeg(image: Image.Image, **how: Any) -> bytes:
    out = BytesIO()
    image.save(out, "JPEG", **how)
    return out.getvalue()


def segment(marker: int, body: bytes) -> bytes:
    return bytes((0xFF, marker)) + (len(body) + 2).to_bytes(2, "big") + body


def with_segments(data: bytes, *segments: bytes) -> bytes:
    """Put segments behind the first mark."""
    return data[:2] + b"".join(segments) + data[2:]


def exif_with_place(turned: int = 1, comment: bytes = SECRET) -> Image.Exif:
    exif = Image.Exif()
    exif[ORIENTATION] = turned
    exif[0x010F] = "Maker of cameras (invented)"
    exif[0x9286] = comment
    exif.get_ifd(GPS).update({1: "N", 2: PLACE_LAT, 3: "E", 4: PLACE_LON})
    return exif


def many_scans(scans: int, width: int = 1600, height: int = 1200) -> bytes:
    """A progressive JPEG whose second scan comes again and again: each is a pass over the whole picture."""
    data = jpeg(smooth(width, height), progressive=True, quality=60)
    starts = [found.start() for found in re.finditer(rb"\xff\xda", data)]
    head = starts[1] + 2 + int.from_bytes(data[starts[1] + 2 : starts[1] + 4], "big")
    end = head + re.search(rb"\xff[^\x00]", data[head:]).start()  # type: ignore[union-attr]
    return data[:end] + data[starts[1] : end] * (scans - len(starts)) + data[end:]


def resized(data: bytes, width: int, height: int) -> bytes:
    """The same JPEG, saying another size in its frame header."""
    at = next(data.index(bytes((0xFF, kind))) for kind in (0xC0, 0xC2) if bytes((0xFF, kind)) in data) + 5
    return data[:at] + struct.pack(">HH", height, width) + data[at + 4 :]


def cut_but_ended(data: bytes, share: float = 0.5) -> bytes:
    """A JPEG whose coded data ends too early, with an end mark put behind it."""
    scan = data.index(b"\xff\xda")
    coded = data[scan:].rstrip(b"\xd9\xff")
    return data[:scan] + coded[: int(len(coded) * share)].rstrip(b"\xff") + b"\xff\xd9"


def second_picture(data: bytes) -> bytes:
    """A JPEG with another behind it, as cameras keep a larger or a sharper one (CIPA DC-007), whose Exif has the place."""
    behind = jpeg(noise(200, 150, "second"), exif=exif_with_place())
    return data + behind


def hiding_places() -> dict[str, bytes]:
    """A photo with the secret in each place where one may be kept."""
    plain = jpeg(smooth(320, 240))
    xmp = b"http://ns.adobe.com/xap/1.0/\0<x:xmpmeta><exif:GPSLatitude>" + SECRET + b"</exif:GPSLatitude></x:xmpmeta>"
    thumb = jpeg(smooth(80, 60), comment=SECRET)
    exif = exif_with_place().tobytes()
    return {
        "Exif": jpeg(smooth(320, 240), exif=exif_with_place()),
        "a second Exif": with_segments(plain, segment(0xE1, b"Exif\0\0" + SECRET), segment(0xE1, exif)),
        "XMP": with_segments(plain, segment(0xE1, xmp)),
        "a maker's segment": with_segments(plain, segment(0xE4, b"MAKER\0" + SECRET)),
        "segment 10": with_segments(plain, segment(0xEA, SECRET)),
        "IPTC": with_segments(plain, segment(0xED, b"Photoshop 3.0\0" + SECRET)),
        "a comment": jpeg(smooth(320, 240), comment=SECRET),
        "the JFIF thumbnail": with_segments(plain, segment(0xE0, b"JFXX\0\x10" + thumb)),
        "a second picture": second_picture(plain) + SECRET,
        "behind the end": plain + SECRET,
        "between the marks": plain[:-2] + segment(0xFE, SECRET) + plain[-2:],
        "a colour profile": with_segments(plain, segment(0xE2, b"ICC_PROFILE\0\x01\x01" + SECRET)),
    }
