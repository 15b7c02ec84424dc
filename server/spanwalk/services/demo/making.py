"""Make the demo's site: the building pushed through the same code as any phone's work, and its photos."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from hashlib import sha256
from itertools import groupby
from operator import itemgetter
from pathlib import Path
from typing import TypedDict

from flask import current_app
from sqlalchemy import insert
from sqlalchemy.orm import Session

from spanwalk.package_folders import seed_folder
from spanwalk.services.clock import now
from spanwalk.services.demo.building import Saved, Told, demo_id, expand, in_ticks
from spanwalk.services.demo.people import PEOPLE
from spanwalk.services.demo.pictures import SIZE_PX, picture
from spanwalk.services.demo.shelf import fill_catalogue
from spanwalk.services.people.members import Member
from spanwalk.services.people.people import set_role
from spanwalk.services.photos.kept import Kept, sealed
from spanwalk.services.sites import add_site
from spanwalk.services.sync.answering import answers_of
from spanwalk.services.sync.devices import note_device
from spanwalk.services.sync.incoming import parse_push
from spanwalk.services.sync.pushing import lock_site, take
from spanwalk.storage.photos import PhotoStore
from spanwalk.storage.tables import Photo

PUSHED_AT_ONCE = 500
TAKEN_IN = ("applied", "same", "conflict")


@dataclass(frozen=True)
class DemoFiles:
    """What the demo is made from."""

    building: Told
    catalogue: Told


def demo_folder() -> Path:
    """Where the demo's files lie: inside the installed package, or at the root of a working copy."""
    return seed_folder() / "demo"


def read_demo(folder: Path | None = None) -> DemoFiles:
    """Read the building and the catalogue."""
    at = folder or demo_folder()
    texts = [(at / name).read_text(encoding="utf-8") for name in ("building.json", "catalogue.json")]
    return DemoFiles(*(json.loads(text) for text in texts))


def load_demo(session: Session, people: Mapping[str, str], store: PhotoStore | None = None) -> str:
    """Make the demo's site with all that its surveyors and its manager entered.

    Parameters
    ----------
    session : Session
        A writing transaction.
    people : mapping of str to str
        Ids of the demo's people by name.
    store : PhotoStore, optional
        Where photos go; the app's own unless said.

    Returns
    -------
    str
        Id of the site.

    Raises
    ------
    ValueError
        The demo's files hold something that the spec does not allow.
    """
    files = read_demo()
    told = files.building["site"]
    site = add_site(session, told["name"], people["owner"], "owner", in_ticks(told["settings"]))
    for name, role in PEOPLE.items():
        set_role(session, site, people[name], role)
    drawn = {photo["draw"]: picture(photo["draw"]) for photo in files.building["photos"]}
    facts = {name: picture_facts(content) for name, content in drawn.items()}
    operations = expand(files.building, files.catalogue, site, people, facts)
    for device, batch in batches(operations):
        _take_in(session, site, device_facts(files, people, device), batch)
    fill_catalogue(session, people, site, operations)
    _keep_photos(session, store or current_app.extensions["spanwalk-photos"], site, files, people, drawn)
    return site


class PictureFacts(TypedDict):
    """What a photo's record says of its content."""

    sha256: str
    bytes: int
    width_px: int
    height_px: int


def picture_facts(content: bytes) -> PictureFacts:
    """What a photo's record says of its content."""
    width_px, height_px = SIZE_PX
    return {"sha256": sha256(content).hexdigest(), "bytes": len(content), "width_px": width_px, "height_px": height_px}


def batches(operations: list[Saved]) -> Iterator[tuple[str, list[Saved]]]:
    """Runs of operations of one device, in the order of saving, none too long for one push."""
    marked = [(operation["id"].split(".")[0], operation) for operation in operations]
    for device, run in groupby(marked, key=itemgetter(0)):
        found = [operation for _, operation in run]
        for start in range(0, len(found), PUSHED_AT_ONCE):
            yield device, found[start : start + PUSHED_AT_ONCE]


@dataclass(frozen=True)
class DeviceFacts:
    """A device of the demo, who holds it, and what it says that it has not sent."""

    id: str
    person: str
    name: str
    role: str
    unsent: dict[str, int]


def device_facts(files: DemoFiles, people: Mapping[str, str], device: str) -> DeviceFacts:
    """What the building's file says of a device, by its id."""
    told = next(each for each in files.building["devices"] if demo_id("device", each["key"]) == device)
    name = told["person"]
    return DeviceFacts(device, people[name], name, PEOPLE[name], told.get("unsent", {"operations": 0, "photos": 0}))


def _take_in(session: Session, site: str, device: DeviceFacts, batch: list[Saved]) -> None:
    """What a push does, in the transaction that makes the demo."""
    body = {"device": device.id, "epoch": batch[0]["id"].split(".")[1], "unsent": device.unsent, "operations": batch}
    sent = parse_push(json.dumps(body).encode())
    member = Member(device.person, device.name, site, device.role)
    head = lock_site(session, site)
    note_device(session, member, device.id, sent.unsent_operations, sent.unsent_photos)
    decision = take(session, member, sent.operations, head, device=device.id)
    refused = [answer for answer in answers_of(session, member, decision) if answer["result"] not in TAKEN_IN]
    if refused:
        raise ValueError(f"the demo's own operations were refused: {refused[:3]}")


def _keep_photos(
    session: Session,
    store: PhotoStore,
    site: str,
    files: DemoFiles,
    people: Mapping[str, str],
    drawn: Mapping[str, bytes],
) -> None:
    """Keep the photos, but for the one that is still on somebody's phone."""
    holders = {device["key"]: people[device["person"]] for device in files.building["devices"]}
    for photo in files.building["photos"]:
        if photo.get("still_on_the_phone"):
            continue
        content = drawn[photo["draw"]]
        facts = picture_facts(content)
        store.put(facts["sha256"], sealed(Kept(content)))  # drawn by us: there is nothing to make anew
        session.execute(insert(Photo).values(site=site, person=holders[photo["by"]], received_at=now(), **facts))
