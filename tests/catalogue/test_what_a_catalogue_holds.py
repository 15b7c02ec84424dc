"""The firm's catalogue holds items and prices; what belongs to a building is refused there, by phone and by file."""

from __future__ import annotations

from typing import Any

import orjson
import pytest
from tests.catalogue.shelf import Shelf
from tests.support.installation import DEVICES, Installation, new_id

Json = Any


def pushed(here: Installation, site: str, type_: str, to: Json) -> Json:
    operation = here.operation("owner", new_id(), type_, "identity", {"parent": site, **to}, seen=None, spec=3)
    body = {"device": DEVICES["owner"], "epoch": "0000000e", "operations": [operation]}
    (answer,) = here.call("owner", "POST", f"/api/sites/{site}/push", data=orjson.dumps(body)).json["answers"]
    return answer


@pytest.mark.parametrize(
    ("type_", "to", "title"),
    [
        ("floor", {"name": "Ground"}, "Floor"),
        ("kind", {"mark": "K1"}, "Kind"),
        ("label", {"code": "A", "origin": "printed"}, "Label"),
    ],
)
def test_a_building_record_is_refused_with_what_may_stand_there(
    here: Installation, shelf: Shelf, type_: str, to: Json, title: str
) -> None:
    answer = pushed(here, shelf.site, type_, to)
    assert (answer["result"], answer["code"]) == ("refused", "not-in-a-catalogue")
    assert answer["facts"]["type"] == title
    assert "Catalogue item" in answer["facts"]["right"]
    assert pushed(here, here.site, type_, to)["result"] == "applied"


def test_a_building_has_items_of_its_own(here: Installation) -> None:
    assert pushed(here, here.site, "catalogue_item", {"item": "bar", "code": "OWN-1"})["result"] == "applied"


def test_a_room_list_cannot_be_brought_into_the_catalogue(here: Installation, shelf: Shelf) -> None:
    at, rows = f"/api/sites/{shelf.site}/imports", b"Floor,Room number\nGround,1\n"
    assert [each["kind"] for each in here.call("owner", "GET", at).json["kinds"]] == ["catalogue", "prices"]
    sent = {"data": rows, "content_type": "application/octet-stream"}
    told = here.call("owner", "POST", f"{at}?kind=rooms&name=rooms.csv", **sent)
    assert (told.status_code, told.json["code"]) == (422, "files.kind-not-here")
