"""Where 'fits' rests on the lamp alone: was enough of the kind read to release it? Twin: pwa/rules/fit/by_lamp.js.

The lamp that sits in a row proves a gap (see `sampling`), if it is the lamp that the survey says. Fewer readings change
nothing of that sum, only whether anybody may act on it: a release wants a second witness.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from spanwalk.rules import constants
from spanwalk.rules.fit.sampling import counting, is_inside, population_of
from spanwalk.rules.judging.judgement_types import Fit
from spanwalk.rules.record_types import CavityReadingView, GroupView, KindView
from spanwalk.rules.said import Said
from spanwalk.rules.survey import facet

Asked = Mapping[str, Sequence[Said]]
GroupRead = tuple[GroupView, KindView, Sequence[CavityReadingView], Asked]
"""A group, its kind, all its readings that are not removed, and the questions about them by reading id."""
LEAST_FIXTURES = constants.LEAST_FIXTURES
"""Fixtures of the kind in which a cavity was read: one may be the odd one, two may be of one box (common practice)."""
WITH_THIS = constants.WITH_THIS


@dataclass(frozen=True)
class ReadOfKind:
    """What was read of a kind: in how many fixtures, how many cavities, and of how many there are; None where not counted."""

    fixtures: int
    cavities: int
    population: int | None

    @property
    def is_enough(self) -> bool:
        """Whether cavities were read in three different fixtures, or all that there are."""
        return self.fixtures >= LEAST_FIXTURES or (self.population is not None and 0 < self.population <= self.cavities)


def read_of_kind(groups: Iterable[GroupRead]) -> ReadOfKind:
    """What was read of a kind, over all its groups that are to be converted.

    A reading counts where it is of a fixture, row and cavity that there is, and waits for no confirmation; a gauge
    that went in counts too.

    Parameters
    ----------
    groups : iterable of GroupRead
        Groups of one kind.
    """
    fixtures: set[tuple[str, int]] = set()
    cavities: set[tuple[str, int, int, int]] = set()
    populations: list[int | None] = []
    for group, kind, readings, asked in groups:
        populations.append(population_of(group, kind, readings, set()))
        for each in counting(readings):
            identity = facet(each, "identity")
            place = identity["position"], identity["row"], identity["cavity"]
            if _is_witness(each, asked) and is_inside(place, group, kind):
                fixtures.add((group["id"], place[0]))
                cavities.add((group["id"], *place))
    whole = None if None in populations else sum(each or 0 for each in populations)
    return ReadOfKind(len(fixtures), len(cavities), whole)


def _is_witness(reading: CavityReadingView, asked: Asked) -> bool:
    went_in = facet(reading, "identity").get("instrument") != "gauge-does-not-go"
    return went_in and (
        reading["id"] not in asked or facet(reading, "confirmed").get("answer") == "it-is-what-the-tape-shows"
    )


def is_by_lamp(fit: Fit | None) -> bool:
    """Whether a verdict is a 'fits' that the lamp alone proves.

    >>> is_by_lamp({"verdict": "fits", "basis": "lamp"}), is_by_lamp({"verdict": "fits", "basis": "sample"}), is_by_lamp(None)
    (True, False, False)
    """
    return fit is not None and fit["verdict"] == "fits" and fit.get("basis") == "lamp"


def needs_witness(group: GroupView, fit: Fit | None, read: ReadOfKind) -> bool:
    """Whether a 'fits' by the lamp still wants readings of the kind, a trial bar that went in, or a manager's word.

    Parameters
    ----------
    group : view record
        The group.
    fit : mapping or None
        Verdict on its row of bars.
    read : ReadOfKind
        What was read of its kind.
    """
    trial = None if fit is None else fit.get("trial")
    tried = trial is not None and trial["tried"] > 0
    return is_by_lamp(fit) and not (read.is_enough or tried or is_lamp_accepted(group))


def is_lamp_accepted(group: GroupView) -> bool:
    """Whether a manager has accepted the lamp as the gauge: decided for an arrangement, with a reason."""
    decision = facet(group, "decision")
    return (
        decision.get("decision") == WITH_THIS and decision.get("accepts_lamp") is True and bool(decision.get("reason"))
    )


__all__ = [
    "LEAST_FIXTURES",
    "Asked",
    "GroupRead",
    "ReadOfKind",
    "is_by_lamp",
    "is_lamp_accepted",
    "needs_witness",
    "read_of_kind",
]
