"""What lux readings correct in an estimate of light, and which of them nobody believes.

The estimate of a room is off by a factor: body efficiency, lamps, dirt, reflectances. Its logarithm is taken as a sum of a part
that rooms of a kind with bodies of a kind have alike, and a part of the one room; a reading adds its own error. All are normal,
so that priors and readings are joined by Bayes' rule in closed form.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import exp, log, sqrt
from typing import NamedTuple

Z_95 = 1.959964
"""Two-sided 95 % of a normal distribution."""
ALIKE_SHARE = 0.7
"""Part of the variance that rooms and bodies of a kind have alike (common practice, no source): tables are off for a kind, rooms about it."""
CARRIED = 0.5
"""Correlation of what an estimate of new light is off by with today's (common practice, no source): surfaces and dirt stay, lamps and how a
body takes light do not."""
METER_SHARE, METER_UNKNOWN_SHARE = 0.05, 0.10
"""Limits of error of a meter with a calibration that was noted, and of one without: classes of 5 % and 10 % (maker's lighting handbook, read)."""
POINTS_SPREAD = 0.2
"""Standard deviation between points of a room, as a share of their mean (common practice, no source)."""
ODD_AT = 3.0
"""A reading that lies so many standard deviations off what is expected of it is odd: 3 in 1,000 would by chance."""


class Reading(NamedTuple):
    """A room that was read: ln of mean reading over estimate, points, and whether the meter's calibration was noted."""

    room: str
    kind: str
    log_ratio: float
    points: int
    calibrated: bool


class Factor(NamedTuple):
    """What an estimate is to be multiplied by: ln of it, normal with mean and standard deviation; rooms that it rests on."""

    mean: float
    deviation: float
    rooms: int

    def of(self, estimate: float) -> tuple[float, float, float]:
        """Most likely value and the 95 % range of what was estimated.

        >>> [round(each) for each in Factor(0.0, log(1.15) / Z_95, 0).of(400)]
        [400, 348, 460]
        """
        half = Z_95 * self.deviation
        return estimate * exp(self.mean), estimate * exp(self.mean - half), estimate * exp(self.mean + half)


class Corrected(NamedTuple):
    """What readings make of the estimates: factors by room and by kind, odd rooms with how many deviations they lie off."""

    rooms: Mapping[str, Factor]
    kinds: Mapping[str, Factor]
    odd: Mapping[str, float]


def prior_deviation(range_share: float) -> float:
    """Standard deviation of ln of what an estimate is off by, from the half-width of its 95 % range, as a share.

    >>> round(prior_deviation(0.15), 4)
    0.0713
    """
    return log(1 + range_share) / Z_95


def reading_deviation(points: int, calibrated: bool) -> float:
    """Standard deviation of ln of a mean reading: the meter's limit as a rectangle, and the spread between points.

    Parameters
    ----------
    points : int
        Points read, at least 1 [points].
    calibrated : bool
        Whether the meter's calibration was noted.

    Examples
    --------
    >>> round(reading_deviation(16, True), 4), round(reading_deviation(1, False), 4)
    (0.0577, 0.2082)
    """
    limit = METER_SHARE if calibrated else METER_UNKNOWN_SHARE
    return sqrt(limit**2 / 3 + POINTS_SPREAD**2 / points)


def corrected(readings: Iterable[Reading], range_share: float) -> Corrected:
    """Join readings with what was taken before them.

    A room that lies more than `ODD_AT` deviations off what the other rooms of its kind (or, of one room, the tables) make
    expected is not believed: it corrects nothing, and is told. The worst is set aside first, and the rest looked at anew.

    Parameters
    ----------
    readings : iterable of Reading
        One a room.
    range_share : float
        Half-width of the range about an estimate that nobody checked, as a share.

    References
    ----------
    .. [1] Gelman et al., Bayesian Data Analysis, 3rd edition, section 2.5: a normal mean with known variance and a normal
       prior (from memory); precisions add up, means are weighted by them.

    Examples
    --------
    One room read at 16 points, 20 % below its estimate: a good half of it is believed.

    >>> found = corrected([Reading("a", "office", log(0.8), 16, True)], 0.15)
    >>> round(exp(found.rooms["a"].mean), 3), round(exp(found.kinds["office"].mean), 3)
    (0.874, 0.91)
    """
    by_kind: dict[str, list[Reading]] = {}
    for each in readings:
        by_kind.setdefault(each.kind, []).append(each)
    rooms: dict[str, Factor] = {}
    kinds: dict[str, Factor] = {}
    odd: dict[str, float] = {}
    for kind, theirs in by_kind.items():
        kept = list(theirs)
        while kept:
            worst, off = max(((each, _off(each, kept, range_share)) for each in kept), key=lambda one: one[1])
            if off <= ODD_AT:
                break
            odd[worst.room] = off
            kept.remove(worst)
        kinds[kind] = _of_kind(kept, range_share)
        rooms |= {each.room: _of_room(each, kept, range_share) for each in kept}
    return Corrected(rooms, kinds, odd)


def unread(kind: str, found: Corrected, range_share: float) -> Factor:
    """What to multiply the estimate of a room by that nobody read: what its kind was found to be, with the spread of single rooms.

    Parameters
    ----------
    kind : str
        Kind of room and bodies.
    found : Corrected
        What readings of other rooms made.
    range_share : float
        As in `corrected`.
    """
    return found.kinds.get(kind) or Factor(0.0, prior_deviation(range_share), 0)


def carried_over(today: Factor, range_share: float) -> Factor:
    """What the estimate of new light is to be multiplied by, where that of today was corrected.

    Half of what today's estimate is off by is taken to stay; the rest is as little known as before.

    Parameters
    ----------
    today : Factor
        Of today's light.
    range_share : float
        As in `corrected`.

    Examples
    --------
    >>> found = carried_over(Factor(log(0.8), 0.04, 3), 0.15)
    >>> round(exp(found.mean), 3), round(found.deviation, 4)
    (0.894, 0.0649)
    """
    own = prior_deviation(range_share) ** 2 * (1 - CARRIED**2)
    return Factor(CARRIED * today.mean, sqrt(CARRIED**2 * today.deviation**2 + own), today.rooms)


class OfRoom(NamedTuple):
    """What estimates of the light of a room are to be multiplied by, today's and new; so many points were read in it and believed."""

    today: Factor
    new: Factor
    points: int

    @property
    def is_corrected(self) -> bool:
        """Whether any reading that is believed has a part in it."""
        return self.today.rooms > 0


def of_tables(range_share: float) -> OfRoom:
    """The same where no reading counts: nothing is corrected, and the range is that of the tables.

    >>> found = of_tables(0.15)
    >>> found.is_corrected, [round(each) for each in found.new.of(400)]
    (False, [400, 348, 460])
    """
    plain = Factor(0.0, prior_deviation(range_share), 0)
    return OfRoom(plain, plain, 0)


def of_room(room: str, kind: str, found: Corrected, range_share: float, points: int = 0) -> OfRoom:
    """What the estimates of a room are to be multiplied by: its own readings first, else those of its kind, else nothing.

    Parameters
    ----------
    room, kind : str
        The room, and of what kind it is.
    found : Corrected
        What the readings of the site made.
    range_share : float
        As in `corrected`.
    points : int
        Points that were read in it and believed [points].

    Examples
    --------
    >>> found = corrected([Reading("a", "office", log(0.8), 16, True)], 0.15)
    >>> [round(exp(of_room(each, "office", found, 0.15).new.mean), 3) for each in ("a", "another")]
    [0.935, 0.954]
    """
    today = found.rooms.get(room) or unread(kind, found, range_share)
    if not today.rooms:
        return of_tables(range_share)
    return OfRoom(today, carried_over(today, range_share), points)


def _variances(range_share: float) -> tuple[float, float]:
    """Variance that a kind has alike, and that of single rooms about it."""
    whole = prior_deviation(range_share) ** 2
    return whole * ALIKE_SHARE, whole * (1 - ALIKE_SHARE)


def _alike(readings: Sequence[Reading], range_share: float) -> tuple[float, float]:
    """Mean and variance of the part that is alike, after these readings."""
    alike, own = _variances(range_share)
    weights = [1 / (own + reading_deviation(each.points, each.calibrated) ** 2) for each in readings]
    precision = 1 / alike + sum(weights)
    mean = sum(weight * each.log_ratio for weight, each in zip(weights, readings, strict=True)) / precision
    return mean, 1 / precision


def _of_kind(readings: Sequence[Reading], range_share: float) -> Factor:
    """Factor of a room of the kind that nobody read."""
    mean, variance = _alike(readings, range_share)
    return Factor(mean, sqrt(variance + _variances(range_share)[1]), len(readings))


def _of_room(each: Reading, readings: Sequence[Reading], range_share: float) -> Factor:
    """Factor of a room that was read, with what the others say of its kind."""
    before = _of_kind([other for other in readings if other is not each], range_share)
    precision, read = before.deviation**-2, reading_deviation(each.points, each.calibrated) ** -2
    mean = (before.mean * precision + each.log_ratio * read) / (precision + read)
    return Factor(mean, (precision + read) ** -0.5, len(readings))


def _off(each: Reading, readings: Sequence[Reading], range_share: float) -> float:
    """How many standard deviations a reading lies off what the others make expected."""
    before = _of_kind([other for other in readings if other is not each], range_share)
    expected = sqrt(before.deviation**2 + reading_deviation(each.points, each.calibrated) ** 2)
    return abs(each.log_ratio - before.mean) / expected


def outside(lux: float, low_lux: float, high_lux: float) -> bool:
    """Whether a mean reading lies outside the range that was told, ends included.

    >>> outside(398, 445, 601), outside(445, 445, 601)
    (True, False)
    """
    return not low_lux <= lux <= high_lux
