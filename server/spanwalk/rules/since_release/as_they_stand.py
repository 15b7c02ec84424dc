"""Fields, conflicts and items that are compared as they stand. Twin: pwa/rules/since_release/as_they_stand.js."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from spanwalk.rules.record_view import Facet
from spanwalk.rules.since_release.seen import LOOK, PARTS, STOP, Change, Seen, change, facet_of_item, plain, said_by
from spanwalk.rules.survey import facet, has


def _differing(before: Facet, now: Facet, rows: Mapping[str, Facet]) -> Iterator[tuple[str, str]]:
    """Fields that differ and are compared as they stand, with the weight of each."""
    for field in sorted({*before, *now}):
        row = rows.get(field) or rows.get("*")
        if row is None or row["class"] not in (STOP, LOOK) or plain(before.get(field)) == plain(now.get(field)):
            continue
        yield field, LOOK if now.get(field) in row.get("harmless", ()) else row["class"]


def fields(seen: Seen) -> Iterator[Change]:
    """Fields that say otherwise than was frozen, each with the weight that the table gives it."""
    records = dict(seen.records())
    for (name, facet_name), rows in seen.rows.items():
        if name not in records:
            continue
        before, now = seen.facts.get(name, {}).get(facet_name, {}), facet(records[name], facet_name)
        for field, weight in _differing(before, now, rows):
            fact = f"{name}.{facet_name}.{field}"
            yield change(
                fact, weight, plain(before.get(field)), plain(now.get(field)), said_by(records[name], facet_name)
            )


def conflicts(seen: Seen) -> Iterator[Change]:
    """Facets that have two values since; what was in conflict when it was released was looked at then."""
    rows, known = seen.rows, seen.facts.get("conflicts", [])
    for name, record in seen.records():
        for conflict in record["conflicts"]:
            facet_name = conflict["facet"]
            if (name, facet_name) not in rows or conflict["id"] in known or name == "site":
                continue
            weight = STOP if "conflict" in rows[name, facet_name] else LOOK
            said: Change = {"by": conflict.get("by", ""), "at": conflict.get("at", "")}
            yield change("conflict", weight, None, "two values", said, f"{name}.{facet_name}")


def items(seen: Seen) -> Iterator[Change]:
    """Items that were recalled since, or of which the catalogue says something else."""
    rows = seen.rows
    for item_id in dict.fromkeys(seen.items(*PARTS)):
        record, released = seen.survey.by_id.get(item_id), seen.released.get(item_id, {})
        if record is None:
            continue
        code = released.get("code", "")
        if has(record, "recall"):
            yield change(
                "item.recall", STOP, None, facet(record, "recall").get("reason"), said_by(record, "recall"), code
            )
        name = facet_of_item(record)
        if name is None or name not in released:
            continue
        before, now = released[name], facet(record, name)
        for field, weight in _differing(before, now, rows["item", name]):
            yield change(
                f"item.{name}.{field}",
                weight,
                plain(before.get(field)),
                plain(now.get(field)),
                said_by(record, name),
                code,
            )
