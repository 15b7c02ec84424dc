"""How long a fixture takes: as crews noted it, where they did so often enough, else as it was planned."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

ENOUGH = 20
"""So many fixtures with their minutes are enough to learn from."""
PLANNED, LEARNED_KIND, LEARNED_SITE = "planned", "learned-of-kind", "learned-of-site"


@dataclass(frozen=True)
class Noted:
    """Minutes of work that were noted on a fixture of a kind, and those planned for one [min]."""

    kind: str
    minutes: int
    planned: float


class Pace(NamedTuple):
    """How long a fixture takes against what was planned, from how many fixtures that is known, and of which."""

    factor: float
    fixtures: int
    basis: str


AS_PLANNED = Pace(1.0, 0, PLANNED)


def paces(noted: Iterable[Noted]) -> tuple[Mapping[str, Pace], Pace]:
    """Pace of each kind of which enough is noted, and of all others: that of the site, or as planned.

    Parameters
    ----------
    noted : iterable of Noted
        Fixtures that are done, with their minutes.

    >>> of_kind, others = paces([Noted("k1", 12, 10.0)] * 20 + [Noted("k2", 40, 10.0)])
    >>> of_kind["k1"], others.fixtures, round(others.factor, 3)
    (Pace(factor=1.2, fixtures=20, basis='learned-of-kind'), 21, 1.333)
    """
    told = [each for each in noted if each.planned > 0]
    by_kind: dict[str, list[Noted]] = {}
    for each in told:
        by_kind.setdefault(each.kind, []).append(each)
    of_kind = {kind: _pace(these, LEARNED_KIND) for kind, these in by_kind.items() if len(these) >= ENOUGH}
    return of_kind, _pace(told, LEARNED_SITE) if len(told) >= ENOUGH else AS_PLANNED


def _pace(noted: Sequence[Noted], basis: str) -> Pace:
    taken, planned = sum(each.minutes for each in noted), sum(each.planned for each in noted)
    return Pace(taken / planned, len(noted), basis)


__all__ = ["AS_PLANNED", "ENOUGH", "Noted", "Pace", "paces"]
