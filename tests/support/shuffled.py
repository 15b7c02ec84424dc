"""`pytest --shuffle SEED`: the tests of each module in an order drawn from the seed, to find those that lean on one another.

Of a test that fails so, `pytest --shuffle SEED PATH` of its module alone tells the same order again.
"""

from __future__ import annotations

from itertools import groupby
from random import Random

import pytest


def add_option(parser: pytest.Parser) -> None:
    parser.addoption("--shuffle", type=int, metavar="SEED", help="draw the order of tests within each module")


def shuffle(items: list[pytest.Item], seed: int) -> None:
    """Each module stays where it is; the same seed draws the same order of a module, whatever else is run."""
    drawn = []
    for module, of_it in groupby(items, key=lambda item: item.path):
        some = list(of_it)
        Random(f"{seed} {module.name}").shuffle(some)
        drawn += some
    items[:] = drawn
