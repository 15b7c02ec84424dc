"""Watts now and then, energy, demand and emissions of a group of fixtures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from spanwalk.rules.record_view import Facet

Row = Facet
LAMPS_ON_A_BALLAST = 4
"""Most lamps on one ballast where nobody counted ballasts (common practice for 2 to 4 ft lamps)."""
MONTHS = 12
INDOORS = "indoors"
COUNTED_MONTHS = 11
"""Months for which a demand ratchet remembers a peak (common practice)."""


@dataclass(frozen=True)
class Watts:
    """Mains watts of one body.

    Parameters
    ----------
    watts : float
        Mains power [W] with every lamp burning.
    row : mapping
        Row of the table it comes from.
    assumed : tuple of str
        What was assumed: `lamp watts`, `ballast`, `ballast count`, `ballast generation`.
    """

    watts: float
    row: Row
    assumed: tuple[str, ...]


def lamps_by_ballast(lamps: int, ballasts: int) -> list[int]:
    """Lamps on each ballast of a body, as evenly as they go, larger first.

    >>> lamps_by_ballast(3, 2), lamps_by_ballast(4, 1)
    ([2, 1], [4])
    """
    each, more = divmod(lamps, ballasts)
    return [each + (place < more) for place in range(ballasts)]


def ballasts_assumed(lamps: int) -> int:
    """Ballasts taken for so many lamps where nobody counted them: one for up to four.

    >>> ballasts_assumed(4), ballasts_assumed(6)
    (1, 2)
    """
    return -(-lamps // LAMPS_ON_A_BALLAST)


def watts_from_table(row: Row, lamps: int, ballasts: int) -> float | None:
    """Mains watts of so many lamps on so many ballasts; None where the table ends.

    Parameters
    ----------
    row : mapping
        Row of `ballasts`, with `watts_by_lamps` [W].
    lamps, ballasts : int
        In one body.

    Returns
    -------
    float or None
        Watts [W]. Where a ballast holds more lamps than the table goes to, they are taken as on two.

    Examples
    --------
    >>> watts_from_table({"watts_by_lamps": {"1": 31, "2": 59, "3": 89, "4": 112}}, 3, 2)
    90.0
    """
    table, parts = row["watts_by_lamps"], lamps_looked_up(row, lamps, ballasts)
    return float(sum(table[str(part)] for part in parts)) if parts else None


def lamps_looked_up(row: Row, lamps: int, ballasts: int) -> list[int]:
    """Numbers of lamps under which `watts_from_table` looks, one for each ballast; none where the table ends.

    >>> lamps_looked_up({"watts_by_lamps": {"1": 31, "2": 59}}, 4, 1), lamps_looked_up({"watts_by_lamps": {"1": 31}}, 4, 1)
    ([2, 2], [])
    """
    table, parts = row["watts_by_lamps"], lamps_by_ballast(lamps, ballasts)
    if any(str(part) not in table for part in parts):
        halves = [half for part in parts for half in (lamps_by_ballast(part, 2) if str(part) not in table else [part])]
        parts = [half for half in halves if half]
    return [] if any(str(part) not in table for part in parts) else parts


def working_share(lamps: int, dark_lamps: int) -> float:
    """Share of lamps that burn. A dark lamp is taken to draw nothing, which slightly flatters no saving.

    >>> working_share(20, 6)
    0.7
    """
    return max(lamps - dark_lamps, 0) / lamps if lamps else 0.0


def mains_watts(bars_w: float, efficiency_pct: float) -> float:
    """Mains watts [W] of a driver that gives so much to its bars.

    >>> round(mains_watts(28.8, 88), 4)
    32.7273
    """
    return bars_w * 100 / efficiency_pct


def energy_kwh_year(watts: float, hours_year: float, control_saving_share: float = 0.0) -> float:
    """Energy of a year [kWh]; what a control saves, it saves of what is left.

    >>> energy_kwh_year(1_000.0, 3_000, 0.24)
    2280.0
    """
    return watts * hours_year * (1 - control_saving_share) / 1000


def interactive_kwh(saved_kwh: float, factor: float | None) -> float:
    """Saved energy [kWh] with what cooling and heating make of it; only where a factor is set.

    References
    ----------
    .. [1] Form of public technical reference manuals (from memory): kWh = (W0 − W1)/1000 · h · WHFe.

    >>> round(interactive_kwh(23_808.0, 1.06), 2), interactive_kwh(23_808.0, None)
    (25236.48, 23808.0)
    """
    return saved_kwh if factor is None else saved_kwh * factor


def interactive_kw(saved_kw: float, factor: float | None) -> float:
    """Saved load at the meter's peak [kW] with what cooling makes of it; only where a factor is set.

    References
    ----------
    .. [1] Form of public technical reference manuals (from memory): kW = (W0 − W1)/1000 · CF · WHFd.

    >>> round(interactive_kw(9.6, 1.2), 2), interactive_kw(9.6, None)
    (11.52, 9.6)
    """
    return saved_kw if factor is None else saved_kw * factor


def heating_kwh(saved_kwh: float, fuel_share: float | None) -> float:
    """Fuel [kWh] that heating takes more in a year for heat that the lamps gave; none where no share is set.

    Parameters
    ----------
    saved_kwh : float
        Lighting energy saved in a year [kWh].
    fuel_share : float or None
        Fuel taken more over lighting energy saved.

    References
    ----------
    .. [1] Form of public technical reference manuals (from memory): fuel = −(W0 − W1)/1000 · h · IF.

    >>> heating_kwh(10_000.0, 0.25), heating_kwh(10_000.0, None)
    (2500.0, 0.0)
    """
    return 0.0 if fuel_share is None else saved_kwh * fuel_share


def coincidence_row(hours_year: float, space: str | None, table: Sequence[Row]) -> Row:
    """The step of the table of coincidence that a load falls on: the share of it that counts at the monthly peak.

    Parameters
    ----------
    hours_year : float
        Hours a year.
    space : str or None
        The room's space; one with rows of its own (outdoors) goes by those, all others by those for indoors.
    table : sequence of mapping
        Rows of `coincidence`: space, hours_from, share.

    >>> rows = [{"space": "indoors", "hours_from": 0, "share": 0.0}, {"space": "indoors", "hours_from": 1000, "share": 0.9}]
    >>> rows.append({"space": "outdoor-covered", "hours_from": 0, "share": 0.1})
    >>> [coincidence_row(hours, space, rows)["share"] for hours, space in ((999, None), (1000, "stair"), (4380, "outdoor-covered"))]
    [0.0, 0.9, 0.1]
    """
    own = [row for row in table if row["space"] == space] or [row for row in table if row["space"] == INDOORS]
    return max((row for row in own if row["hours_from"] <= hours_year), key=lambda row: row["hours_from"])


def demand_year(kw: float, price_per_kw_month: float) -> float:
    """Demand charge of a year for a load that stands in every monthly peak.

    >>> demand_year(450.0, 1.0) / 12
    450.0
    """
    return kw * price_per_kw_month * MONTHS


def demand_lost_to_ratchet(
    saved_kw: float, price_per_kw_month: float, ratchet_share: float | None, old_kw: float
) -> float:
    """What the first year's demand saving lacks, because the meter still bills a share of the old peak.

    For eleven months after a change the billed demand is no less than the ratchet's share of the peak
    before. Takes the group as if it were the whole meter.

    >>> demand_lost_to_ratchet(40.0, 10.0, 0.8, 100.0)
    2200.0
    >>> demand_lost_to_ratchet(10.0, 10.0, 0.8, 100.0), demand_lost_to_ratchet(40.0, 10.0, None, 100.0)
    (0.0, 0.0)
    """
    if ratchet_share is None:
        return 0.0
    over = max(ratchet_share * old_kw - (old_kw - saved_kw), 0.0)
    return over * price_per_kw_month * COUNTED_MONTHS


def emission_kg(kwh: float, kg_per_kwh: float) -> float:
    """Emissions [kg CO₂e] of so much energy.

    >>> round(emission_kg(25_236.48, 0.349667), 1)
    8824.4
    """
    return kwh * kg_per_kwh
