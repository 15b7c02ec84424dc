"""Fewer bars than lamps: some rows stay empty, as evenly as they go."""

from __future__ import annotations

from collections.abc import Iterator

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.layout import ROWS_WITHOUT, Layout, fills


def applies(body: Body) -> bool:
    """To bodies of two rows and more that light their own lamps."""
    return body.rows in ROWS_WITHOUT and not body.is_fed_by_neighbour and not body.feeds_neighbour


def propose(body: Body) -> Iterator[Layout]:
    """One layout for each fill that was judged and each even choice of rows."""
    for rows in ROWS_WITHOUT[body.rows]:
        for fill, fit in fills(body):
            yield Layout("fewer_rows", rows, fill, body.cavities_in_a_row, fit)
