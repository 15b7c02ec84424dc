"""Light of a group before and after, and what it makes of a room.

Lumens are floats: they are estimates within a range; the verdict of the policy compares shares
rounded to a tenth of a per cent, so that it does not hang on the last bit.
"""

from __future__ import annotations

from functools import lru_cache
from math import atan, log, pi, sqrt
from typing import NamedTuple

SHARE_DECIMALS = 3
SQUARE_FEET_IN_M2 = 10.7639104


# -- the room: cavity ratio, form factor, coefficient of utilisation


def room_cavity_ratio(length_m: float, width_m: float, cavity_height_m: float) -> float:
    """Room cavity ratio of a rectangular room: 5 h (L + W) / (L W).

    Parameters
    ----------
    length_m, width_m : float
        Sides of the room [m].
    cavity_height_m : float
        From work plane to the plane of the fixtures [m].

    Returns
    -------
    float

    References
    ----------
    .. [1] IES definition 'cavity ratio'; a worked sheet in SI units: 12 × 6 m, ceiling 3.0 m, work plane 0.8 m.

    Examples
    --------
    >>> round(room_cavity_ratio(12, 6, 3.0 - 0.8), 4)
    2.75
    """
    return 5 * cavity_height_m * (length_m + width_m) / (length_m * width_m)


def form_factor(x: float, y: float) -> float:
    """Share of what one rectangle sends out diffusely that reaches an equal one, aligned and parallel to it.

    Parameters
    ----------
    x, y : float
        Sides of the rectangles over their distance.

    References
    ----------
    .. [1] Howell, catalogue of radiation view factors, C-11; Incropera, table 13.2.

    Examples
    --------
    >>> round(form_factor(1, 1), 6), round(form_factor(2, 10), 6)
    (0.199825, 0.573376)
    """
    a, b = 1 + x * x, 1 + y * y
    whole = 0.5 * log(a * b / (a + y * y))
    whole += x * sqrt(b) * atan(x / sqrt(b)) + y * sqrt(a) * atan(y / sqrt(a)) - x * atan(x) - y * atan(y)
    return 2 * whole / (pi * x * y)


@lru_cache(maxsize=1024)
def utilisation(
    length_m: float,
    width_m: float,
    cavity_height_m: float,
    ceiling_share: float,
    walls_share: float,
    floor_share: float,
) -> float:
    """Share of the light of a cosine source in the ceiling that arrives on the work plane, all reflections included.

    Three surfaces exchange light: ceiling, walls as one, and the work plane. A body whose light leaves
    a flat face downward by the cosine law (a beam of 120° is one) sends the form factor of its light
    to the work plane and the rest to the walls.

    Parameters
    ----------
    length_m, width_m : float
        Sides of the room [m].
    cavity_height_m : float
        From work plane to fixtures [m], above 0.
    ceiling_share, walls_share, floor_share : float
        Reflectances, 0 to below 1.

    Returns
    -------
    float
        Coefficient of utilisation; it may exceed 1 in a large bright room, where light comes back.

    References
    ----------
    .. [1] Zonal-cavity method (IES Lighting Handbook, 9th edition, chapter 9, from memory), with the exact
       form factor in place of the fitted one; checked against ray tracing.

    Examples
    --------
    A square room of cavity ratio 1 (10 h wide), reflectances 80/50/20:

    >>> round(utilisation(10, 10, 1, 0.8, 0.5, 0.2), 4)
    1.0325
    """
    area, wall = length_m * width_m, 2 * cavity_height_m * (length_m + width_m)
    across = form_factor(length_m / cavity_height_m, width_m / cavity_height_m)
    to_wall = 1 - across
    wall_to_flat = area * to_wall / wall
    wall_to_wall = 1 - 2 * wall_to_flat
    # Light (lumens) that falls on floor, walls and ceiling: first the direct part, then what each gives back.
    direct = (across, to_wall, 0.0)
    gives = (
        (0.0, walls_share * wall_to_flat, ceiling_share * across),
        (floor_share * to_wall, walls_share * wall_to_wall, ceiling_share * to_wall),
        (floor_share * across, walls_share * wall_to_flat, 0.0),
    )
    return _solve_three(gives, direct)[0]


def _solve_three(
    gives: tuple[tuple[float, float, float], ...], direct: tuple[float, float, float]
) -> tuple[float, float, float]:
    """Solve x = direct + gives · x for three surfaces, by Cramer's rule."""
    rows = [[float(one == other) - gives[one][other] for other in range(3)] for one in range(3)]
    whole = _determinant(rows)
    found = []
    for column in range(3):
        changed = [[direct[row] if at == column else rows[row][at] for at in range(3)] for row in range(3)]
        found.append(_determinant(changed) / whole)
    return found[0], found[1], found[2]


def _determinant(m: list[list[float]]) -> float:
    return (
        m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1])
        - m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0])
        + m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0])
    )


def illuminance_lux(lumens: float, utilisation_share: float, area_m2: float) -> float:
    """Mean illuminance on the work plane [lx] by the lumen method.

    >>> round(illuminance_lux(12_500 * 0.8, 0.6, 20), 6)
    300.0
    """
    return lumens * utilisation_share / area_m2


# -- lumens before and after


def lumens_now(
    lamps: int,
    working_share: float,
    initial_lm: float,
    ballast_factor: float,
    mean_share: float,
    dirt_share: float,
    body_share: float,
    optic_share: float = 1.0,
) -> float:
    """Maintained lumens that leave fixtures as they are.

    Parameters
    ----------
    lamps : int
        Lamps.
    working_share : float
        Share of them that burn.
    initial_lm : float
        Lumens of a new lamp [lm].
    ballast_factor, mean_share, dirt_share, body_share, optic_share : float
        Ballast factor; mean over initial lumens; maintained over clean; out of the body over in it; what
        its optic still passes.

    Returns
    -------
    float
        Lumens [lm].

    Examples
    --------
    Two lamps of 3,100 lm, ballast factor 0.88, body efficiency 0.91, depreciation 0.95 (guide to T8 in open offices):

    >>> round(lumens_now(2, 1.0, 3100, 0.88, 0.95, 1.0, 0.91))
    4717
    """
    return lamps * working_share * initial_lm * ballast_factor * mean_share * dirt_share * body_share * optic_share


def led_depreciation(hours: float, l70_h: float) -> float:
    """Share of its light that an LED bar still gives after so many hours: exponential through 70 % at L70.

    References
    ----------
    .. [1] TM-21 form φ = B exp(−α t) with B = 1, so that α = ln(1/0.7)/L70 (IES article on lumen maintenance).

    Examples
    --------
    >>> round(led_depreciation(60_000, 60_000), 4), round(led_depreciation(36_000, 60_000), 4)
    (0.7, 0.8073)
    """
    return float(0.7 ** (hours / l70_h))


def life_h(share: float, decay_per_h: float, start: float = 1.0) -> float:
    """Hours until φ = start · exp(−decay · t) falls to a share.

    >>> round(life_h(0.7, 1e-5), 2)
    35667.49
    """
    return log(start / share) / decay_per_h


def lumens_then(
    bars_w: float,
    lumens_per_w: float,
    depreciation_share: float,
    dirt_share: float,
    body_share: float,
    optic_share: float = 1.0,
) -> float:
    """Maintained lumens that leave a fixture with bars in it.

    Parameters
    ----------
    bars_w : float
        Watts that its bars take [W], not the mains watts.
    lumens_per_w : float
        Lumens per watt of the bar [lm/W].
    depreciation_share, dirt_share, body_share, optic_share : float
        As in `lumens_now`, for bars.

    Returns
    -------
    float
        Lumens [lm].

    Examples
    --------
    >>> round(lumens_then(28.8, 168, 0.8073, 0.9, 0.78))
    2742
    """
    return bars_w * lumens_per_w * depreciation_share * dirt_share * body_share * optic_share


# -- what is wanted


class Judgement(NamedTuple):
    """How an arrangement stands to what is wanted: `enough`, `too dim` or `too bright`, with lumens and shares."""

    verdict: str
    wanted_lm: float
    then_lm: float
    share_of_wanted: float


def judge(then_lm: float, wanted_lm: float, ceiling_share: float) -> Judgement:
    """Is it as much light as is wanted, and no more than the ceiling?

    Shares are rounded to a tenth of a per cent before they are compared; at each limit it is enough.

    >>> judge(2700, 3000, 1.4).verdict, judge(3000, 3000, 1.4).verdict, judge(4201.6, 3000, 1.4).verdict
    ('too dim', 'enough', 'too bright')
    """
    share = round(then_lm / wanted_lm, SHARE_DECIMALS)
    verdict = "too dim" if share < 1 else "too bright" if share > ceiling_share else "enough"
    return Judgement(verdict, wanted_lm, then_lm, share)


def lumens_for(lux: float, area_m2: float, utilisation_share: float) -> float:
    """Lumens that must leave the fixtures of a room for so many lux [lm].

    >>> lumens_for(300, 20, 0.6)
    10000.0
    """
    return lux * area_m2 / utilisation_share


def power_density_w_ft2(watts: float, area_m2: float) -> float:
    """Lighting power density [W/ft²], as the codes give their limits.

    >>> round(power_density_w_ft2(16 * 54.5, 60 * 25 / 10.7639104), 4)
    0.5813
    """
    return watts / (area_m2 * SQUARE_FEET_IN_M2)
