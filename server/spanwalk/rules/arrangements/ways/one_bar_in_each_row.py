"""A bar in every row, in place of each lamp."""

from __future__ import annotations

from collections.abc import Iterator

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.layout import Layout, all_rows, fills


def applies(body: Body) -> bool:
    """To any body that lights its own lamps."""
    return body.rows > 0 and not body.is_fed_by_neighbour and not body.feeds_neighbour


def propose(body: Body) -> Iterator[Layout]:
    """One layout for each single bar that was judged."""
    for fill, fit in fills(body):
        if len(fill) == 1:
            yield Layout("one_bar_in_each_row", all_rows(body), fill, body.cavities_in_a_row, fit)
