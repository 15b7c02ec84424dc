"""What a whole site looks like in one hash, so that a phone can check its copy. Twin: pwa/sync/digest.js."""

from __future__ import annotations

from collections.abc import Iterable

from spanwalk.sync.canonical import Json, canonical, sha256_of


def digest_line(record: dict[str, Json]) -> str | None:
    """One record's line in the digest, or None if it has none.

    A live record has a line; a removed one only while a conflict of it is open.

    Parameters
    ----------
    record : dict
        A record's state as it stands on the wire, every value present.

    Returns
    -------
    str or None
        Canonical JSON of ``[id, removed, {facet: [op, value]}, [open conflict ids]]``.
    """
    conflicts = sorted(conflict["id"] for conflict in record["conflicts"])
    if record["removed"] and not conflicts:
        return None
    facets = {name: [held["op"], held["value"]] for name, held in record["facets"].items()}
    return canonical([record["id"], record["removed"], facets, conflicts])


def digest(lines: Iterable[str]) -> tuple[int, str]:
    """Count and digest of a site from its records' lines, in whatever order they come.

    Lines begin with the record's id, so sorting them sorts by id.
    """
    ordered = sorted(lines)
    return len(ordered), sha256_of("\n".join(ordered))
