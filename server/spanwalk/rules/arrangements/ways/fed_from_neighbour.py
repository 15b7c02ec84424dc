"""The body that was lit from its neighbour's ballast: it follows what is fitted there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from spanwalk.rules.arrangements.body import Body, code_of
from spanwalk.rules.arrangements.candidate import arrangement
from spanwalk.rules.arrangements.layout import Layout, fills
from spanwalk.rules.arrangements.plan_types import Proposal
from spanwalk.rules.arrangements.wiring.driver_options import DriverOption, Fed, options_of
from spanwalk.rules.record_types import CatalogueItemView


def applies(body: Body) -> bool:
    """To the body without a ballast of its own."""
    return body.rows > 0 and body.is_fed_by_neighbour


def propose(body: Body) -> Iterator[Layout]:
    """The neighbour's bars in the neighbour's rows; nothing while the neighbour has no proposal."""
    proposal = followed(body)
    if proposal is None:
        return
    codes, rows = proposal["fill"], tuple(proposal["rows"])
    for fill, fit in fills(body):
        if [code_of(bar) for bar in fill] == codes:
            yield Layout("fed_from_neighbour", rows, fill, body.cavities_in_a_row, fit, feeds=0)


def feeding(body: Body, layout: Layout) -> tuple[CatalogueItemView, Fed] | None:
    """The driver that the neighbour's plan proposes, with what it does for both bodies; None if it is not offered any more.

    Parameters
    ----------
    body : Body
        The body that is fed.
    layout : Layout
        Its layout, which is the neighbour's.
    """
    theirs, proposal = replace(layout, kind="shared_ballast", feeds=2), followed(body)
    wanted = None if proposal is None else proposal["arrangement"]
    for each in options_of(body.catalogue, theirs):
        for fed in each.good if isinstance(each, DriverOption) else ():
            if arrangement(theirs, each.driver, fed.wiring) == wanted:
                return each.driver, fed
    return None


def followed(body: Body) -> Proposal | None:
    """What the neighbour's plan proposes, if it does."""
    plan = body.partner.plan if body.partner else None
    proposal = plan["proposal"] if plan else None
    return proposal
