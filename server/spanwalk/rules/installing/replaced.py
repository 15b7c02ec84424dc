"""What is in a fixture once some of its parts were replaced: by what was fitted, and the failures that were reported since."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from spanwalk.rules.installing.as_fitted import ACCESSORY, FittedItem
from spanwalk.rules.record_types import FailureView
from spanwalk.rules.survey import facet

FROM_SPARES = "from-spares"
PUT_IN = (FROM_SPARES, "under-warranty", "bought")
"""What was done of a failure that put another item in."""


def items_now(fitted: Sequence[FittedItem], failures: Iterable[FailureView]) -> list[FittedItem]:
    """What is in a fixture now: of each failure one piece is out, and what was put in for it is in.

    The piece is one of the item that the failure names, else of the one that was put in anew: that with its number,
    else the first. Of what nobody knows a number is told none.

    Parameters
    ----------
    fitted : sequence of FittedItem
        What was fitted, as it was noted.
    failures : iterable of view records
        Those of the fixture.
    """
    now = list(fitted)
    for failure in sorted(failures, key=_order):
        said, replaced = facet(failure, "identity"), facet(failure, "replaced")
        code = str(replaced.get("item") or "")
        if replaced.get("how") not in PUT_IN:
            continue
        gone = _piece(now, str(said.get("item") or code), split_serials(str(said.get("serials") or "")))
        kind = ACCESSORY if gone is None else now[gone]["kind"]
        if gone is not None:
            now[gone] = {**now[gone], "number": now[gone]["number"] - 1}
        if code:
            serials = split_serials(str(replaced.get("serials") or ""))
            now.append({"kind": kind, "code": code, "number": 1, "serials": serials})
    return [each for each in now if each["number"] > 0]


def _order(failure: FailureView) -> tuple[str, str]:
    return str(facet(failure, "replaced").get("on") or ""), str(facet(failure, "identity").get("noted_at") or "")


def _piece(items: Sequence[FittedItem], code: str, serials: Sequence[str]) -> int | None:
    """Place of the item that a piece was taken from; None where there is none left."""
    left = [
        place for place, each in enumerate(items) if each["code"].casefold() == code.casefold() and each["number"] > 0
    ]
    named = [place for place in left if set(serials) & set(items[place].get("serials") or ())]
    return next(iter(named or left), None)


def split_serials(serials: str) -> list[str]:
    """Batch or serial numbers that were written into one field.

    Parameters
    ----------
    serials : str
        As somebody wrote them.

    Examples
    --------
    >>> split_serials("H-1; H-2, H-3")
    ['H-1', 'H-2', 'H-3']
    """
    return [each.strip() for each in serials.replace(";", ",").split(",") if each.strip()]


__all__ = ["FROM_SPARES", "PUT_IN", "items_now", "split_serials"]
