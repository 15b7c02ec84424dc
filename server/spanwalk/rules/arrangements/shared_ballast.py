"""Two bodies on one ballast, converted together: the driver goes where the ballast was and feeds both."""

from __future__ import annotations

from collections.abc import Iterator

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.layout import ROWS_WITHOUT, Layout, all_rows, fills
from spanwalk.rules.checks import Check, cannot_tell, fails, passes


def applies(body: Body) -> bool:
    """To the body that holds the ballast."""
    return body.rows > 0 and body.feeds_neighbour


def propose(body: Body) -> Iterator[Layout]:
    """The same bars in the same rows of both bodies, all on the drivers of this one."""
    for rows in (all_rows(body), *ROWS_WITHOUT.get(body.rows, ())):
        for fill, fit in fills(body):
            yield Layout("shared_ballast", rows, fill, body.cavities_in_a_row, fit, feeds=2)


def check_partner(body: Body) -> Check:
    """Is the neighbour in the survey, in the same room, and are there as many of it?

    A driver for two bodies is chosen for both, so both must be known.
    """
    if body.partner is None:
        return cannot_tell("neighbour", missing=["neighbour"])
    theirs = int((body.partner["group"]["facets"].get("count") or {}).get("count", 0))
    facts = {"fixtures": body.fixtures, "neighbours": theirs}
    return passes("neighbour", **facts) if theirs == body.fixtures else fails("neighbour", **facts)
