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


def may_read_facet(role: str, type_name: str, facet: str) -> bool:
    """Whether a role reads a facet of records that it reads; one from a newer spec with its record."""
    known = spec().types.get(type_name)
    held = known.facets.get(facet) if known is not None else None
    return held is None or held.read is None or role in held.read or role == SERVER


@cache
def not_read(role: str) -> tuple[str, ...]:
    """What a role does not read of records that it reads: where that changes, a phone takes its copy anew.

    Of photos the customer's facility manager reads those of failures; see `services.sync.narrowed`.
    """
    facets = [
        f"{name}.{facet}"
        for name in readable_types(role)
        for facet in spec().types[name].facets
        if not may_read_facet(role, name, facet)
    ]
    return ("photo of no failure", *facets) if role == FACILITY else tuple(facets)


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
