"""Phones of a working day: each signs in, pulls its site, then goes on pushing, pulling, sending photos, scanning."""

from __future__ import annotations

import hashlib
import http.client
import os
import random
import threading
import time
import uuid
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from io import BytesIO
from typing import Any
from urllib.parse import urlsplit

import orjson
from PIL import Image

from tests.bench.working_day.firm import PASSWORD, Firm, Place

RECORDS_A_PUSH = 10
PHOTO_EVERY, SCAN_EVERY, PLAN_EVERY = 4, 3, 8
"""In so many rounds one photo, one scan; the manager's plan in so many of every tenth phone."""
PHOTO_PX = (1600, 1200)
SIGN_IN_TRIES, BUSY = 12, ("passwords-busy", "proxy-429")
TIMEOUT_S = 120


@dataclass
class Taken:
    """How long each sort of request took [ms], what failed, and how much was handed over."""

    ms: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    failed: list[str] = field(default_factory=list)
    operations: int = 0
    photos: int = 0
    put_off: int = 0
    """Photos that were to come again, for the workers had others."""

    def add(self, other: Taken) -> None:
        """Take another phone's in."""
        for name, values in other.ms.items():
            self.ms[name] += values
        self.failed += other.failed
        self.operations += other.operations
        self.photos += other.photos
        self.put_off += other.put_off


def base_photo() -> bytes:
    """A photo of the usual size: 1600 × 1200, soft noise, some 200 kB."""
    small = Image.frombytes("RGB", (160, 120), os.urandom(160 * 120 * 3))
    out = BytesIO()
    small.resize(PHOTO_PX, Image.Resampling.BICUBIC).save(out, "JPEG", quality=85)
    return out.getvalue()


class Phone(threading.Thread):
    """One phone, with one connection that stays open."""

    def __init__(
        self, url: str, name: str, place: Place, photo: bytes, until: Callable[[], bool], plans: bool,
        together: threading.Barrier,
    ) -> None:  # fmt: skip
        super().__init__(daemon=True)
        self.together = together
        self.host, self.name_, self.place, self.photo, self.until, self.plans = (
            urlsplit(url).netloc, name, place, photo, until, plans,
        )  # fmt: skip
        self.taken, self.device, self.counter, self.cursor = Taken(), str(uuid.uuid4()), 0, 0
        self.cookie, self.person, self.incarnation = "", "", ""
        self.connection = http.client.HTTPConnection(self.host, timeout=TIMEOUT_S)

    def run(self) -> None:
        try:
            self._sign_in()
            self.together.wait(TIMEOUT_S)
            self._pull("first pull")
            number = 0
            while self.until():
                number += 1
                self._push()
                self._pull("pull")
                if number % PHOTO_EVERY == 0:
                    self._photo()
                if number % SCAN_EVERY == 0:
                    self._ask("scan", "GET", f"/api/labels/{self.place.code}")
                if self.plans and number % PLAN_EVERY == 1:
                    self._ask("plan", "GET", f"/api/sites/{self.place.id}/plan")
        except Exception as failed:
            self.taken.failed.append(f"{type(failed).__name__}: {failed}")
        finally:
            self.connection.close()

    def _ask(self, what: str, method: str, path: str, body: bytes | None = None, busy: tuple[str, ...] = ()) -> bytes:
        headers = {"Sec-Fetch-Site": "same-origin", "Cookie": self.cookie, "Content-Type": "application/json"}
        began = time.perf_counter()
        self.connection.request(method, path, body, headers)
        answer = self.connection.getresponse()
        told = answer.read()
        self.taken.ms[what].append((time.perf_counter() - began) * 1000)
        if cookie := answer.getheader("Set-Cookie"):
            self.cookie = cookie.split(";")[0]
        if answer.status not in (200, 201) and not any(code.encode() in told for code in busy):
            self.taken.failed.append(f"{what}: {answer.status} {told[:200]!r}")
        return told

    def _sign_in(self) -> None:
        body = orjson.dumps({"name": self.name_, "password": PASSWORD})
        for _ in range(SIGN_IN_TRIES):
            told = orjson.loads(self._ask("sign-in", "POST", "/api/session", body, busy=BUSY))
            if told.get("code") not in BUSY:
                break
            time.sleep(told.get("seconds", 5) + random.random())  # as the page does: `store/turn.js`
        self.person = told["person"]["id"]

    def _pull(self, what: str) -> None:
        while True:
            page = orjson.loads(
                self._ask(what, "GET", f"/api/sites/{self.place.id}/pull?since={self.cursor}&limit=2000")
            )
            self.cursor, self.incarnation = page["next"], page["incarnation"]
            if not page["more"]:
                return

    def _push(self) -> None:
        operations = [self._operation() for _ in range(RECORDS_A_PUSH)]
        body = {"device": self.device, "epoch": "0badcafe", "incarnation": self.incarnation, "operations": operations}
        answer = orjson.loads(self._ask("push", "POST", f"/api/sites/{self.place.id}/push", orjson.dumps(body)))
        wrong = [each for each in answer["answers"] if each["result"] != "applied"]
        self.taken.failed += [f"push: {each}" for each in wrong[:1]]
        self.taken.operations += len(operations) - len(wrong)

    def _operation(self) -> dict[str, Any]:
        self.counter += 1
        return {
            "id": f"{self.device}.0badcafe.{self.counter}", "by": self.person, "record": str(uuid.uuid4()),
            "type": "cavity_reading", "facet": "identity", "kind": "set", "seen": None, "from": None,
            "to": self.place.reading, "settles": [], "device_time": "2026-03-01T09:00:00Z", "spec": 2,
        }  # fmt: skip

    def _photo(self) -> None:
        own = uuid.uuid4().bytes
        data = self.photo[:2] + b"\xff\xfe" + (len(own) + 2).to_bytes(2, "big") + own + self.photo[2:]
        at = f"/api/sites/{self.place.id}/photos/{hashlib.sha256(data).hexdigest()}"
        while b"photo-busy" in self._ask("photo", "PUT", at, data, busy=("photo-busy",)) and self.until():
            time.sleep(1 + random.random())  # the server's hands are full of photos: a phone sends it again by itself
            self.taken.put_off += 1
        self.taken.photos += 1


def play(url: str, firm: Firm, seconds: float) -> tuple[Taken, float]:
    """All phones sign in; then all at once, without pause, for so long: what they took, until the last had ended [s]."""
    photo, began = base_photo(), [0.0]
    together = threading.Barrier(len(firm.phones), action=lambda: began.__setitem__(0, time.monotonic()))
    phones = [
        Phone(
            url, name, firm.places[n % len(firm.places)], photo,
            lambda: time.monotonic() < began[0] + seconds, n % 10 == 0, together,
        )
        for n, name in enumerate(firm.phones)
    ]  # fmt: skip
    for phone in phones:
        phone.start()
    taken = Taken()
    for phone in phones:
        phone.join(seconds + 2 * TIMEOUT_S)
        if phone.is_alive():
            taken.failed.append(f"{phone.name_} never ended")
        taken.add(phone.taken)
    return taken, time.monotonic() - began[0]
