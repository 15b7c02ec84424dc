"""The demo building as view records, without a database: what its operations come to, the losing ones as conflicts."""

from __future__ import annotations

from typing import Any

from spanwalk.services.demo.building import expand, in_ticks
from spanwalk.services.demo.making import read_demo
from spanwalk.services.demo.people import PEOPLE

SITE = "5d7e0f9c-0000-4000-8000-000000000000"


class AnyPicture(dict[str, Any]):
    """Facts of whatever picture is asked for: none is drawn here."""

    def __missing__(self, draw: str) -> dict[str, Any]:
        return {"sha256": "0" * 64, "bytes": 1, "width_px": 1, "height_px": 1}


def demo_records() -> list[dict[str, Any]]:
    """View records of the demo building, in the order in which they were made."""
    files = read_demo()
    people = {name: f"00000000-0000-4000-8000-{place:012d}" for place, name in enumerate(PEOPLE)}
    settings = in_ticks(files.building["site"]["settings"])
    records = {SITE: view(SITE, "site", None) | {"facets": {"settings": settings}}}
    last: dict[tuple[str, str], str] = {}
    for operation in expand(files.building, files.catalogue, SITE, people, AnyPicture()):
        take(records, last, operation)
    return list(records.values())


def view(id: str, type: str, parent: str | None) -> dict[str, Any]:
    return {"id": id, "type": type, "parent": parent, "removed": False, "facets": {}, "conflicts": []}


def take(records: dict[str, dict[str, Any]], last: dict[tuple[str, str], str], operation: dict[str, Any]) -> None:
    """Merge one operation: whoever had not seen what is there loses and opens a conflict."""
    record = records.setdefault(operation["record"], view(operation["record"], operation["type"], None))
    value, at = dict(operation["to"]), (operation["record"], operation["facet"])
    record["parent"] = value.pop("parent", record["parent"])
    if operation["seen"] != last.get(at):
        record["conflicts"].append(
            {"id": operation["id"], "facet": operation["facet"], "by": operation["by"], "value": value}
        )
        return
    record["facets"][operation["facet"]] = value
    last[at] = operation["id"]
