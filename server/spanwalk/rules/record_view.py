"""What rules read: a record with its facets as they stand, and the reference tables."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NotRequired, TypedDict

if TYPE_CHECKING:
    from typing_extensions import ReadOnly

# Any: of a record whose type is not known here; the spec checked each value when it came in. See `record_types`.
Facet = Mapping[str, Any]
"""A facet's fields by name."""
# Any: each table has columns of its own, checked when the tables are read.
Row = Mapping[str, Any]
"""A row of a reference table."""
# Any: `rows`, and what holds for all of them, are of each table's own form.
Table = Mapping[str, Any]
"""A reference table."""
Tables = Mapping[str, Table]
"""Reference tables by name."""


class Conflict(TypedDict):
    """A conflict that is open on a record: the value that stands against the facet's, whose it is and since when."""

    id: str
    facet: str
    by: str
    at: str
    value: object


class Record(TypedDict):
    """A record as rules read it: what it stands in, whether it is removed, its facets, the conflicts that are open on it.

    `seqs`, `by` and `at` tell of each facet its sequence, whose word it is and since when; only where they were asked for.
    """

    id: str
    type: ReadOnly[str]
    parent: ReadOnly[str | None]
    removed: bool
    facets: ReadOnly[Mapping[str, object]]
    conflicts: list[Conflict]
    seqs: NotRequired[Mapping[str, int]]
    by: NotRequired[Mapping[str, str]]
    at: NotRequired[Mapping[str, str]]
