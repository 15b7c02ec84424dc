"""Proof packs in one zip: each as workbook and pages, attachments and small photos beside them, a list with SHA-256 of each."""

from __future__ import annotations

import hashlib
import zipfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path

from spanwalk.rules.survey import facet
from spanwalk.services.attachments.attachments import ENDINGS, kept_attachment, name_kept
from spanwalk.services.background.making import Step
from spanwalk.services.handover.pictures import small_picture
from spanwalk.services.proof.density import carbon_pack, density_pack
from spanwalk.services.proof.gathering import Proof, proof_of
from spanwalk.services.proof.rebate import rebate_pack
from spanwalk.services.proof.recycler import recycler_pack
from spanwalk.services.proof.tables import Pack, pages_of, workbook_of
from spanwalk.services.refusals import NotThere
from spanwalk.storage.database import reading
from spanwalk.storage.photos import PhotoStore, StoreFails
from spanwalk.words import say

PACKS: Mapping[str, Callable[[Proof], Pack]] = {
    "rebate": rebate_pack,
    "recycler": recycler_pack,
    "density": density_pack,
    "carbon": carbon_pack,
}
ATTACHED_BYTES_MOST = 100_000_000
PICTURE_BYTES_MOST = 20_000_000
"""Of all in one zip: what is beyond is listed, and said to be left out."""


def write_packs(site_id: str, role: str, names: Sequence[str], store: PhotoStore, path: Path, step: Step) -> None:
    """Write packs of a site as one zip to a file; memory holds one of its files at a time.

    Parameters
    ----------
    site_id : str
        The site.
    role : str
        Who asks; a role that reads the sums of releases.
    names : sequence of str
        Names of `PACKS`.
    store : PhotoStore
        Where photos and attachments lie; fetched one at a time.
    path : Path
        The zip to be written.
    step : callable
        Is told how far it is.

    Raises
    ------
    NotThere
        Nothing has been released.
    """
    with reading() as session:
        proof = proof_of(session, site_id, role)
    listed: list[str] = []
    files = 2 * len(names) + len(proof.arrived) + len({each.sha256 for each in proof.report.photos})
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as parts:
        for name, data in _files(proof, names, store):
            parts.writestr(name, data)
            listed.append(f"{hashlib.sha256(data).hexdigest()}  {name}")
            step(min(len(listed), files), files)
        about = [say("proof.readme"), *_left_out(proof, names, parts.namelist())]
        parts.writestr("README.txt", "\n".join([*about, "", *listed, ""]))


def _left_out(proof: Proof, names: Sequence[str], written: list[str]) -> Iterator[str]:
    """What the zip lacks of what the tables name: it has not arrived, is damaged, or would make the zip too large."""
    wanted = {
        "photos": {each.sha256 for each in proof.report.photos} if "rebate" in names else set(),
        "attachments": {facet(each, "identity")["sha256"] for each in proof.attachments},
    }
    for folder, hashes in wanted.items():
        there = sum(name.startswith(f"{folder}/") for name in written)
        if len(hashes) > there and {"rebate", "recycler"} & set(names):
            yield say(f"proof.left-out.{folder}", {"n": len(hashes) - there})


def _files(proof: Proof, names: Sequence[str], store: PhotoStore) -> Iterator[tuple[str, bytes]]:
    report = proof.report
    for name in names:
        pack = PACKS[name](proof)
        yield f"{name}.xlsx", workbook_of(pack)
        yield f"{name}.pdf", pages_of(pack, report.site.name, report.made_on, report.inches)
    if {"rebate", "recycler"} & set(names):
        yield from _attached(proof, store)
    if "rebate" in names:
        yield from _pictures(proof, store)


def _attached(proof: Proof, store: PhotoStore) -> Iterator[tuple[str, bytes]]:
    """Each attachment once, by its SHA-256: what somebody called it stands in the tables."""
    left = ATTACHED_BYTES_MOST
    for sha256 in sorted({facet(each, "identity")["sha256"] for each in proof.attachments}):
        if sha256 not in proof.arrived:
            continue
        try:
            data = kept_attachment(store, name_kept(sha256))
        except (NotThere, StoreFails):
            continue
        left -= len(data)
        if left < 0:
            return
        yield f"attachments/{sha256}.{ENDINGS[proof.arrived[sha256]]}", data


def _pictures(proof: Proof, store: PhotoStore) -> Iterator[tuple[str, bytes]]:
    left, seen = PICTURE_BYTES_MOST, set[str]()
    for photo in proof.report.photos:
        if photo.sha256 in seen or left < 0:
            continue
        seen.add(photo.sha256)
        data = small_picture(store, photo)
        if data is not None:
            left -= len(data)
            yield f"photos/{photo.sha256}.jpg", data
