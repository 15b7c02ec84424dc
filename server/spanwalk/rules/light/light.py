"""Light of a group before and after, and what it makes of a room.

Lumens are floats: they are estimates within a range; the verdict of the policy compares shares
rounded to a tenth of a per cent, so that it does not hang on the last bit.
"""

from __future__ import annotations

from collections.abc import Sequence
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


DEEP_RATIO = 5
SHALLOW_BANDS, DEEP_BANDS = 4, 8
"""Horizontal bands into which walls are cut, up to a cavity ratio of 5 and above it: many more change no figure by 0.2 %, up to 10."""


@lru_cache(maxsize=4096)
def utilisation(
    length_m: float,
    width_m: float,
    cavity_height_m: float,
    ceiling_share: float,
    walls_share: float,
    floor_share: float,
) -> float:
    """Share of the light of a cosine source in the ceiling that arrives on the work plane, all reflections included.

    Work plane, ceiling and the walls in equal horizontal bands exchange light. A body whose light leaves a flat face
    downward by the cosine law (a beam of 120° is one) sends the form factor of its light to the work plane and the
    rest to the walls. With the walls as one surface, as handbooks have it, a deep room comes out up to 6 % too bright:
    light that falls high on a wall mostly goes back up.

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
    .. [1] Zonal-cavity method (IES Lighting Handbook, 9th edition, chapter 9, from memory), with the exact form factor
       in place of the fitted one and banded walls in place of one wall; checked against ray tracing.

    Examples
    --------
    A square room of cavity ratio 1 (10 h wide), reflectances 80/50/20, and one of 10:

    >>> round(utilisation(10, 10, 1, 0.8, 0.5, 0.2), 4), round(utilisation(5, 5, 5, 0.7, 0.5, 0.2), 3)
    (1.0324, 0.334)
    """
    ratio = room_cavity_ratio(length_m, width_m, cavity_height_m)
    bands = SHALLOW_BANDS if ratio <= DEEP_RATIO else DEEP_BANDS
    return utilisation_of_bands(
        length_m, width_m, cavity_height_m, ceiling_share, walls_share, floor_share, bands=bands
    )


def utilisation_of_bands(
    length_m: float,
    width_m: float,
    cavity_height_m: float,
    ceiling_share: float,
    walls_share: float,
    floor_share: float,
    *,
    bands: int,
) -> float:
    """The same with so many bands of wall; one band is the handbooks' method of three surfaces.

    Parameters
    ----------
    length_m, width_m, cavity_height_m, ceiling_share, walls_share, floor_share : float
        As in `utilisation`.
    bands : int
        Equal bands of the walls, at least 1 [bands].

    >>> round(utilisation_of_bands(5, 5, 5, 0.7, 0.5, 0.2, bands=1), 3)
    0.355
    """
    step = cavity_height_m / bands
    across = [1.0, *(form_factor(length_m / (step * at), width_m / (step * at)) for at in range(1, bands + 1))]
    band_area = 2 * step * (length_m + width_m) / (length_m * width_m)
    exchange = _exchange(across, band_area)
    given_back = [floor_share, *([walls_share / band_area] * bands), ceiling_share]
    rows = [
        [float(row == column) - exchange[row][column] * given_back[column] for column in range(bands + 2)]
        for row in range(bands + 2)
    ]
    return _solve(rows, exchange[-1])[0]


def _exchange(across: Sequence[float], band_area: float) -> list[list[float]]:
    """Areas of exchange over the floor's area: floor, bands from below, ceiling.

    What passes a level of the room and not the next is caught by the band between them, so all of them are differences
    of the factor across: first ones for floor and ceiling to a band, second ones for band to band.
    """
    bands = len(across) - 1
    caught = [across[at] - across[at + 1] for at in range(bands)]
    between = [
        band_area - 2 * caught[0],
        *(across[at - 1] - 2 * across[at] + across[at + 1] for at in range(1, bands)),
    ]
    floor = [0.0, *caught, across[bands]]
    walls = [
        [caught[at], *(between[abs(at - other)] for other in range(bands)), caught[bands - 1 - at]]
        for at in range(bands)
    ]
    return [floor, *walls, floor[::-1]]


def _solve(rows: list[list[float]], wanted: Sequence[float]) -> list[float]:
    """Solve rows · x = wanted by elimination; each row's own share is the largest of it, so that none is swapped."""
    size = len(rows)
    full = [[*row, value] for row, value in zip(rows, wanted, strict=True)]
    for at in range(size):
        own = full[at]
        for below in full[at + 1 :]:
            times = below[at] / own[at]
            below[at:] = [each - times * taken for each, taken in zip(below[at:], own[at:], strict=True)]
    found = [0.0] * size
    for at in reversed(range(size)):
        rest = full[at][size] - sum(full[at][column] * found[column] for column in range(at + 1, size))
        found[at] = rest / full[at][at]
    return found


def illuminance_lux(lumens: float, utilisation_share: float, area_m2: float) -> float:
    """Mean illuminance on the work plane [lx] by the lumen method.

    >>> round(illuminance_lux(12_500 * 0.8, 0.6, 20), 6)
    300.0
    """
    return lumens * utilisation_share / area_m2


# -- lumens before and after


class TodaysLight(NamedTuple):
    """Lumens that leave the fixtures of a group as they hang there [lm]: three figures that are never taken for one another.

    Parameters
    ----------
    as_found_lm : float
        Dark lamps dark, the others at their mean lumens, bodies as dirty as they get: what a meter would find about now.
    all_burning_lm : float
        The same with every lamp burning: what the fixtures were put up to give.
    all_burning_clean_lm : float
        The same with every lamp burning and the bodies just cleaned.
    """

    as_found_lm: float
    all_burning_lm: float
    all_burning_clean_lm: float


class NewLight(NamedTuple):
    """Lumens that leave fixtures with bars in them [lm], at three times that are never taken for one another.

    Parameters
    ----------
    day_one_lm : float
        On the day of handing over: bars new, bodies clean. What a meter would find then.
    mean_lm : float
        Mean over the years up to the horizon, bodies dirty: stands beside the mean lumens of today's lamps.
    maintained_lm : float
        At the horizon, bodies dirty: the least there will be.
    """

    day_one_lm: float
    mean_lm: float
    maintained_lm: float

    def times(self, number: float) -> NewLight:
        """The light of so many bodies.

        >>> NewLight(3.0, 2.5, 2.0).times(2)
        NewLight(day_one_lm=6.0, mean_lm=5.0, maintained_lm=4.0)
        """
        return NewLight(*(number * each for each in self))


def todays_light(
    lamps: int,
    working_share: float,
    initial_lm: float,
    ballast_factor: float,
    mean_share: float,
    dirt_share: float,
    body_share: float,
    optic_share: float = 1.0,
) -> TodaysLight:
    """Light of a group as it is.

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
    TodaysLight
        Lumens [lm].

    Examples
    --------
    Two lamps of 3,100 lm, ballast factor 0.88, body efficiency 0.91, depreciation 0.95 (guide to T8 in open offices);
    one of them dark, dirt 0.9:

    >>> [round(each) for each in todays_light(2, 0.5, 3100, 0.88, 0.95, 0.9, 0.91)]
    [2123, 4245, 4717]
    """
    clean = lamps * initial_lm * ballast_factor * mean_share * body_share * optic_share
    burning = clean * dirt_share
    return TodaysLight(burning * working_share, burning, clean)


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


def mean_depreciation(end_share: float) -> float:
    """Mean of an exponential that falls from 1 to a share: (1 - share) / ln(1 / share); 1 where nothing is lost.

    Parameters
    ----------
    end_share : float
        What is left at the end, above 0 and at most 1.

    Examples
    --------
    >>> round(mean_depreciation(0.7), 4), mean_depreciation(1.0)
    (0.8411, 1.0)
    """
    return (1 - end_share) / log(1 / end_share) if end_share < 1 else 1.0


def life_h(share: float, decay_per_h: float, start: float = 1.0) -> float:
    """Hours until φ = start · exp(−decay · t) falls to a share.

    >>> round(life_h(0.7, 1e-5), 2)
    35667.49
    """
    return log(start / share) / decay_per_h


def new_light(
    bars_w: float,
    lumens_per_w: float,
    depreciation_share: float,
    dirt_share: float,
    body_share: float,
    optic_share: float = 1.0,
) -> NewLight:
    """Light that leaves a fixture with bars in it.

    Parameters
    ----------
    bars_w : float
        Watts that its bars take [W], not the mains watts.
    lumens_per_w : float
        Lumens per watt of the bar [lm/W].
    depreciation_share, dirt_share, body_share, optic_share : float
        What a bar still gives at the horizon; the others as in `todays_light`, for bars.

    Returns
    -------
    NewLight
        Lumens [lm].

    Examples
    --------
    >>> [round(each) for each in new_light(28.8, 168, 0.8073, 0.9, 0.78)]
    [3774, 3058, 2742]
    """
    day_one = bars_w * lumens_per_w * body_share * optic_share
    dirty = day_one * dirt_share
    return NewLight(day_one, dirty * mean_depreciation(depreciation_share), dirty * depreciation_share)


# -- what is wanted


class Judgement(NamedTuple):
    """How an arrangement stands to what is wanted: `enough`, `too dim` or `too bright`.

    Shares of what is wanted: at the horizon, which must be enough, and on day one, which must not be above the ceiling.
    """

    verdict: str
    wanted_lm: float
    new: NewLight
    share_of_wanted: float
    day_one_share: float


def judge(new: NewLight, wanted_lm: float, ceiling_share: float) -> Judgement:
    """Is it as much light as is wanted up to the horizon, and on no day more than the ceiling?

    Shares are rounded to a tenth of a per cent before they are compared; at each limit it is enough.

    Parameters
    ----------
    new : NewLight
        Light of the group with bars.
    wanted_lm : float
        Lumens wanted [lm].
    ceiling_share : float
        Most light over what is wanted; it holds on day one, when there is most.

    Examples
    --------
    >>> [judge(NewLight(lm, lm, lm), 3000, 1.4).verdict for lm in (2700, 3000, 4201.6)]
    ['too dim', 'enough', 'too bright']
    >>> judge(NewLight(4300, 3600, 3100), 3000, 1.4).verdict
    'too bright'
    """
    share = round(new.maintained_lm / wanted_lm, SHARE_DECIMALS)
    day_one = round(new.day_one_lm / wanted_lm, SHARE_DECIMALS)
    verdict = "too dim" if share < 1 else "too bright" if day_one > ceiling_share else "enough"
    return Judgement(verdict, wanted_lm, new, share, day_one)


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
