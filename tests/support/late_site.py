"""A site late in its job: the demo building released twice, partly converted, with what goes otherwise than planned on the way."""

from __future__ import annotations

import copy
import random
import uuid
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from spanwalk.rules.survey import positions_of
from spanwalk.services.labels.labels import label_id
from spanwalk.services.sync import state
from spanwalk.services.sync.state import site_records
from spanwalk.storage.database import reading
from tests.planning.demo_records import demo_records
from tests.planning.stored_site import store, store_changes
from tests.support.installation import Installation, installed
from tests.support.releasing import release_seen

Json = dict[str, Any]
EMERGENCY = {"duty": "battery-in-fixture", "positions": [1, 2], "wanted_min": 90, "pack": {"pack": "kept"}}
CHECKS = ["sockets-proved-dead", "leads-removed-or-capped", "earth-checked"]


class _Caller:
    def __init__(self, installation: Installation) -> None:
        self._installation = installation

    def call(self, method: str, path: str, body: Any = None) -> tuple[int, Any]:
        answer = self._installation.call("manager", method, path, json=body)
        return answer.status_code, answer.json


class LateSite:
    """Makes the site of an installation a late one, by a seed."""

    def __init__(self, installation: Installation, seed: int = 7) -> None:
        self._installation, self._random, self._new = installation, random.Random(seed), []  # type: ignore[var-annotated]

    def make(self) -> None:
        """Store, release, convert, and release what changed once more."""
        store(self._installation, demo_records())
        self._release()
        self._note_all()
        self._go_on()
        self._release()

    def records(self, type_name: str) -> list[Json]:
        """The site's records of a type as they are stored."""
        with self._installation.app.app_context(), reading() as session:
            return [{**each} for each in site_records(session, self._installation.site, types=(type_name,))]

    def add(self, type_name: str, parent: str, id: str | None = None, **facets: Json) -> Json:
        """A record to be stored by `keep`."""
        id = id or str(uuid.UUID(int=self._random.getrandbits(128), version=4))
        made = {"id": id, "type": type_name, "parent": parent, "removed": False, "facets": facets, "conflicts": []}
        self._new.append(made)
        return made

    def keep(self) -> None:
        """Store what was added, in the order in which it was."""
        store_changes(self._installation, self._new)
        self._new = []

    def _release(self) -> None:
        status, told = release_seen(_Caller(self._installation), self._installation.site)
        assert status == 201, told

    def _note_all(self) -> None:
        groups = {each["id"]: each for each in self.records("group")}
        conversions = self.records("conversion")
        for place, conversion in enumerate(conversions):
            if place % 4 == 0:
                conversion["facets"]["identity"]["frozen"]["emergency"] = EMERGENCY
                self._new.append(conversion)
            group = groups[conversion["parent"]]
            for position in positions_of(group):  # type: ignore[arg-type]
                self._note(conversion, position)
                self._label(group["id"], position)
                if place % 4 == 0 and position <= 3:
                    self._test(group["id"], position)
        for place in range(5):
            code = f"BLANK{place}"
            self.add("label", self._installation.site, label_id(code), identity={"code": code, "origin": "pre-printed"})
        self.keep()

    def _note(self, conversion: Json, position: int) -> None:
        drawn = self._random.random()
        outcome = "done" if drawn < 0.7 else "problem" if drawn < 0.8 else "skipped" if drawn < 0.9 else None
        said = {"position": position, "conversion": conversion["id"], "noted_at": "2026-04-02T09:00:00Z"}
        if outcome is None:
            return
        more = {"checks": CHECKS[: self._random.randrange(1, 4)]} if outcome == "done" else {"reason": "pcb-found"}
        fitted = {"as_fitted": {"as_released": self._random.random() < 0.8}} if outcome == "done" else {}
        noted = self.add("installation", conversion["parent"], identity={**said, "outcome": outcome, **more}, **fitted)
        if outcome == "problem" and self._random.random() < 0.5:
            self.add("problem_answer", noted["id"], identity={"answer": self._random.choice(["skip", "do-it-so"])})
        if outcome == "done" and fitted["as_fitted"]["as_released"] is False and self._random.random() < 0.5:
            self.add("difference_answer", noted["id"], identity={"answer": "accepted"})
        if self._random.random() < 0.2:
            self.add("installation", conversion["parent"], identity={**said, "outcome": "not-done-after-all"})
        if self._random.random() < 0.2:
            self.add("photo", self._installation.site, identity=_photo(noted["id"], self._random))

    def _label(self, group: str, position: int) -> None:
        drawn = self._random.random()
        for again in range(0 if drawn < 0.1 else 2 if drawn > 0.9 else 1):
            code = f"{self._random.getrandbits(24):06X}"
            more = {"printed": {"at": "2026-04-01T09:00:00Z"}} if self._random.random() < 0.3 else {}
            voided = {"voided": {"reason": "damaged"}} if self._random.random() < 0.1 else {}
            binding = {"group": group, "position": position}
            identity = {"code": code, "origin": "printed"}
            self.add(
                "label",
                self._installation.site,
                label_id(f"{code}{again}"),
                identity=identity,
                binding=binding,
                **more,
                **voided,
            )

    def _test(self, group: str, position: int) -> None:
        for _ in range(self._random.randrange(3)):
            result = self._random.choice(["passed", "failed", "still-due"])
            said = {"position": position, "result": result, "minutes": self._random.choice([60, 95]), "wanted_min": 90}
            self.add("emergency_test", group, identity={**said, "noted_at": "2026-04-03T09:00:00Z"})

    def _go_on(self) -> None:
        """Fixtures go, rooms are called otherwise, groups are removed, conversions and a release are withdrawn."""
        groups, rooms, conversions = self.records("group"), self.records("room"), self.records("conversion")
        first, second, third = groups[:3]
        first["facets"]["count"] = {**first["facets"]["count"], "count": 2, "gone": [1, 3]}
        rooms[0]["facets"]["identity"]["name"] = "A new name"
        second["removed"] = True
        rooms[-1]["removed"] = True
        for each in conversions[:2]:
            each["facets"]["withdrawn"] = {"reason": "Not any more"}
        self._new += [first, second, rooms[0], rooms[-1], *conversions[:2]]
        self._withdrawn_release(conversions[3:6])
        noted = self.records("installation")
        for each in noted[::9]:
            each["removed"] = True
        photos = self.records("photo")
        self._new += [*noted[::9], *({**each, "removed": True} for each in photos[:1])]
        for room in rooms[:6]:
            self.add(
                "lux_reading",
                room["id"],
                identity={"point": "A", "when": "before", "lux": 300, "read_at": "2026-02-01"},
            )
            self.add("punch_point", room["id"], identity={"words": "A scratch", "group": third["id"], "position": 1})
        own = self.add(
            "punch_point",
            rooms[1]["id"],
            identity={"words": "Dust"},
            closed={"how": "done", "words": "Wiped", "noted_at": "2026-05-01T10:00:00Z"},
        )
        assert own
        self.keep()

    def _withdrawn_release(self, conversions: list[Json]) -> None:
        release = copy.deepcopy(self.records("release")[-1])
        release |= {"id": str(uuid.UUID(int=self._random.getrandbits(128), version=4))}
        number = release["facets"]["identity"]["number"] + 1
        release["facets"]["identity"]["number"] = number
        release["facets"]["withdrawn"] = {"reason": "Too early"}
        self._new.append(release)
        for each in conversions:
            identity = {**copy.deepcopy(each["facets"]["identity"]), "number": number, "release": release["id"]}
            self.add("conversion", each["parent"], identity=identity)


def _photo(subject: str, drawn: random.Random) -> Json:
    sha256 = f"{drawn.getrandbits(256):064x}"
    return {"subject": subject, "purpose": "after", "sha256": sha256, "taken_at": "2026-04-02T09:00:00Z"}


@contextmanager
def late_installation(folder: Path) -> Iterator[Installation]:
    """An installation with a late site."""
    with installed(folder) as installation:
        make_late(installation)
        yield installation


def counted_whole(monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """How many records of each type are read whole from now on."""
    found, whole = Counter[str](), state.view_record

    def counted(row: Any, who: bool = False) -> Any:
        found[row.type] += 1
        return whole(row, who)

    monkeypatch.setattr(state, "view_record", counted)
    return found


def make_late(installation: Installation, seed: int = 7) -> LateSite:
    """Make the site of an installation a late one."""
    made = LateSite(installation, seed)
    made.make()
    return made


__all__ = ["LateSite", "make_late"]
