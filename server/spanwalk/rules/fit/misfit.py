"""What would it cost if a bar did not go in? Twin: pwa/rules/fit/misfit.js.

Found out on the ladder: another bar is bought, somebody comes back to fit it, and where the room needs an access
platform it is hired for one more day. Whole hundredths of the site's currency, rounded up.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TypedDict

from spanwalk.rules import constants
from spanwalk.rules.integer_math import ceil_div
from spanwalk.rules.record_view import Facet

TEN_THOUSANDTHS = constants.TEN_THOUSANDTHS
"""Money and minutes come with at most four decimal places."""
PER_CENT = constants.PER_CENT
"""Ten-thousandths in a hundredth."""
MINUTES_AN_HOUR = constants.MINUTES_AN_HOUR


class MisfitCost(TypedDict):
    """Cost of a misfit part by part [1/100 of the currency]; None where its price is missing."""

    lift_cents: int | None
    bars_cents: int | None
    labour_cents: int | None
    total_cents: int | None
    missing: list[str]
    needs_lift: bool


def misfit_cost(bars: Sequence[str], prices: Mapping[str, Facet], money: Facet, access: str) -> MisfitCost:
    """Cost of one row of bars that does not go into its cavity.

    Parameters
    ----------
    bars : sequence of str
        Item ids of the row. What replaces it is taken at the same price.
    prices : mapping
        Item id -> `{"each", "fit_minutes"?}` [money, min].
    money : mapping
        `identity` facet of the site's money record; empty where there is none, or it may not be seen.
    access : str
        The room's access; the platform is hired again only where it is 'platform'.

    Returns
    -------
    dict
        `lift_cents`, `bars_cents`, `labour_cents`, `total_cents` [1/100 of the currency], each null where its price is
        missing, the total where any is; `missing`: 'lift', 'bars', 'labour'; `needs_lift`.

    Examples
    --------
    >>> money = {"lift_per_day": 240, "labour_per_h": 54}
    >>> misfit_cost(["b"], {"b": {"each": 12.9, "fit_minutes": 5}}, money, "platform")["total_cents"]
    25740
    >>> misfit_cost(["b"], {}, money, "ladder")["missing"]
    ['bars', 'labour']

    References
    ----------
    .. [1] One further day of hire: common practice, no source.
    """
    known = [prices.get(bar, {}) for bar in bars]
    needs_lift = access == "platform"
    parts = {
        "lift": _lift(money) if needs_lift else 0,
        "bars": sum(_exact(price["each"]) for price in known) if all("each" in price for price in known) else None,
        "labour": _labour(known, money),
    }
    cents = {name: None if value is None else ceil_div(value, PER_CENT) for name, value in parts.items()}
    missing = [name for name, value in parts.items() if value is None]
    total = None if missing else sum(value or 0 for value in cents.values())
    return {
        "lift_cents": cents["lift"],
        "bars_cents": cents["bars"],
        "labour_cents": cents["labour"],
        "total_cents": total,
        "missing": missing,
        "needs_lift": needs_lift,
    }


def _lift(money: Facet) -> int | None:
    return _exact(money["lift_per_day"]) if "lift_per_day" in money else None


def _labour(prices: Sequence[Facet], money: Facet) -> int | None:
    """Minutes to fit the bars, once more, at the price of labour."""
    if "labour_per_h" not in money or not all("fit_minutes" in price for price in prices):
        return None
    minutes = sum(_exact(price["fit_minutes"]) for price in prices)
    return ceil_div(minutes * _exact(money["labour_per_h"]), MINUTES_AN_HOUR * TEN_THOUSANDTHS)


def _exact(value: float) -> int:
    """A decimal of at most four places as a whole number of ten-thousandths."""
    return round(value * TEN_THOUSANDTHS)


__all__ = ["misfit_cost"]
