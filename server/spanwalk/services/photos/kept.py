"""How a photo lies in the store, under the hash of what was sent: made anew, with its place apart and a sum of its own.

A kept photo is a JPEG that anything shows. Behind its end stand its place, if a site keeps that, and a hash of all
before: so that whether it is whole can be told, and whether it is one that was made anew or still what was sent before
photos were.
"""

from __future__ import annotations

import hashlib
import struct
from dataclasses import dataclass

MARK = b"SPANWALK photo 1"
TAIL = struct.Struct(f">I32s{len(MARK)}s")
JFIF_AT = 4


@dataclass(frozen=True)
class Kept:
    """A photo made anew: the JPEG, and the body of an Exif segment with its place, or nothing."""

    picture: bytes
    place: bytes = b""

    def shown(self, with_place: bool) -> bytes:
        """The JPEG as it is handed out."""
        if not with_place or not self.place:
            return self.picture
        body = b"Exif\0\0" + self.place
        end = JFIF_AT + int.from_bytes(self.picture[JFIF_AT : JFIF_AT + 2], "big")
        segment = b"\xff\xe1" + (len(body) + 2).to_bytes(2, "big") + body
        return self.picture[:end] + segment + self.picture[end:]


def sealed(kept: Kept) -> bytes:
    """A kept photo as bytes."""
    body = kept.picture + kept.place
    length = struct.pack(">I", len(kept.place))
    return body + TAIL.pack(len(kept.place), hashlib.sha256(body + length).digest(), MARK)


def opened(data: bytes) -> Kept | None:
    """A kept photo from its bytes; None if they are none, or are not whole.

    >>> opened(sealed(Kept(b"jpeg", b"place")))
    Kept(picture=b'jpeg', place=b'place')
    >>> opened(sealed(Kept(b"jpeg"))[1:]) is None
    True
    """
    if len(data) < TAIL.size:
        return None
    place, said, mark = TAIL.unpack(data[-TAIL.size :])
    body = data[: -TAIL.size]
    if mark != MARK or place > len(body) or hashlib.sha256(body + struct.pack(">I", place)).digest() != said:
        return None
    end = len(body) - place
    return Kept(body[:end], body[end:])


def is_as_sent(name: str, data: bytes) -> bool:
    """Whether bytes are still those that were sent: kept before photos were made anew.

    Asked before `opened`: what was sent long ago might have been made to look like a kept photo.
    """
    return hashlib.sha256(data).hexdigest() == name


def is_whole(name: str, data: bytes) -> bool:
    """Whether the bytes under a name are a photo as it was put there."""
    return is_as_sent(name, data) or opened(data) is not None
