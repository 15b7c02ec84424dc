"""Two bodies on one ballast, converted together: the driver goes where the ballast was and feeds both."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from spanwalk.rules.arrangements.body import Body, code_of
from spanwalk.rules.arrangements.candidate import Lamplight, accessory_checks, layout_checks
from spanwalk.rules.arrangements.choosing.wanted import check_light, judge_light, wanted_light
from spanwalk.rules.arrangements.layout import ROWS_WITHOUT, Layout, all_rows, fills
from spanwalk.rules.arrangements.now import now
from spanwalk.rules.arrangements.plan_types import Place
from spanwalk.rules.arrangements.ways import not_by_this_method
from spanwalk.rules.gear.checks import PASSES, Check, cannot_tell, fails
from spanwalk.rules.survey import mark_of, name_of_room


def applies(body: Body) -> bool:
    """To the body that holds the ballast."""
    return body.rows > 0 and body.feeds_neighbour


def propose(body: Body) -> Iterator[Layout]:
    """The same bars in the same rows of both bodies, all on the drivers of this one."""
    for rows in (all_rows(body), *ROWS_WITHOUT.get(body.rows, ())):
        for fill, fit in fills(body):
            yield Layout("shared_ballast", rows, fill, body.cavities_in_a_row, fit, feeds=2)


def planned_together(body: Body) -> Body | None:
    """The neighbour for which the drivers of a body are chosen too; None where there is none to choose for.

    Where it is not known, its lamps lie otherwise, or it is not to be converted, a blocker says so.
    """
    there = body.neighbour if body.feeds_neighbour else None
    if there is None or not alike(body, there) or not_by_this_method.applies(there):
        return None
    return None if there.of_group("decision").get("decision") == "leave-as-is" else there


def partner_checks(there: Body | None, layout: Layout) -> list[Check]:
    """What fails or cannot be told of a layout in the neighbour, whose body gets the same bars, each under the neighbour's name.

    Parameters
    ----------
    there : Body or None
        The neighbour, if it is planned together.
    layout : Layout
        Bars in both.
    """
    if there is None:
        return []
    theirs = in_neighbour(there, layout)
    if isinstance(theirs, Check):
        found = [theirs]
    else:
        found = [*layout_checks(there, theirs), *accessory_checks(there)]
    return [at_partner(there, check) for check in found if check.verdict != PASSES]


class LightThere:
    """The light that the neighbour gets from a layout, set against what is wanted for it.

    Parameters
    ----------
    there : Body
        The neighbour.
    layout : Layout
        Bars in both.
    """

    def __init__(self, there: Body, layout: Layout) -> None:
        self._there = there
        self._wanted = wanted_light(there, now(there))
        self._lamplight = Lamplight(there, layout)

    def check(self, watts: Mapping[str, float]) -> Check:
        """Whether it is the light that is wanted there, under the neighbour's name unless it passes.

        Parameters
        ----------
        watts : mapping
            Item id → what its bars there take together [W].
        """
        found = check_light(judge_light(self._lamplight.of(watts), self._there.fixtures, self._wanted), self._wanted)
        return found if found.verdict == PASSES else at_partner(self._there, found)


def alike(one: Body, other: Body) -> bool:
    """Whether the lamps of two bodies lie in as many rows and cavities."""
    return (one.rows, one.cavities_in_a_row) == (other.rows, other.cavities_in_a_row)


def in_neighbour(there: Body, layout: Layout) -> Layout | Check:
    """The same bars in the neighbour with the verdict on its cavity, or the check that says why there is none."""
    ids = [bar["id"] for bar in layout.fill]
    for fill, fit in fills(there):
        if [bar["id"] for bar in fill] == ids:
            return replace(layout, kind="fed_from_neighbour", fit=fit, feeds=0)
    names = " + ".join(code_of(bar) for bar in layout.fill)
    return fails("fit-not-judged", bars=names) if there.judged.get("fits") else cannot_tell("fit-unread", bars=names)


def at_partner(there: Body, check: Check) -> Check:
    """A check of the neighbour, told under its room and kind."""
    because = {"code": check.code, "facts": check.facts}
    return Check("partner", check.verdict, {**place_of(there), "because": because})


def place_of(there: Body) -> Place:
    """Room and kind mark of a group, to be read."""
    return {"room": name_of_room(there.room), "mark": mark_of(there.kind)}
