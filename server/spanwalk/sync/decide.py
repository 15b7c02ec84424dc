"""What a batch of operations does to a site: the merge rules, and nothing else. Specified in README.md."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import cast

from spanwalk.sync.canonical import same_value
from spanwalk.sync.model import (
    APPLIED,
    CHILD,
    CONFLICT,
    FORK,
    HELD,
    IDENTITY,
    LIFE,
    PARENT,
    REFUSED,
    REMOVE,
    RESTORE,
    SAME,
    SET,
    Decision,
    Flaw,
    Gathered,
    Known,
    LogRow,
    OpenConflict,
    Operation,
    State,
    StoredFacet,
)


def decide(gathered: Gathered, operations: Iterable[Operation]) -> Decision:
    """Decide a batch in order; what was gathered is used up.

    Parameters
    ----------
    gathered : Gathered
        States, live children and known operations that the batch touches, read under the site's lock.
    operations : iterable of Operation
        In the order in which they were made.

    Returns
    -------
    Decision
        One answer for each operation, in order.
    """
    batch = list(operations)
    work = _Work(gathered, _forked(gathered, batch))
    for operation in batch:
        work.take(operation)
    return work.decision


def _forked(gathered: Gathered, batch: list[Operation]) -> set[str]:
    """Devices of which the batch re-uses an id with other content, or that are known to be another's: there are two."""
    known = ((operation, gathered.known.get(operation.id)) for operation in batch)
    forked = {operation.device for operation, one in known if one is not None and one.hash != operation.hash}
    return forked | gathered.copied


class _Work:
    """A batch being decided: gathered facts that move as operations take effect."""

    def __init__(self, gathered: Gathered, forked: set[str]) -> None:
        self.gathered = gathered
        self.forked = forked
        self.decision = Decision(gathered.head, [], {}, set(), [])

    def take(self, operation: Operation) -> None:
        answer = self._repeated(operation) or self._stopped(operation)
        if answer is None:
            answer = self._merge(operation)
        self.decision.answers.append(answer)

    # -- operations that are answered without being merged

    def _repeated(self, operation: Operation) -> Known | None:
        """The stored answer of an id that is known, a fork, or the answer under a former id.

        What else a copied phone sends is not taken under that name either: what it has 'seen' may name its own
        operation, and the server would take it for the other phone's.
        """
        known = self.gathered.known.get(operation.id)
        if known is not None:
            return known if known.hash == operation.hash else _fork(operation)
        if operation.device in self.forked:
            return _fork(operation)
        twin = self._twin(operation)
        if twin is None:
            return None
        # under another id it agrees with what is there: 'applied' would have the phone take its own id for the writer's
        result = SAME if twin.result == APPLIED else twin.result
        return self._write(operation, replace(twin, id=operation.id, hash=operation.hash, result=result))

    def _twin(self, operation: Operation) -> Known | None:
        """The same operation under the id it had, or has since been given, on a copied phone."""
        twin = self.gathered.formerly.get((operation.id, operation.hash))
        if twin is None and operation.formerly is not None:
            former_id, former_hash = operation.formerly
            known = self.gathered.known.get(former_id)
            twin = known if known is not None and known.hash == former_hash else None
            twin = twin or self.gathered.formerly.get(operation.formerly)
        return twin

    def _stopped(self, operation: Operation) -> Known | None:
        """Held or refused, or None if the operation can be merged."""
        if operation.held:
            return self._unmerged(operation, HELD, None)
        flaw = operation.flaw or self._lacking(operation)
        if flaw is None:
            return None
        result = HELD if flaw.code == "waits-for-held" else REFUSED
        answer = self._unmerged(operation, result, flaw)
        return answer

    def _unmerged(self, operation: Operation, result: str, flaw: Flaw | None) -> Known:
        base, lost = self._follow(_single(operation.seen), operation)
        known = Known(
            operation.id, operation.hash, result, None, operation.record, operation.by, operation.device,
            base, lost, flaw.code if flaw else None, flaw.facts if flaw else None,
        )  # fmt: skip
        if operation.record and operation.record not in self.gathered.states:
            self.gathered.missing.setdefault(operation.record, known)
        return self._write(operation, known)

    def _lacking(self, operation: Operation) -> Flaw | None:
        """A record, or a record referred to, that the server lacks or that is of another type."""
        state = self.gathered.states.get(operation.record)
        if state is None and (operation.kind, operation.facet) != (SET, IDENTITY):
            return self._absent(operation, "record", operation.record, "record-missing")
        if state is not None and state.type != operation.type:
            facts = {"record": operation.record, "value": operation.type, "right": state.type}
            return Flaw("record-of-other-type", facts)
        for reference in operation.references:
            target = self.gathered.states.get(reference.record)
            if target is None and reference.record == self.gathered.site:
                continue
            if target is None:
                return self._absent(operation, reference.field, reference.record, "referred-record-missing")
            if target.type not in reference.types:
                told = {"field": reference.field, "value": target.type, "right": list(reference.types)}
                return Flaw("referred-record-of-other-type", told)
        return None

    def _absent(self, operation: Operation, field: str, record: str, code: str) -> Flaw:
        cause = self.gathered.missing.get(record)
        facts: dict[str, object] = {"type": operation.type, "field": field, "value": record}
        if cause is None:
            return Flaw(code, facts)
        facts["operation"] = cause.id
        return Flaw("waits-for-held" if cause.result == HELD else "refers-to-refused", facts)

    # -- merging

    def _merge(self, operation: Operation) -> Known:
        state = self.gathered.states.get(operation.record)
        if state is None:
            return self._create(operation)
        if operation.kind == REMOVE:
            return self._remove(operation, state)
        if operation.kind == RESTORE:
            return self._restore(operation, state)
        return self._set(operation, state)

    def _create(self, operation: Operation) -> Known:
        state = State(operation.record, operation.type, None, 0, False, {}, [])
        self.gathered.states[state.id] = state
        self.decision.created.add(state.id)
        return self._apply(operation, state)

    def _set(self, operation: Operation, state: State) -> Known:
        stored = state.facets.get(operation.facet)
        base, lost = self._follow(_single(operation.seen), operation)
        named = self._close(state, operation.settles)
        own = self._close_own(state, operation.facet, lost)
        kept = _complete(operation, stored)
        if stored is not None and same_value(stored["value"], operation.to):
            return self._apply(operation, state, kept) if named else self._same(operation, state, stored, own)
        if not state.removed and base == _writer(stored):
            return self._apply(operation, state, kept)
        return self._lose(operation, state, base)

    def _remove(self, operation: Operation, state: State) -> Known:
        named = self._close(state, operation.settles, life=True)
        if state.removed:
            if named and self._left_alive(operation, state):
                return self._lose(operation, state, None)
            return self._apply(operation, state) if named else self._same(operation, state, state.facets[LIFE])
        seen = operation.seen if isinstance(operation.seen, dict) else {}
        followed = {facet: self._follow(seen.get(facet), operation) for facet in state.facets}
        as_it_is = all(followed[facet][0] == stored["op"] for facet, stored in state.facets.items())
        if not as_it_is or self._left_alive(operation, state):
            return self._lose(operation, state, followed.get(LIFE, (None, None))[0])
        for facet, (_, lost) in followed.items():
            self._close_own(state, facet, lost)
        return self._apply(operation, state)

    def _left_alive(self, operation: Operation, state: State) -> set[str]:
        """Live children that go against a removal: all but those that stay, and that whoever removed it knew of."""
        seen = operation.seen if isinstance(operation.seen, dict) else {}
        return self.gathered.children.get(state.id, set()) - (self.gathered.stay & set(seen))

    def _restore(self, operation: Operation, state: State) -> Known:
        life = state.facets.get(LIFE)
        base, lost = self._follow(_single(operation.seen), operation)
        named = self._close(state, operation.settles, life=True)
        own = self._close_own(state, LIFE, lost)
        if not state.removed:
            return self._apply(operation, state) if named else self._same(operation, state, life, own)
        return self._apply(operation, state) if base == _writer(life) else self._lose(operation, state, base)

    def _follow(self, seen: str | None, operation: Operation) -> tuple[str | None, str | None]:
        """What an operation that was seen stands for, and the own conflict that it left open.

        The conflict counts as own when the same person or the same device lost it.
        """
        known = self.gathered.known.get(self._corrected(seen)) if seen is not None else None
        if known is None:
            return seen, None
        own = known.by == operation.by or known.device == operation.device
        return known.base, known.lost if own else None

    def _corrected(self, seen: str) -> str:
        """The operation that has replaced a refused one, or the operation itself."""
        passed: set[str] = set()
        while seen in self.gathered.replaced_by and seen not in passed:
            known = self.gathered.known.get(seen)
            if known is None or known.result not in (REFUSED, HELD):
                break
            passed.add(seen)
            seen = self.gathered.replaced_by[seen]
        return seen

    # -- effects

    def _next(self) -> int:
        self.decision.head += 1
        return self.decision.head

    def _touch(self, state: State) -> int:
        state.seq = self._next()
        self.decision.changed[state.id] = state
        return state.seq

    def _close(self, state: State, ids: Iterable[str], life: bool = False) -> bool:
        """Close the named conflicts that are open; whether there was one.

        A child under a removed parent is settled by what becomes of the parent's life, by nothing else.
        """
        gone = set(ids)
        kept = [c for c in state.conflicts if c["id"] not in gone or (c["kind"] == CHILD and not life)]
        closed = len(kept) < len(state.conflicts)
        state.conflicts = kept
        return closed

    def _close_own(self, state: State, facet: str, lost: str | None) -> bool:
        """Close what an own operation on this very facet left open; whether there was one."""
        return self._close(state, [c["id"] for c in state.conflicts if c["id"] == lost and c["facet"] == facet])

    def _apply(self, operation: Operation, state: State, kept: list[str] | None = None) -> Known:
        was_at, was_live = state.parent, not state.removed
        seq = self._touch(state)
        value = _value(operation)
        stored: StoredFacet = {
            "op": operation.id, "seq": seq, "by": operation.by, "at": operation.device_time, "value": value,
        }  # fmt: skip
        if operation.via is not None:
            stored["via"] = operation.via
        state.facets[operation.facet] = stored
        if operation.facet == LIFE:
            state.removed = cast("bool", value["removed"])
        elif operation.facet == IDENTITY:
            state.parent = cast("str | None", value.get(PARENT))
        self._place(state, was_at)
        if not state.removed and (state.parent != was_at or not was_live):
            self._arrive(operation, state)
        known = self._known(operation, APPLIED, seq, operation.id)
        known.facts = {"kept": kept} if kept else None
        return known

    def _place(self, state: State, was_at: str | None) -> None:
        """Keep the live children of removed records up to date."""
        if was_at is not None and was_at in self.gathered.children:
            self.gathered.children[was_at].discard(state.id)
        if not state.removed and state.parent is not None and state.parent in self.gathered.children:
            self.gathered.children[state.parent].add(state.id)
            if state.type in self.gathered.staying:
                self.gathered.stay.add(state.id)

    def _arrive(self, operation: Operation, child: State) -> None:
        """A child that came to live under a removed parent opens a conflict there."""
        parent = self.gathered.states.get(child.parent) if child.parent is not None else None
        if parent is not None and parent.removed:
            seq = self._touch(parent)
            conflict: OpenConflict = {
                **_conflict(operation, seq),
                "facet": LIFE,
                "value": {"removed": False},
                "kind": "child",
                "child": child.id,
            }
            parent.conflicts = [*parent.conflicts, conflict]

    def _lose(self, operation: Operation, state: State, base: str | None) -> Known:
        seq = self._touch(state)
        state.conflicts = [*state.conflicts, _conflict(operation, seq)]
        return self._known(operation, CONFLICT, seq, base, operation.id)

    def _same(self, operation: Operation, state: State, stored: StoredFacet | None, closed: bool = False) -> Known:
        seq = self._touch(state) if closed else state.seq
        return self._known(operation, SAME, seq, _writer(stored))

    def _known(self, operation: Operation, result: str, seq: int, base: str | None, lost: str | None = None) -> Known:
        known = Known(
            operation.id,
            operation.hash,
            result,
            seq,
            operation.record,
            operation.by,
            operation.device,
            base,
            lost,
        )
        return self._write(operation, known)

    def _write(self, operation: Operation, known: Known) -> Known:
        """Remember what became of an operation, for the log and for those behind it in the batch."""
        self.gathered.known[operation.id] = known
        if operation.formerly is not None:
            self.gathered.formerly.setdefault(operation.formerly, known)
        if operation.replaces is not None:
            self.gathered.replaced_by[operation.replaces] = operation.id
        self.decision.log.append(LogRow(operation, known))
        return known


def _single(seen: str | dict[str, str | None] | None) -> str | None:
    return None if isinstance(seen, dict) else seen


def _writer(stored: StoredFacet | None) -> str | None:
    return None if stored is None else stored["op"]


def _complete(operation: Operation, stored: StoredFacet | None) -> list[str]:
    """Let fields that the sender's spec does not know stay as they are; their names. An emptied facet is empty."""
    if operation.knows is None or stored is None or not operation.to:
        return []
    kept = [name for name in stored["value"] if name not in operation.knows and name not in operation.to]
    if kept:
        operation.to = operation.to | {name: stored["value"][name] for name in kept}
    return sorted(kept)


def _value(operation: Operation) -> dict[str, object]:
    if operation.facet == LIFE:
        return {"removed": operation.kind == REMOVE}
    return operation.to or {}


def _conflict(operation: Operation, seq: int) -> OpenConflict:
    opened: OpenConflict = {
        "id": operation.id, "facet": operation.facet, "op": operation.id, "by": operation.by,
        "at": operation.device_time, "seq": seq, "value": _value(operation), "kind": operation.kind,
        "device": operation.device,
    }  # fmt: skip
    if operation.via is not None:
        opened["via"] = operation.via
    return opened


def _fork(operation: Operation) -> Known:
    return Known(operation.id, operation.hash, FORK, None, operation.record, operation.by, operation.device, None)
