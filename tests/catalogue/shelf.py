"""The firm's catalogue as tests fill it: invented bars with prices, pushed as an owner's desk would."""

from __future__ import annotations

from typing import Any

import orjson
from tests.support.installation import DEVICES, Installation, new_id

Json = Any
BAR = {
    "length_ticks": 380480,
    "tolerance_ticks": 160,
    "joint_ticks": 320,
    "end_gap_ticks": 640,
    "width_ticks": 7040,
    "height_ticks": 3840,
    "cover": "none",
    "lit_ticks": 374080,
    "lumens_per_w": 168,
    "rated_ma": 350,
    "most_ma": 550,
    "forward_v": 36,
    "l70_h": 60000,
    "rise_k": 15,
    "moisture": "dry",
    "fixing": ["magnets"],
}


class Shelf:
    """The firm's catalogue of an installation, kept by its owner."""

    def __init__(self, here: Installation) -> None:
        self.here = here
        self.site = here.call("owner", "POST", "/api/catalogue", json={}).json["id"]
        self.seen: dict[tuple[str, str], str] = {}
        self.values: dict[tuple[str, str], Json] = {}

    def say(self, record: str, type_: str, facet: str, to: Json, site: str = "", by: str = "owner") -> None:
        """Write a facet, having seen what stands there."""
        key = (site or self.site) + record, facet
        operation = self.here.operation(by, record, type_, facet, to, seen=self.seen.get(key), spec=3)
        body = {"device": DEVICES[by], "epoch": "0000000e", "operations": [operation]}
        answer = self.here.call(by, "POST", f"/api/sites/{site or self.site}/push", data=orjson.dumps(body))
        assert answer.json["answers"][0]["result"] == "applied", answer.json
        self.seen[key] = operation["id"]

    def remove(self, record: str, type_: str, facets: tuple[str, ...]) -> None:
        """Take a record off the shelf."""
        seen = {facet: self.seen[self.site + record, facet] for facet in facets}
        operation = self.here.operation("owner", record, type_, "life", None, kind="remove", seen=seen, spec=3)
        body = {"device": DEVICES["owner"], "epoch": "0000000e", "operations": [operation]}
        answer = self.here.call("owner", "POST", f"/api/sites/{self.site}/push", data=orjson.dumps(body))
        assert answer.json["answers"][0]["result"] == "applied", answer.json

    def bar(self, code: str, each: float = 12.9, site: str = "", **more: Json) -> tuple[str, str]:
        """A bar with a price; ids of the item and of the price."""
        item, price = new_id(), new_id()
        identity = {"parent": site or self.site, "item": "bar", "code": code, "name": f"Bar {code}"}
        self.say(item, "catalogue_item", "identity", identity, site)
        self.say(item, "catalogue_item", "bar", {**BAR, **more}, site)
        self.price(item, price, each, site)
        return item, price

    def price(self, item: str, price: str, each: float, site: str = "") -> None:
        self.say(price, "price", "identity", {"parent": item, "each": each}, site)

    # -- the building

    def told(self, name: str = "manager") -> Json:
        answer = self.here.call(name, "GET", "/api/sites/{site}/catalogue")
        assert answer.status_code == 200, answer.text
        return answer.json

    def take(self, name: str = "manager", **body: Json) -> Any:
        return self.here.call(name, "POST", "/api/sites/{site}/catalogue/take", json=body)

    def taken(self, **body: Json) -> Json:
        answer = self.take(**body)
        assert answer.status_code == 200, answer.text
        return answer.json

    def building(self) -> dict[str, Json]:
        """Live records of the building by id: `{"type", facet: value, …}`."""
        records = self.here.pull("manager", "since=0&limit=5000")["records"]
        return {
            each["id"]: {"type": each["type"], **{name: said["value"] for name, said in each["facets"].items()}}
            for each in records
            if not each["removed"]
        }
