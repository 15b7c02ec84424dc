"""Codes for a site's fixtures, over HTTP on the demo building."""

from __future__ import annotations

from collections.abc import Callable

import pymupdf
from tests.support.server import Client

from spanwalk.rules.codes import parse_code


def test_each_fixture_gets_one_code_and_making_codes_again_makes_none(client: Callable[[str], Client]) -> None:
    manager = client("manager")
    site = manager.site_id()
    status, first = manager.call("POST", f"/api/sites/{site}/labels", {})
    assert status == 201
    assert first["made"] > 500
    assert manager.call("POST", f"/api/sites/{site}/labels", {}) == (200, {"made": 0})
    records = _pull(manager, site)
    labels = [r for r in records if r["type"] == "label"]
    codes = [r["facets"]["identity"]["value"]["code"] for r in labels]
    places = [tuple(r["facets"]["binding"]["value"].values()) for r in labels]
    assert len(labels) == first["made"] == len(set(codes)) == len(set(places))
    assert all(parse_code(code) == code for code in codes)
    pdf = manager.get(f"/api/sites/{site}/labels.pdf")
    with pymupdf.open(stream=pdf) as document:
        assert document.page_count == -(-first["made"] // 24)
    floors = [r["id"] for r in records if r["type"] == "floor"]
    pages = []
    for floor in floors:
        status, one = manager.call("GET", f"/api/sites/{site}/labels.pdf?floor={floor}&paper=letter")
        if status == 200:
            with pymupdf.open(stream=one) as document:
                pages.append(document.page_count)
    assert pages
    assert sum(pages) < len(pages) + first["made"] / 30 + 1


def test_a_floor_that_is_not_there_and_a_paper_that_is_not_known_are_said(client: Callable[[str], Client]) -> None:
    manager = client("manager")
    site = manager.site_id()
    status, said = manager.call("GET", f"/api/sites/{site}/labels.pdf?floor=attic")
    assert (status, said["code"], said["value"]) == (404, "floor-unknown", "attic")
    status, said = manager.call("GET", f"/api/sites/{site}/labels.pdf?paper=a3")
    assert (status, said["code"]) == (422, "paper-unknown")
    assert "a4" in said["detail"]
    status, said = manager.call("POST", f"/api/sites/{site}/labels", {"floor": 3})
    assert (status, said["code"]) == (422, "body-field-wrong")


def _pull(client: Client, site: str) -> list[dict]:
    records, since, more = [], 0, True
    while more:
        page = client.get(f"/api/sites/{site}/pull?since={since}&limit=1000")
        records += page["records"]
        since, more = page["next"], page["more"]
    return records
