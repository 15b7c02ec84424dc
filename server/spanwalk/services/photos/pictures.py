"""Have a photo made anew: is it one, how large is it, and nothing of it but its picture. Decoded apart, never here."""

from __future__ import annotations

import atexit
import struct
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from threading import Lock, Semaphore

import orjson

from spanwalk.config import PHOTO_BYTES_MOST
from spanwalk.services.apart import CutOff, DiedOfIt, Worker
from spanwalk.services.photos.kept import Kept
from spanwalk.services.refusals import TooLarge, Unavailable, WrongInput

CLEANING = "spanwalk.services.photos.cleaning"
AT_ONCE = 2
"""Photos in work at a time, in one process of the server."""
WAITING_MOST = 3
"""Those that wait for it; who comes then is told to try again, so that other requests find a thread."""
WAIT_S = 40
"""For an answer. Ten seconds of processor are what a photo gets; on a busy machine they take longer."""
TOO_LARGE = frozenset({"photo-pixels"})


@dataclass(frozen=True)
class Cleaned:
    """A photo made anew: its size upright [px], how it is kept, and a small one."""

    width_px: int
    height_px: int
    kept: Kept
    thumbnail: Kept


class _Workers:
    """Some workers, and a line of those who wait for one."""

    def __init__(self, module: str, at_once: int, waiting: int) -> None:
        self._free = [Worker(module) for _ in range(at_once)]
        self._lock = Lock()
        self._places = Semaphore(at_once + waiting)
        self._working = Semaphore(at_once)

    def stop(self) -> None:
        """End those that are not at work."""
        with self._lock:
            for worker in self._free:
                worker.stop()

    @contextmanager
    def one(self, patient: bool) -> Iterator[Worker]:
        if not self._places.acquire(blocking=patient):
            raise Unavailable("photo-busy")
        try:
            self._working.acquire()  # each holds it for no longer than WAIT_S
            try:
                with self._lock:
                    worker = self._free.pop()
                try:
                    yield worker
                finally:
                    with self._lock:
                        self._free.append(worker)
            finally:
                self._working.release()
        finally:
            self._places.release()


_workers = _Workers(CLEANING, AT_ONCE, WAITING_MOST)
atexit.register(lambda: _workers.stop())


def cleaned(data: bytes, keep_place: bool, patient: bool = False) -> Cleaned:
    """Make a photo anew.

    Parameters
    ----------
    data : bytes
        A JPEG.
    keep_place : bool
        Whether its place may be kept beside it.
    patient : bool
        Wait in any line: for commands, which keep no thread of a server from others.

    Raises
    ------
    TooLarge
        More bytes or pixels than are taken.
    WrongInput
        Empty, not a JPEG, not whole, or too much to decode.
    Unavailable
        Others are being made, or it was cut off: the same photo may be taken another time.
    """
    _check_beginning(data)
    question = (b"P" if keep_place else b"-") + data
    try:
        with _workers.one(patient) as worker:
            answer = worker.ask(question, WAIT_S)
    except DiedOfIt:
        raise WrongInput("photo-too-much-inside", value=len(data)) from None
    except CutOff:
        raise Unavailable("photo-busy") from None
    return _read(answer, len(data))


def _check_beginning(data: bytes) -> None:
    if not data:
        raise WrongInput("photo-empty")
    if len(data) > PHOTO_BYTES_MOST:
        raise TooLarge("photo-bytes", value=len(data), most=PHOTO_BYTES_MOST)
    if not data.startswith(b"\xff\xd8\xff"):
        raise WrongInput("photo-not-jpeg", begins=_beginning(data))


def _read(answer: bytes, size: int) -> Cleaned:
    (length,) = struct.unpack_from(">I", answer)
    told = orjson.loads(answer[4 : 4 + length])
    if "wrong" in told:
        raise (TooLarge if told["wrong"] in TOO_LARGE else WrongInput)(
            told["wrong"], **({"value": size} | told["facts"])
        )
    at, parts = 4 + length, []
    for bytes_ in told["parts"]:
        parts.append(answer[at : at + bytes_])
        at += bytes_
    picture, small, place = parts
    return Cleaned(told["width_px"], told["height_px"], Kept(picture, place), Kept(small))


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
