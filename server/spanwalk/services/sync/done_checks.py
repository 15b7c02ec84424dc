"""A fixture is done only with the checks that its card wants: what comes without them is refused.

From the spec on that brought visits; older phones blocked 'done' by themselves, and what still waits on them is taken.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import cast

from spanwalk import records
from spanwalk.rules.installing.checked_off import missing_checks
from spanwalk.services.people.members import Member
from spanwalk.sync.model import IDENTITY, SET, Flaw, Gathered, Operation

INSTALLATION, CONVERSION, DONE = "installation", "conversion", "done"
SINCE_SPEC = 3


def judge_done(member: Member, gathered: Gathered, operations: Sequence[Operation]) -> None:
    """Give each operation that says 'done' without its checks its flaw.

    What the server itself brings in (the copy of a site) was judged where it came from.
    """
    if member.role == records.SERVER:
        return
    for operation in operations:
        if _says_done(operation):
            operation.flaw = _flaw(gathered, operation.to or {})


def _says_done(operation: Operation) -> bool:
    about = (operation.type, operation.facet, operation.kind) == (INSTALLATION, IDENTITY, SET)
    new = about and operation.spec >= SINCE_SPEC and operation.flaw is None and not operation.held
    return new and (operation.to or {}).get("outcome") == DONE


def _flaw(gathered: Gathered, value: Mapping[str, object]) -> Flaw | None:
    """What is missing: of the card, or the ticks of every fixture where no conversion is named.

    A conversion that is not there, or is none, is left to be refused as such.
    """
    named = value.get("conversion")
    conversion = gathered.states.get(str(named))
    if named is not None and (conversion is None or conversion.type != CONVERSION):
        return None
    frozen = conversion.facets[IDENTITY]["value"].get("frozen") if conversion is not None else None
    made = cast("list[str]", value.get("checks") or [])
    missing = missing_checks(cast("Mapping[str, object]", frozen or {}), cast("int", value["position"]), made)
    facts: dict[str, object] = {"type": INSTALLATION, "field": "checks", "value": made, "right": missing}
    return Flaw("done-without-ticks", facts) if missing else None


__all__ = ["judge_done"]
