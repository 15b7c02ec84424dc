"""At how many points the light of a room is read, and how even it may be. Twin: pwa/rules/light/light_grid.js."""

from __future__ import annotations

from math import log10, sqrt
from typing import NamedTuple

GRID_MOST_M = 10.0
TWICE = 2.0


class Grid(NamedTuple):
    """Points of a grid along and across a room, and the most a cell may measure [m]."""

    along: int
    across: int
    cell_m: float

    @property
    def points(self) -> int:
        """Points in all."""
        return self.along * self.across


def cell_m(side_m: float) -> float:
    """Largest cell of a grid of measuring points, p = 0.2 · 5^(log10 d), at most 10 m [m].

    Parameters
    ----------
    side_m : float
        The longer side of the area; the shorter one where the longer is twice as long or more [m].

    References
    ----------
    .. [1] EN 12464-1, measuring grid, as a lighting maker's page prints it with a table (read).

    Examples
    --------
    >>> round(cell_m(1), 2), round(cell_m(10), 2), round(cell_m(100), 2)
    (0.2, 1.0, 5.0)
    """
    return float(min(0.2 * 5 ** log10(side_m), GRID_MOST_M))


def grid(length_m: float, width_m: float) -> Grid:
    """How many points a room is to be read at, along its longer side and across it.

    Parameters
    ----------
    length_m, width_m : float
        Sides of the area [m].

    Returns
    -------
    Grid
        Each count is the nearest whole number of cells, at least one.

    Examples
    --------
    An area of 5 × 4 m, as a laboratory's page on such grids has it: 8 by 6 points.

    >>> grid(5, 4).along, grid(5, 4).across
    (8, 6)
    """
    longer, shorter = max(length_m, width_m), min(length_m, width_m)
    cell = cell_m(shorter if longer / shorter >= TWICE else longer)
    along, across = (max(1, round(side / cell)) for side in (longer, shorter))
    return Grid(along, across, cell)


def spacing_to_height(length_m: float, width_m: float, height_m: float, fixtures: int) -> float:
    """Mean spacing of fixtures over their height above the work plane, a hint of how even the light is.

    Parameters
    ----------
    length_m, width_m : float
        Sides of the room [m].
    height_m : float
        From work plane to fixtures [m].
    fixtures : int
        How many light it; taken as evenly spread.

    Examples
    --------
    >>> spacing_to_height(12, 6, 2, 8)
    1.5
    """
    return sqrt(length_m * width_m / fixtures) / height_m
