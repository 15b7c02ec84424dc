"""How long an item is under warranty: from the day that it was fitted, by the years that its catalogue row promises."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction

MONTHS_A_YEAR = 12


def later_by_months(day: date, months: int) -> date:
    """The same day so many months later; where that month is shorter, its last day.

    Parameters
    ----------
    day : date
        From when.
    months : int
        How much later [months].

    Examples
    --------
    >>> later_by_months(date(2024, 2, 29), 12), later_by_months(date(2026, 1, 31), 1)
    (datetime.date(2025, 2, 28), datetime.date(2026, 2, 28))
    """
    whole = day.year * MONTHS_A_YEAR + day.month - 1 + months
    year, month = divmod(whole, MONTHS_A_YEAR)
    following = date(year + (month + 1) // MONTHS_A_YEAR, (month + 1) % MONTHS_A_YEAR + 1, 1)
    last = following - timedelta(days=1)
    return date(last.year, last.month, min(day.day, last.day))


def warranty_ends(fitted_on: date, warranty_years: float) -> date:
    """The last day of a warranty; months that are not whole are left out.

    Parameters
    ----------
    fitted_on : date
        When the item was fitted.
    warranty_years : float
        For how many years it is promised.

    Examples
    --------
    >>> warranty_ends(date(2026, 4, 2), 5), warranty_ends(date(2026, 4, 2), 2.5)
    (datetime.date(2031, 4, 2), datetime.date(2028, 10, 2))
    """
    return later_by_months(fitted_on, int(Fraction(str(warranty_years)) * MONTHS_A_YEAR))


def days_left(ends: date, today: date) -> int:
    """Days of a warranty that are left, the last one too; none once it is over.

    Parameters
    ----------
    ends : date
        Its last day.
    today : date
        The day.

    Examples
    --------
    >>> days_left(date(2026, 4, 2), date(2026, 4, 2)), days_left(date(2026, 4, 2), date(2026, 4, 3))
    (1, 0)
    """
    return max(0, (ends - today).days + 1)
