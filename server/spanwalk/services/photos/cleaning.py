"""Make a photo anew from its pixels, in a process of its own: nothing of what was sent goes on but what it shows.

`python -m spanwalk.services.photos.cleaning` is a worker (`services.apart`): a question is one byte, `P` to keep the
place or `-`, and the photo; an answer is the length of a JSON object (4 bytes), the object (`Told`), and the parts whose
sizes it names.
"""

from __future__ import annotations

import json
import math
import os
import resource
import signal
import struct
import sys
from io import BytesIO
from typing import BinaryIO, NotRequired, TypedDict

from PIL import ExifTags, Image, ImageChops, ImageCms, ImageFile, ImageOps
from PIL.JpegImagePlugin import JpegImageFile

from spanwalk.services.photos.jpeg_parts import PROGRESSIVE, NotTaken, NotWhole, Parts, take_apart

MEMORY_BYTES, PROCESSOR_S, FILES_MOST = 700_000_000, 10, 16
QUALITY, THUMBNAIL_QUALITY, THUMBNAIL_PX = 85, 80, 320
EIGHTH = 8
FILLER_BYTES = 4096
"""More than the lookahead of a decoder; what it makes of them shows where coded data was missing."""
ORIENTATION, GPS = 0x0112, 0x8825
LENGTH = struct.Struct(">I")
PLACE = b"P"
SRGB = ImageCms.createProfile("sRGB")


class Told(TypedDict):
    """What came of a photo: its size [px] and the bytes of its parts (picture, thumbnail, place), or what is wrong."""

    width_px: NotRequired[int]
    height_px: NotRequired[int]
    parts: NotRequired[list[int]]
    wrong: NotRequired[str]
    facts: NotRequired[dict[str, object]]


def clean(data: bytes, keep_place: bool) -> tuple[Told, list[bytes]]:
    """A photo made anew: baseline, upright, in sRGB or grey, without a segment of its sender's.

    Parameters
    ----------
    data : bytes
        The JPEG that was sent.
    keep_place : bool
        Whether to write its place (latitude, longitude, altitude) into a new Exif segment, which comes as a part apart.
    """
    try:
        parts = take_apart(data)
        exif = _exif(parts.exif)
        image = _upright(_decoded(parts), exif)
        place = _place(exif) if keep_place else b""
    except NotTaken as wrong:
        return {"wrong": wrong.code, "facts": wrong.facts}, []
    except MemoryError:
        return {"wrong": "photo-too-much-inside", "facts": {}}, []
    except (OSError, SyntaxError, ValueError, struct.error):
        return {"wrong": "photo-cut-short", "facts": {}}, []
    made = [_jpeg(image, QUALITY), _thumbnail(image), place]
    return {"width_px": image.width, "height_px": image.height, "parts": [len(each) for each in made]}, made


def _decoded(parts: Parts) -> Image.Image:
    """The picture in sRGB or grey, if all of it was there.

    A decoder shows grey where coded data is missing and says nothing. So the picture is drawn with noise behind the coded
    data and without: where the two differ, noise was taken for picture. Of a picture in one pass an eighth of its size
    shows that.
    """
    filler = os.urandom(FILLER_BYTES).replace(b"\xff", b"\x7f")
    share = 1 if parts.frame.kind == PROGRESSIVE else EIGHTH
    whole, filled = (_drawn(parts.decoded_by(with_), share) for with_ in (b"", filler))
    if ImageChops.difference(*map(_comparable, (whole, filled))).getbbox() is not None:
        raise NotWhole
    del filled
    return _in_srgb(whole if share == 1 else _drawn(parts.decoded_by(), 1), parts.icc)


def _drawn(data: bytes, share: int) -> Image.Image:
    image = JpegImageFile(BytesIO(data))
    image.draft(None, (max(1, image.width // share), max(1, image.height // share)))
    image.load()
    return image


def _comparable(image: Image.Image) -> Image.Image:
    return image if image.mode in ("L", "RGB") else image.convert("RGB")


def _in_srgb(image: Image.Image, icc: bytes) -> Image.Image:
    if icc and image.mode in ("L", "RGB"):
        try:
            profile = ImageCms.ImageCmsProfile(BytesIO(icc))
            shown = ImageCms.profileToProfile(image, profile, SRGB, outputMode="RGB")
        except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
            shown = None  # a profile that cannot be read is none
        if shown is not None:
            return _bare(shown)
    return _bare(image if image.mode in ("L", "RGB") else image.convert("RGB"))


def _bare(image: Image.Image) -> Image.Image:
    """The same pixels with nothing that came along: `save` would write a comment of theirs into ours."""
    image.info.clear()
    return image


def _exif(body: bytes | None) -> Image.Exif:
    exif = Image.Exif()
    if body:
        try:
            exif.load(body)
            exif.get(ORIENTATION)
        except Exception:  # whatever a reader of Exif makes of nonsense: then it says nothing
            return Image.Exif()
    return exif


def _upright(image: Image.Image, exif: Image.Exif) -> Image.Image:
    turned = exif.get(ORIENTATION)
    if not isinstance(turned, int) or not 2 <= turned <= 8:
        return image
    bare = Image.Exif()
    bare[ORIENTATION] = turned
    image.info["exif"] = bare.tobytes()
    return _bare(ImageOps.exif_transpose(image))


def _place(exif: Image.Exif) -> bytes:
    """A new Exif body with latitude, longitude and altitude; empty where there is no place that is one."""
    try:
        told = exif.get_ifd(GPS)
        degrees = {
            tag: [float(each) for each in told[tag]] for tag in (ExifTags.GPS.GPSLatitude, ExifTags.GPS.GPSLongitude)
        }
        north, east = told[ExifTags.GPS.GPSLatitudeRef], told[ExifTags.GPS.GPSLongitudeRef]
        altitude = told.get(ExifTags.GPS.GPSAltitude)
        height_m = None if altitude is None else float(altitude)
        below = told.get(ExifTags.GPS.GPSAltitudeRef) in (1, b"\x01")
    except Exception:  # as above
        return b""
    in_range = all(
        len(each) == 3 and all(math.isfinite(d) and 0 <= d <= 180 for d in each) for each in degrees.values()
    )
    if north not in ("N", "S") or east not in ("E", "W") or not in_range:
        return b""
    made = Image.Exif()
    gps = made.get_ifd(GPS)
    gps.update({ExifTags.GPS.GPSLatitudeRef: north, ExifTags.GPS.GPSLongitudeRef: east})
    gps.update({tag: tuple(each) for tag, each in degrees.items()})
    if height_m is not None and math.isfinite(height_m) and 0 <= height_m <= 20_000:
        gps.update({ExifTags.GPS.GPSAltitudeRef: b"\x01" if below else b"\x00", ExifTags.GPS.GPSAltitude: height_m})
    made[GPS] = gps
    return made.tobytes().removeprefix(b"Exif\0\0")


def _jpeg(image: Image.Image, quality: int) -> bytes:
    out = BytesIO()
    image.save(out, "JPEG", quality=quality, optimize=True, progressive=False)
    return out.getvalue()


def _thumbnail(image: Image.Image) -> bytes:
    small = image.copy() if max(image.size) <= THUMBNAIL_PX else image.resize(_within(image.size), reducing_gap=2.0)
    return _jpeg(small, THUMBNAIL_QUALITY)


def _within(size: tuple[int, int]) -> tuple[int, int]:
    share = THUMBNAIL_PX / max(size)
    return max(1, round(size[0] * share)), max(1, round(size[1] * share))


# -- the worker


def _limit() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    for which, most in (
        (resource.RLIMIT_CORE, 0),
        (resource.RLIMIT_FSIZE, 0),
        (resource.RLIMIT_NPROC, 0),
        (resource.RLIMIT_NOFILE, FILES_MOST),
    ):
        resource.setrlimit(which, (most, most))


def _limit_processor() -> None:
    """Let the next photo have its own seconds."""
    used = resource.getrusage(resource.RUSAGE_SELF)
    most = math.ceil(used.ru_utime + used.ru_stime) + PROCESSOR_S
    resource.setrlimit(resource.RLIMIT_CPU, (most, resource.RLIM_INFINITY))


def answer_all(questions: BinaryIO, answers: BinaryIO) -> None:
    """Answer questions until there are no more."""
    while len(begun := questions.read(LENGTH.size)) == LENGTH.size:
        question = questions.read(LENGTH.unpack(begun)[0])
        _limit_processor()
        told, parts = clean(question[1:], keep_place=question[:1] == PLACE)
        head = json.dumps(told).encode()
        answer = b"".join([LENGTH.pack(len(head)), head, *parts])
        answers.write(LENGTH.pack(len(answer)) + answer)
        answers.flush()


def main() -> int:
    """Be a worker. What ends the server is not for it: it ends when nobody can ask it any more."""
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, signal.SIG_IGN)
    assert not ImageFile.LOAD_TRUNCATED_IMAGES
    Image.MAX_IMAGE_PIXELS = None  # `take_apart` has looked at the size
    _limit()
    answer_all(sys.stdin.buffer, sys.stdout.buffer)
    return 0


if __name__ == "__main__":
    sys.exit(main())
