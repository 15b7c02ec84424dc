"""Digamma and trigamma, and the inverse of the latter: what the logarithm of a variance needs, which the standard library has not."""

from __future__ import annotations

from math import log

FAR = 12.0
"""From here on the asymptotic series is exact to 1e-13."""
TURNS = 100
CLOSE = 1e-12


def digamma(x: float) -> float:
    """Derivative of the logarithm of the gamma function; x above 0, a pure number.

    >>> round(digamma(1.0), 9)
    -0.577215665

    References
    ----------
    .. [1] Abramowitz and Stegun, Handbook of Mathematical Functions, 6.3.5 and 6.3.18 (from memory).
    """
    below = 0.0
    while x < FAR:
        below -= 1 / x
        x += 1
    square = 1 / (x * x)
    series = square * (1 / 12 - square * (1 / 120 - square * (1 / 252 - square * (1 / 240 - square / 132))))
    return below + log(x) - 1 / (2 * x) - series


def trigamma(x: float) -> float:
    """Second derivative of the logarithm of the gamma function; x above 0, a pure number.

    >>> round(trigamma(1.0), 9)
    1.644934067

    References
    ----------
    .. [1] Abramowitz and Stegun, Handbook of Mathematical Functions, 6.4.6 and 6.4.12 (from memory).
    """
    below = 0.0
    while x < FAR:
        below += 1 / (x * x)
        x += 1
    square = 1 / (x * x)
    series = square * (1 / 6 - square * (1 / 30 - square * (1 / 42 - square * (1 / 30 - square * 5 / 66))))
    return below + 1 / x + square / 2 + series / x


def inverse_trigamma(y: float) -> float:
    """The x whose trigamma is y; y above 0, a pure number. By halving: trigamma falls all the way.

    >>> round(inverse_trigamma(trigamma(3.7)), 9)
    3.7
    """
    low, high = 1e-9, 1.0
    while trigamma(high) > y:
        low, high = high, high * 2
    for _ in range(TURNS):
        middle = (low + high) / 2
        if high - low <= CLOSE * high:
            break
        low, high = (middle, high) if trigamma(middle) > y else (low, middle)
    return (low + high) / 2


__all__ = ["digamma", "inverse_trigamma", "trigamma"]
