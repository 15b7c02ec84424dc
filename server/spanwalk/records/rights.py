"""Who reads and writes what."""

from __future__ import annotations

from functools import cache

from spanwalk.records.specification import IDENTITY, LIFE, spec

FACILITY = "facility"
"""The customer's: reads what the building remembers, reports failures and tests; none of the firm's work."""
ROLES = ("surveyor", "crew", "manager", "owner", FACILITY)
SERVER = "server"


def may_read(role: str, type_name: str) -> bool:
    """Whether a role reads records of a type."""
    known = spec().types.get(type_name)
    return known is not None and (role in known.read or role == SERVER)


def may_write(role: str, type_name: str, facet: str) -> bool:
    """Whether a role writes a facet. Life goes with identity; a facet from a newer spec with any writer."""
    return role == SERVER or role in writers(type_name, facet)


def writers(type_name: str, facet: str) -> frozenset[str]:
    """The roles that write a facet."""
    known = spec().types.get(type_name)
    if known is None:
        return frozenset()
    about = known.facets.get(IDENTITY if facet == LIFE else facet)
    if about is not None:
        return about.write
    return frozenset().union(*(each.write for each in known.facets.values())) - {SERVER}


@cache
def readable_types(role: str) -> tuple[str, ...]:
    """The types that a role reads, in the spec's order."""
    return tuple(name for name in spec().types if may_read(role, name))
