"""Several bars end to end in each cavity, as long ones take them: 3 + 3 + 2 ft in the place of an 8 ft lamp."""

from __future__ import annotations

from collections.abc import Iterator

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.layout import Layout, all_rows, fills


def applies(body: Body) -> bool:
    """To any body that lights its own lamps."""
    return body.rows > 0 and not body.is_fed_by_neighbour and not body.feeds_neighbour


def propose(body: Body) -> Iterator[Layout]:
    """One layout for each judged fill of two bars and more."""
    for fill, fit in fills(body):
        if len(fill) > 1:
            yield Layout("bars_end_to_end", all_rows(body), fill, body.cavities_in_a_row, fit)
