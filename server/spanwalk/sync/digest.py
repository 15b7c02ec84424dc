"""What a whole site looks like in one number that follows each change, so that a phone can check its copy.

Twin: pwa/storage/digest.js.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable

from spanwalk.sync.canonical import canonical
from spanwalk.sync.model import WireRecord

MODULUS = 2**256


def digest_line(record: WireRecord) -> str | None:
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
    facets = {name: [stored["op"], stored["value"]] for name, stored in record["facets"].items()}
    return canonical([record["id"], record["removed"], facets, conflicts])


def line_hash(line: str) -> int:
    """What one line adds to the sum: its SHA-256, read as a number from 0 to 2^256 - 1."""
    return int.from_bytes(hashlib.sha256(line.encode()).digest())


def added(total: int, change: int) -> int:
    """A sum with a hash added, or taken away where it is negative, modulo 2^256.

    Examples
    --------
    >>> added(2**256 - 1, 2), added(0, -1) == 2**256 - 1
    (1, True)
    """
    return (total + change) % MODULUS


def written(total: int) -> str:
    """A sum as it goes over the wire: 64 hexadecimal digits in lower case.

    Examples
    --------
    >>> written(255)[-4:], len(written(255))
    ('00ff', 64)
    """
    return f"{total:064x}"


def digest(lines: Iterable[str]) -> tuple[int, str]:
    """Count and sum of a site from its records' lines, in whatever order they come."""
    hashes = [line_hash(line) for line in lines]
    return len(hashes), written(sum(hashes) % MODULUS)
