"""Cells of what a customer gets: what is not known is said, and numbers are printed as they are read."""

from __future__ import annotations

from collections.abc import Iterator

from spanwalk.services.handover.numbers import number
from spanwalk.services.text.neutral import Out
from spanwalk.words import say


def or_unknown(value: float | None) -> Out:
    """A figure, or that it is not known."""
    return say("offer-sheet.not-known") if value is None else value


def printed(value: Out, digits: int = 2) -> str:
    """A cell as it stands on paper, a fraction with so many digits.

    >>> printed(1234.5), printed(1234), printed("K4"), printed(None), printed(1234.5, 0)
    ('1,234.50', '1,234', 'K4', '', '1,234')
    """
    if isinstance(value, float):
        return number(value, digits)
    return number(value) if isinstance(value, int) else str(value or "")


def intactness(intact: bool, content_before: str) -> Iterator[str]:
    """What is to be known of a fingerprint: that it differs, or that it is another since a name was taken out."""
    if not intact:
        yield say("offer.not-intact")
    elif content_before:
        yield say("offer.name-taken-out", {"content": content_before})


__all__ = ["intactness", "or_unknown", "printed"]
