"""Rounds of `kill -9` while phones push and send photos: what was acknowledged is there, once and whole.

`python -m tests.storage.kill_rounds 100 [--seed N] [--back-end sqlite|postgresql|both] [--plant FAULT]` runs many;
it ends with 1 where something was lost. With a planted fault it says in which round that was caught, and ends with 0.
"""

from __future__ import annotations

import argparse
import hashlib
import random
import struct
import sys
import tempfile
import threading
import time
from collections import Counter
from dataclasses import dataclass, field
from http.client import HTTPException
from io import BytesIO
from pathlib import Path
from typing import Any

from PIL import Image
from tests.support import back_ends
from tests.support.forked_server import PLANTS
from tests.support.installation import Installation, install, new_id
from tests.support.server import Client, Server

from spanwalk.services.doctor import HALF_WRITTEN, examine_all
from spanwalk.services.photos.kept import is_whole
from spanwalk.storage.database import reading
from spanwalk.storage.photos import FolderStore
from spanwalk.storage.tables import db

Json = Any
PHONES = 4
RECORDS_A_PUSH = 25
KILLED_AFTER = (1, 12)
"""Answers in all phones' hands before the kill, least and most."""
AND_UP_TO_S = 0.03
"""And how much later at most, before any push was timed; then as long as the last whole push took, so that on a slow
machine too a kill falls into every part of one."""
EPOCH = "0000000e"


@dataclass
class Phone:
    """What one phone has sent, what it was told, and what it was not."""

    client: Client
    site: str
    person: str
    device: str = field(default_factory=new_id)
    counter: int = 0
    batch: list[Json] = field(default_factory=list)
    photo: bytes = b""
    told: dict[str, Json] = field(default_factory=dict)
    sent: dict[str, Json] = field(default_factory=dict)
    receipts: set[str] = field(default_factory=set)
    cut: Counter[str] = field(default_factory=Counter)

    def fill(self, chance: random.Random) -> None:
        """A new batch: records made, and each written a second time by an operation that saw the first."""
        for number in range(RECORDS_A_PUSH):
            record, made = new_id(), self._id()
            names = [f"F{number}", f"F{number} again"]
            for id, seen, name in ((made, None, names[0]), (self._id(), made, names[1])):
                to = {"name": name, "parent": self.site}
                self.batch.append(self._operation(id, record, seen, to))
        self.photo = photo(chance)

    def _id(self) -> str:
        self.counter += 1
        return f"{self.device}.{EPOCH}.{self.counter}"

    def _operation(self, id: str, record: str, seen: str | None, to: Json) -> Json:
        about = {"id": id, "by": self.person, "record": record, "type": "floor", "facet": "identity", "kind": "set"}
        return about | {
            "seen": seen,
            "from": None,
            "to": to,
            "settles": [],
            "device_time": "2026-03-01T09:00:00Z",
            "spec": 2,
        }

    def push(self, operations: list[Json]) -> list[Json]:
        body = {"device": self.device, "epoch": EPOCH, "operations": operations}
        status, answer = self.client.call("POST", f"/api/sites/{self.site}/push", body)
        assert status == 200, f"push: {status} {answer}"
        answers: list[Json] = answer["answers"]
        return answers

    def send_batch(self) -> None:
        answers = self.push(self.batch)
        self.told |= {answer["id"]: answer for answer in answers}
        self.sent |= {operation["id"]: operation for operation in self.batch}
        self.batch = []

    def send_photo(self) -> None:
        named = hashlib.sha256(self.photo).hexdigest()
        status, answer = self.client.call("PUT", f"/api/sites/{self.site}/photos/{named}", raw=self.photo)
        assert status in (200, 201), f"photo: {status} {answer}"
        self.receipts.add(named)
        self.photo = b""


def photo(chance: random.Random) -> bytes:
    """A JPEG of about 100 kB, unlike every other by its comment."""
    note = chance.randbytes(60_000)
    return PLAIN[:2] + b"\xff\xfe" + struct.pack(">H", len(note) + 2) + note + PLAIN[2:]


def _plain() -> bytes:
    out = BytesIO()
    Image.frombytes("RGB", (160, 120), hashlib.shake_128(b"walk").digest(160 * 120 * 3)).save(out, "JPEG", quality=95)
    return out.getvalue()


PLAIN = _plain()


@dataclass
class Rounds:
    """A server to kill, its phones, and the ledger of what they were told."""

    here: Installation
    server: Server
    chance: random.Random
    phones: list[Phone]
    done: int = 0
    cut: Counter[str] = field(default_factory=Counter)
    left_half: int = 0
    push_s: float = AND_UP_TO_S

    def round(self, with_doctor: bool) -> list[str]:
        """One kill; what is wrong after it, nothing if all is well."""
        self.done += 1
        for phone in self.phones:
            phone.told, phone.sent, phone.receipts = {}, {}, set()
        self._until_killed()
        self.server.start()
        wrong = [each for phone in self.phones for each in self._after(phone)]
        return wrong + (self._doctor() if with_doctor or wrong else [])

    def _until_killed(self) -> None:
        wanted, late_s = self.chance.randint(*KILLED_AFTER), self.chance.uniform(0, self.push_s)
        answered = threading.Semaphore(0)
        seeds = [self.chance.getrandbits(32) for _ in self.phones]
        threads = [
            threading.Thread(target=self._work, args=(phone, random.Random(seed), answered))
            for phone, seed in zip(self.phones, seeds, strict=True)
        ]
        for thread in threads:
            thread.start()
        for _ in range(wanted):
            answered.acquire()
        time.sleep(late_s)
        self.server.kill()
        for thread in threads:
            thread.join()

    def _work(self, phone: Phone, chance: random.Random, answered: threading.Semaphore) -> None:
        while True:
            if not phone.batch:
                phone.fill(chance)
            for what, send in (("push", phone.send_batch), ("photo", phone.send_photo)):
                began_s = time.monotonic()
                try:
                    send()
                except (OSError, HTTPException, AssertionError) as gone:
                    if isinstance(gone, AssertionError):
                        self.cut[f"refused: {str(gone)[:80]}"] += 1
                    self.cut[what] += 1
                    answered.release(KILLED_AFTER[1])  # the killer may be waiting for answers that will not come
                    return
                if what == "push":
                    self.push_s = time.monotonic() - began_s
                answered.release()

    def _after(self, phone: Phone) -> list[str]:
        """What was told stands; what was cut off can be sent again."""
        wrong = []
        again = {answer["id"]: answer for answer in phone.push(list(phone.sent.values()))} if phone.sent else {}
        wrong += [f"told {told}, now {again[id]}" for id, told in phone.told.items() if again[id] != told]
        store = self.here.app.extensions["spanwalk-photos"]
        for named in phone.receipts:
            kept = store.get(named)
            if kept is None or not is_whole(named, kept):
                wrong.append(
                    f"photo {named[:12]} had a receipt; there is {'nothing' if kept is None else 'other bytes'}"
                )
        if phone.photo:
            named = hashlib.sha256(phone.photo).hexdigest()
            kept = store.get(named)
            if kept is not None and not is_whole(named, kept):
                wrong.append(f"photo {named[:12]} is there by half")
            phone.send_photo()
        if phone.batch:
            phone.send_batch()
            wrong += [f"sent again: {told}" for told in phone.told.values() if told["result"] != "applied"]
        return wrong

    def _doctor(self) -> list[str]:
        store = self.here.app.extensions["spanwalk-photos"]
        if isinstance(store, FolderStore):  # what a crash leaves under no photo's name does no harm
            for left in store.folder.glob(f"??/{HALF_WRITTEN}*"):
                left.unlink()
                self.left_half += 1
        with self.here.app.app_context():
            with reading() as session:
                report = examine_all(session, store)
            db.engine.dispose()
        return [f"{each.code} {each.facts}" for each in report.findings[:5]]


def prepared(folder: Path, back_end: str, seed: int, plant: str = "none") -> Rounds:
    """A server on a new back end, and phones signed in."""
    where = back_ends.settings(back_end)
    here = install(folder / "data", **where)
    server = Server(folder / "data", command="serve", env=where)
    server.plant = plant
    server.start()
    names = ("surveyor", "manager", "owner", "surveyor")[:PHONES]
    phones = [Phone(Client(server.url, name), here.site, here.people[name]) for name in names]
    return Rounds(here, server, random.Random(seed), phones)


def run(back_end: str, count: int, seed: int, plant: str = "none", doctor_every: int = 1) -> tuple[Rounds, list[str]]:
    """Run rounds until something is wrong; the rounds, and what was."""
    with tempfile.TemporaryDirectory() as folder:
        rounds = prepared(Path(folder), back_end, seed, plant)
        try:
            for number in range(1, count + 1):
                wrong = rounds.round(number % doctor_every == 0 or number == count)
                if wrong:
                    return rounds, wrong
            return rounds, []
        finally:
            rounds.server.stop()
            with rounds.here.app.app_context():
                db.engine.dispose()


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("count", type=int)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--back-end", choices=("sqlite", "postgresql", "both"), default="both")
    parser.add_argument("--plant", choices=list(PLANTS), default="none")
    told = parser.parse_args()
    which = {"sqlite": [back_ends.ONE_MACHINE], "postgresql": [back_ends.SCALED_OUT], "both": list(back_ends.BOTH)}
    ended = 0
    for back_end in which[told.back_end]:
        every = 10 if told.plant == "none" else 1
        rounds, wrong = run(back_end, told.count, told.seed, told.plant, every)
        cut = ", ".join(f"{number} {what}" for what, number in rounds.cut.items())
        print(
            f"{back_end}: {rounds.done} rounds, cut off at the kills: {cut}; half photos left beside: {rounds.left_half}"
        )
        for each in wrong[:5]:
            print(f"  round {rounds.done}: {each}")
        caught = bool(wrong) == (told.plant != "none")
        print("  " + ("as it must be" if caught else "NOT as it must be"))
        ended |= not caught
    return ended


if __name__ == "__main__":
    sys.exit(main())
