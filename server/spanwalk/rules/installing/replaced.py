"""What is in a fixture once some of its parts were replaced since it was fitted. Twin: pwa/rules/installing/replaced.js."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from spanwalk.rules.installing.as_fitted import ACCESSORY, FittedItem
from spanwalk.rules.record_types import CatalogueItemView, FailureView
from spanwalk.rules.survey import facet

FROM_SPARES = "from-spares"
PUT_IN = (FROM_SPARES, "under-warranty", "bought")
"""What was done of a failure that put another item in."""


@dataclass
class Piece:
    """An item that is or was in a fixture: `put_in_by` is the failure that it was put in for, '' of the first fitting.

    `taken_out` names for each piece of it that is out the failure and the day.
    """

    item: FittedItem
    put_in_by: str = ""
    put_in_on: str = ""
    taken_out: list[tuple[str, str]] = field(default_factory=list)

    @property
    def left(self) -> int:
        """How many pieces of it are in the fixture still."""
        return self.item["number"] - len(self.taken_out)


def pieces_of(
    fitted: Sequence[FittedItem], failures: Iterable[FailureView], catalogue: Mapping[str, CatalogueItemView]
) -> list[Piece]:
    """What was fitted in a fixture and what was put in since: of each failure one piece is out, and what was put in for it is in.

    The piece is one of the item that the failure names, else of the one that was put in anew, or in whose place that came by the
    catalogue: the one with its number, else the oldest that is left. Of what nobody knows a number is told none.

    Parameters
    ----------
    fitted : sequence of FittedItem
        What was fitted, as it was noted.
    failures : iterable of view records
        Those of the fixture.
    catalogue : mapping
        Items by code.

    Returns
    -------
    list of Piece
        What was fitted, then what was put in, in that order.
    """
    found = [Piece(each) for each in fitted]
    for failure in sorted(failures, key=_order):
        replaced = facet(failure, "replaced")
        if replaced.get("how") not in PUT_IN:
            continue
        gone, on = _piece(found, failure, catalogue), str(replaced.get("on") or "")
        if gone is not None:
            gone.taken_out.append((failure["id"], on))
        if code := str(replaced.get("item") or ""):
            kind = str(facet(catalogue.get(code), "identity").get("item") or (gone.item["kind"] if gone else ACCESSORY))
            serials = split_serials(str(replaced.get("serials") or ""))
            found.append(Piece({"kind": kind, "code": code, "number": 1, "serials": serials}, failure["id"], on))
    return found


def items_now(
    fitted: Sequence[FittedItem], failures: Iterable[FailureView], catalogue: Mapping[str, CatalogueItemView]
) -> list[FittedItem]:
    """What is in a fixture now, of `pieces_of`: how many are left of each."""
    return [{**each.item, "number": each.left} for each in pieces_of(fitted, failures, catalogue) if each.left > 0]


def _successor(item: CatalogueItemView | None) -> str:
    return str(facet(item, "retired").get("replaced_by") or "").casefold()


def _order(failure: FailureView) -> tuple[str, str, str]:
    on, noted = facet(failure, "replaced").get("on"), facet(failure, "identity").get("noted_at")
    return str(on or ""), str(noted or ""), failure["id"]


def _piece(pieces: Sequence[Piece], failure: FailureView, catalogue: Mapping[str, CatalogueItemView]) -> Piece | None:
    """Of which item one piece is out; None where there is none left, or nobody said of what."""
    said = facet(failure, "identity")
    left = [each for each in pieces if each.left > 0 and _is_of(each.item, failure, catalogue)]
    numbers = set(split_serials(str(said.get("serials") or "")))
    named = [each for each in left if numbers & set(each.item.get("serials") or ())]
    return next(iter(named or left), None)


def _is_of(item: FittedItem, failure: FailureView, catalogue: Mapping[str, CatalogueItemView]) -> bool:
    code = item["code"].casefold()
    if named := str(facet(failure, "identity").get("item") or "").casefold():
        return code == named
    put_in = str(facet(failure, "replaced").get("item") or "").casefold()
    return bool(put_in) and put_in in (code, _successor(catalogue.get(item["code"])))


def by_code(items: Iterable[CatalogueItemView]) -> dict[str, CatalogueItemView]:
    """Items of a catalogue by what is printed on them."""
    return {str(facet(each, "identity").get("code", "")): each for each in items}


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


__all__ = ["FROM_SPARES", "PUT_IN", "Piece", "by_code", "items_now", "pieces_of", "split_serials"]
