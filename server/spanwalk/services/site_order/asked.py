"""What a manager asks of the best order: the rules that it has to keep to."""

from __future__ import annotations

from typing import NotRequired, TypedDict

SECONDS = 60
SECONDS_MOST = 300
BY_MACHINE = ("best-order", "by-rule")
"""How a decision may have been made other than for its group by a person; such a one may be changed by the best order."""


class Decided(TypedDict):
    """What is to be decided for a group; `arrangement` where it is one by name."""

    group: str
    decision: str
    arrangement: NotRequired[str]


class DecisionsAsked(TypedDict):
    """Decisions of which it is asked what they would change; with `keep_decided`, which it is unless said, not of groups that a person decided for themselves."""

    decided: list[Decided]
    each_item: NotRequired[float]
    keep_decided: NotRequired[bool]


class Scope(TypedDict, total=False):
    """Of which groups something is asked: of a floor, a room, a kind (ids), rooms of one use; of all that are named."""

    floor: str | None
    room: str | None
    kind: str | None
    space_type: str | None


class OrderAsked(TypedDict):
    """Rules of a best order, as asked.

    Parameters
    ----------
    each_item : float
        What each different item costs beside its price [currency].
    budget : float or None
        Most that the job may cost [currency]; groups may then be left for later.
    least_light_pct : float or None
        No group gets less of today's light [%].
    same_look, one_colour, no_dark_columns : bool
        See `site_order.problem.Rules`; no empty row under a louvre.
    items : list of str or None
        Only these bars and drivers, by id; None: any.
    keep_decided : bool
        Whether groups that a person decided for themselves stay as they are; released and fitted ones stay always.
    bars_each : int or None
        So many bars in each fixture.
    scope : Scope
        For which groups it is chosen; all others stay as they are.
    seconds : int
        How long it may take in all [s]; half of it is searched for at least.
    """

    each_item: NotRequired[float]
    budget: NotRequired[float | None]
    least_light_pct: NotRequired[float | None]
    same_look: NotRequired[bool]
    one_colour: NotRequired[bool]
    no_dark_columns: NotRequired[bool]
    items: NotRequired[list[str] | None]
    keep_decided: NotRequired[bool]
    bars_each: NotRequired[int | None]
    scope: NotRequired[Scope]
    seconds: NotRequired[int]
