"""Codes for a site's fixtures, over HTTP on the demo building."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode

import pymupdf
from tests.open_points.complete_site import Hand
from tests.support.server import Client

from spanwalk.rules.codes import parse_code, spaced
from spanwalk.rules.survey import Survey, facet, floor_order, walk_order


def test_each_fixture_gets_one_code_and_making_codes_again_makes_none(client: Callable[[str], Client]) -> None:
    manager = client("manager")
    site = manager.site_id()
    status, first = manager.call("POST", f"/api/sites/{site}/labels", {})
    assert status == 201
    assert first["made"] > 400
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


def test_codes_are_made_only_for_what_is_converted(client: Callable[[str], Client]) -> None:
    """By the open points' own rule of what is converted, counted from the records."""
    manager = client("manager")
    site = manager.site_id()
    manager.call("POST", f"/api/sites/{site}/labels", {})
    survey = Survey(_views(_pull(manager, site)))
    converted = {group["id"] for group in survey.groups_to_convert()}
    bound = {facet(label, "binding")["group"] for label in survey.of_type("label")}
    left = {group["id"] for group in survey.of_type("group")} - converted
    assert left, "the demo has groups that are not converted"
    assert bound
    assert bound <= converted


def test_what_was_printed_is_not_new_any_more(client: Callable[[str], Client]) -> None:
    manager = client("manager")
    site = manager.site_id()
    manager.call("POST", f"/api/sites/{site}/labels", {})
    room = _a_room_with_labels(manager, site)
    here = _before(manager, site, what="new", room=room)["labels"]
    whole = _before(manager, site, what="new")["labels"]
    assert 0 < here < whole
    told = manager.call("POST", f"/api/sites/{site}/labels/printed", {"what": "new", "room": room})
    assert told == (200, {"marked": here})
    assert _before(manager, site, what="new", room=room)["labels"] == 0
    assert _before(manager, site, what="new")["labels"] == whole - here
    assert _before(manager, site, what="all", room=room)["labels"] == here


def test_a_voided_label_is_replaced_and_printed_again_alone(client: Callable[[str], Client]) -> None:
    manager = client("manager")
    site = manager.site_id()
    manager.call("POST", f"/api/sites/{site}/labels", {})
    label = next(r for r in _pull(manager, site) if r["type"] == "label" and not r["facets"].get("voided"))
    place = label["facets"]["binding"]["value"]
    Hand(manager, site).save(label["id"], "label", voided={"reason": "Torn."})
    assert _before(manager, site, what="again", **place)["labels"] == 0, "the fixture has no label now"
    assert manager.call("POST", f"/api/sites/{site}/labels", {}) == (201, {"made": 1})
    told = _before(manager, site, what="again", **place)
    assert told["labels"] == 1
    assert told["first_code"] != spaced(label["facets"]["identity"]["value"]["code"])


def test_one_fixture_is_printed_alone(client: Callable[[str], Client]) -> None:
    manager = client("manager")
    site = manager.site_id()
    manager.call("POST", f"/api/sites/{site}/labels", {})
    survey = Survey(_views(_pull(manager, site)))
    label = next(each for each in survey.of_type("label") if not facet(each, "voided") and facet(each, "binding"))
    place = facet(label, "binding")
    told = _before(manager, site, group=place["group"], position=place["position"])
    assert (told["labels"], told["pages"]) == (1, 1)


def test_blank_codes_are_printed_until_they_are_noted_as_printed(client: Callable[[str], Client]) -> None:
    manager = client("manager")
    site = manager.site_id()
    assert manager.call("POST", f"/api/sites/{site}/labels/blank", {"count": 30}) == (201, {"made": 30})
    assert _before(manager, site, what="blank")["labels"] == 30
    blank = [r for r in _pull(manager, site) if r["type"] == "label" and "binding" not in r["facets"]]
    assert {r["facets"]["identity"]["value"]["origin"] for r in blank} == {"pre-printed"}
    pdf = manager.get(f"/api/sites/{site}/labels.pdf?what=blank&paper=letter")
    with pymupdf.open(stream=pdf) as document:
        assert document.page_count == 1
    assert manager.call("POST", f"/api/sites/{site}/labels/printed", {"what": "blank"}) == (200, {"marked": 30})
    assert _before(manager, site, what="blank")["labels"] == 0
    for count in (0, 2001):
        status, said = manager.call("POST", f"/api/sites/{site}/labels/blank", {"count": count})
        assert (status, said["code"]) == (422, "body-field-wrong")


def test_without_a_public_address_the_symbols_hold_the_bare_code_whoever_prints(
    client: Callable[[str], Client],
) -> None:
    """They held the scheme and host of whoever printed: of a machine that nobody reaches, for good."""
    manager = client("manager")
    site = manager.site_id()
    manager.call("POST", f"/api/sites/{site}/labels", {})
    told = _before(manager, site)
    assert told["address"] is None
    assert told["first_text"] == told["first_code"].replace(" ", "")
    assert "127.0.0.1" not in json.dumps(told)


def test_labels_are_printed_in_the_order_in_which_one_walks(client: Callable[[str], Client]) -> None:
    manager = client("manager")
    site = manager.site_id()
    manager.call("POST", f"/api/sites/{site}/labels", {})
    survey = Survey(_views(_pull(manager, site)))
    codes: dict[str, tuple[int, int, int]] = {}
    for label in survey.of_type("label"):
        place = facet(label, "binding")
        group = survey.by_id.get(place.get("group", ""))
        if group and not facet(label, "voided"):
            at = (floor_order(survey.floor_of(group)), walk_order(survey.room_of(group)), place["position"])
            codes[spaced(facet(label, "identity")["code"])] = at
    pdf = manager.get(f"/api/sites/{site}/labels.pdf?paper=letter-2x10")
    with pymupdf.open(stream=pdf) as document:
        text = "\n".join(page.get_text() for page in document)
    printed = [codes[line] for line in text.splitlines() if line in codes]
    assert len(printed) > 400
    assert [each[:2] for each in printed] == sorted(each[:2] for each in printed)


def test_a_floor_that_is_not_there_and_a_paper_that_is_not_known_are_said(client: Callable[[str], Client]) -> None:
    manager = client("manager")
    site = manager.site_id()
    status, said = manager.call("GET", f"/api/sites/{site}/labels.pdf?floor=attic")
    assert (status, said["code"], said["value"]) == (404, "floor-unknown", "attic")
    status, said = manager.call("GET", f"/api/sites/{site}/labels.pdf?paper=a3")
    assert (status, said["code"]) == (422, "paper-unknown")
    assert "a4" in said["detail"]
    status, said = manager.call("GET", f"/api/sites/{site}/labels/print?paper=roll&width_mm=wide")
    assert (status, said["code"], said["field"]) == (422, "query-wrong", "width_mm")
    status, said = manager.call("GET", f"/api/sites/{site}/labels/print?sheet=notices&paper=letter")
    assert (status, said["code"]) == (422, "notice-too-small")
    status, said = manager.call("POST", f"/api/sites/{site}/labels", {"floor": 3})
    assert (status, said["code"]) == (422, "body-field-wrong")


def _pull(client: Client, site: str) -> list[dict]:
    records, since, more = [], 0, True
    while more:
        page = client.get(f"/api/sites/{site}/pull?since={since}&limit=1000")
        records += page["records"]
        since, more = page["next"], page["more"]
    return records


def _before(client: Client, site: str, **asked: object) -> dict[str, Any]:
    """What the server tells before a print."""
    told: dict[str, Any] = client.get(f"/api/sites/{site}/labels/print?{urlencode(asked)}")
    return told


def _views(records: list[dict]) -> list[Any]:
    """Records as the rules look at them."""
    return [
        {**each, "facets": {name: told["value"] for name, told in each["facets"].items()}, "conflicts": []}
        for each in records
    ]


def _a_room_with_labels(client: Client, site: str) -> str:
    survey = Survey(_views(_pull(client, site)))
    label = next(each for each in survey.of_type("label") if facet(each, "binding") and not facet(each, "printed"))
    return str(survey.by_id[facet(label, "binding")["group"]]["parent"])
