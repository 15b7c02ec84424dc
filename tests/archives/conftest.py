"""The demo building, released, labelled and partly noted, closed; its archive, by the way that an owner takes it away."""

from __future__ import annotations

import time
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from tests.handover.test_report_of_the_demo_building import HandedOver, no_duty
from tests.open_points.complete_site import Hand
from tests.support.back_ends import ONE_MACHINE
from tests.support.demo_server import started
from tests.support.releasing import release_seen
from tests.support.server import Client, Server

MADE_WITHIN_S = 120
WARRANTY_YEARS = {"TERN-4": 3, "HERON-30": 5}
"""Invented."""


@dataclass
class Closed:
    """A closed site on a running server, and its archive: the zip, and unpacked."""

    server: Server
    owner: Client
    site: str
    told: dict[str, Any]
    zip: Path
    bag: Path
    hand: HandedOver
    noted_first: tuple[str, int]
    emergency: tuple[str, int]


def archive_of(owner: Client, site: str) -> dict[str, Any]:
    """How the archive stands once it is made, or could not be."""
    end = time.monotonic() + MADE_WITHIN_S
    while time.monotonic() < end:
        told: dict[str, Any] = owner.get(f"/api/sites/{site}/archive")
        if told["state"] not in ("making", "none"):
            return told
        time.sleep(0.1)
    raise AssertionError("the archive was not made in time")


def unpacked(path: Path, folder: Path) -> Path:
    """The bag in a zip, unpacked."""
    with zipfile.ZipFile(path) as parts:
        parts.extractall(folder)
    (bag,) = folder.iterdir()
    return bag


def a_closed_demo(
    data: Path,
    folder: Path,
    items: list[dict[str, Any]] | None = None,
    emergency: bool = False,
    env: dict[str, str] | None = None,
) -> Closed:
    """The demo building closed, with all that a real one has; `items`: what was fitted in the first fixture."""
    running = started(ONE_MACHINE, data, folder / "data", env or {})
    manager, owner = Client(running.url, "manager"), Client(running.url, "owner")
    site = manager.site_id()
    made = HandedOver(manager, site, Hand(manager, site))
    if items:
        made.hand.save(site, "site", notice={"firm": "Slipway Electrical", "call": "555 0134"})
        for item in made.records("catalogue_item"):
            if item["identity"]["code"] in WARRANTY_YEARS:
                years = WARRANTY_YEARS[item["identity"]["code"]]
                made.hand.save(item["id"], "catalogue_item", supply={**item.get("supply", {}), "warranty_years": years})
    assert release_seen(manager, site)[0] == 201
    assert manager.call("POST", f"/api/sites/{site}/labels", {})[0] == 201
    first, *_ = filter(no_duty, made.records("conversion"))
    made.note(first, 1, as_fitted={"as_released": False, "items": items} if items else {"as_released": True})
    noted = (first["identity"]["parent"], 1)
    lit = next(each for each in made.records("conversion") if not no_duty(each)) if emergency else first
    at = (lit["identity"]["parent"], (lit["identity"]["frozen"]["emergency"]["positions"] or [1])[0])
    if emergency:
        made.note(lit, at[1], as_fitted={"as_released": True})
    made.note(first, 2, "problem", identity={"problem": "A bent holder", "reason": "sockets-damaged"})
    made.take_photo(first, 1)
    assert owner.call("PUT", f"/api/sites/{site}/archived", {"archived": True})[0] == 204
    told = archive_of(owner, site)
    path = folder / "archive.zip"
    path.write_bytes(owner.get(f"/api/sites/{site}/archive.zip"))
    return Closed(running, owner, site, told, path, unpacked(path, folder / "unpacked"), made, noted, at)


@pytest.fixture(scope="module")
def closed(demo_data: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Closed]:
    made = a_closed_demo(demo_data, tmp_path_factory.mktemp("closed"))
    yield made
    made.server.stop()
