"""Division and roots of whole numbers that say which way they round. Twin: pwa/rules/integer_math.js."""

from __future__ import annotations

from math import isqrt


def ceil_div(dividend: int, divisor: int) -> int:
    """Quotient, rounded up.

    Parameters
    ----------
    dividend : int
        Any sign; in any unit.
    divisor : int
        Above 0; in any unit.

    Examples
    --------
    >>> ceil_div(7, 2), ceil_div(-7, 2)
    (4, -3)
    """
    return -(-dividend // divisor)


def ceil_sqrt(square: int) -> int:
    """Square root, rounded up.

    Parameters
    ----------
    square : int
        0 or more; in the square of any unit.

    Examples
    --------
    >>> ceil_sqrt(16), ceil_sqrt(17)
    (4, 5)
    """
    root = isqrt(square)
    return root if root * root == square else root + 1


__all__ = ["ceil_div", "ceil_sqrt"]
