"""What the merge rules speak about: operations, states of records, what is known of earlier operations."""

from __future__ import annotations

from collections.abc import Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field
from typing import NotRequired, TypedDict

IDENTITY = "identity"
LIFE = "life"
PARENT = "parent"

SET, REMOVE, RESTORE = "set", "remove", "restore"
CHILD = "child"
"""Kind of a conflict that a child opened on its removed parent."""
APPLIED, SAME, CONFLICT, REFUSED, HELD, FORK = "applied", "same", "conflict", "refused", "held", "fork"


class StoredFacet(TypedDict):
    """The value of a facet as it stands: which operation wrote it, at which sequence, by whom, when by that phone."""

    op: str
    seq: int
    by: str
    at: str
    value: dict[str, object]
    via: NotRequired[str]


class OpenConflict(TypedDict):
    """A value that was not taken: `id` of its operation; of `kind` CHILD, the `child` that came under a removed parent."""

    id: str
    facet: str
    op: str
    by: str
    at: str
    seq: int
    kind: str
    device: str
    value: dict[str, object]
    child: NotRequired[str]
    via: NotRequired[str]


class WireRecord(TypedDict):
    """A record's state as phones receive it."""

    id: str
    type: str
    parent: str | None
    seq: int
    removed: bool
    facets: dict[str, StoredFacet]
    conflicts: list[OpenConflict]


@dataclass(frozen=True, slots=True)
class Flaw:
    """Why an operation cannot be accepted: a code and the facts its sentence needs."""

    code: str
    facts: Mapping[str, object]


@dataclass(frozen=True, slots=True)
class Reference:
    """A record that an operation's value points to, through which field, and what it may be."""

    field: str
    record: str
    types: tuple[str, ...]


@dataclass(slots=True)
class Operation:
    """One change that a person made, with what the server found out before deciding.

    `seen` is the id of the operation that wrote the value which the form showed (None: it showed nothing);
    for a removal, such an id for each facet. `flaw` is a wrong form or a missing right, `held` a person or
    device that may no longer write here.
    """

    id: str
    device: str
    by: str
    record: str
    type: str
    facet: str
    kind: str
    seen: str | dict[str, str | None] | None
    to: dict[str, object] | None
    settles: tuple[str, ...]
    replaces: str | None
    formerly: tuple[str, str] | None
    device_time: str
    hash: str
    body: str
    spec: int = 0
    references: tuple[Reference, ...] = ()
    flaw: Flaw | None = None
    held: bool = False
    via: str | None = None
    """Who handed it in, where that is another than who made it."""
    knows: frozenset[str] | None = None
    """Fields that the sender's spec knows, of a `set`; None: it replaces the whole value."""


@dataclass(slots=True)
class State:
    """A record as the server has it. `facets`: name -> {op, seq, by, at, value}; `conflicts`: the open ones.

    `line_hash` is that of its line as it was last written down; no rule looks at it.
    """

    id: str
    type: str
    parent: str | None
    seq: int
    removed: bool
    facets: dict[str, StoredFacet]
    conflicts: list[OpenConflict]
    line_hash: str | None = None

    def wire(self) -> WireRecord:
        """The state as phones receive it."""
        return {
            "id": self.id,
            "type": self.type,
            "parent": self.parent,
            "seq": self.seq,
            "removed": self.removed,
            "facets": self.facets,
            "conflicts": self.conflicts,
        }


@dataclass(slots=True)
class Known:
    """What became of an operation; never changed after it is made. (Freezing it costs a push more than writing its row.)

    `base` is the applied operation that it stands for when a later one has 'seen' it: itself if it was
    applied, the writer it agreed with if it was the same, what it had itself seen if it lost or was refused.
    `lost` is the conflict that it opened, or that a refused one inherits from what it had seen. `facts` of a refused one
    are those of its sentence; of an applied one they say in `kept` which fields of the value stayed beside what it set.
    """

    id: str
    hash: str
    result: str
    seq: int | None
    record: str
    by: str
    device: str
    base: str | None
    lost: str | None = None
    code: str | None = None
    facts: Mapping[str, object] | None = None


@dataclass(slots=True)
class Gathered:
    """Everything that the decision about a batch may look at."""

    site: str
    head: int
    states: dict[str, State] = field(default_factory=dict)
    children: dict[str, set[str]] = field(default_factory=dict)
    """Live children of each record that the batch removes."""
    staying: AbstractSet[str] = frozenset()
    """Types of record that stay where what they stand under is removed: they tell of work done or released."""
    stay: set[str] = field(default_factory=set)
    """Of those children, the ones of such a type."""
    known: dict[str, Known] = field(default_factory=dict)
    formerly: dict[tuple[str, str], Known] = field(default_factory=dict)
    """By former id and its hash: the operation that has since arrived under another id."""
    replaced_by: dict[str, str] = field(default_factory=dict)
    """By id of a refused operation: the id of the one that corrects it."""
    missing: dict[str, Known] = field(default_factory=dict)
    """By id of a record that is not there: the refused or held operation that would have made it."""
    copied: AbstractSet[str] = frozenset()
    """Devices by which the sender goes and which are another phone's: what is not known by their ids is a fork."""


@dataclass(frozen=True, slots=True)
class LogRow:
    """An operation and what became of it, to be written down."""

    operation: Operation
    known: Known


@dataclass(slots=True)
class Decision:
    """What a batch does: an answer for each operation, in order; states to store; rows for the log."""

    head: int
    answers: list[Known]
    changed: dict[str, State]
    created: set[str]
    log: list[LogRow]
