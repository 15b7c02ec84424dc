"""The outcome of one check: its name, whether it passes, and the numbers by which it does or does not."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache

from spanwalk.rules.said import Facts, Said

PASSES = "passes"
FAILS = "fails"
CANNOT_TELL = "cannot tell"
DECIMALS = 4


class CheckTold(Said):
    """A check as JSON: its name and verdict beside the code and facts of its sentence."""

    check: str
    verdict: str


@dataclass(frozen=True)
class Check:
    """One check of one candidate.

    Parameters
    ----------
    name : str
        Kebab-case name; `plan.<name>.<fails or cannot-tell>` is its sentence.
    verdict : str
        `passes`, `fails` or `cannot tell`. What is not known never passes.
    facts : dict
        What was compared, each number with its unit in its name; for a failure also what would do.
    """

    name: str
    verdict: str
    facts: Facts = field(default_factory=dict)

    @property
    def code(self) -> str:
        """Code of the sentence that says it."""
        return f"plan.{self.name}.{self.verdict.replace(' ', '-')}"

    def told(self) -> CheckTold:
        """The check as JSON: `{"check", "verdict", "code", "facts"}`."""
        return {"check": self.name, "verdict": self.verdict, "code": self.code, "facts": self.facts}


def passes(name: str, /, **facts: object) -> Check:
    """A check that is met."""
    return Check(name, PASSES, _plain(facts))


def fails(name: str, /, **facts: object) -> Check:
    """A check that is not met."""
    return Check(name, FAILS, _plain(facts))


def cannot_tell(name: str, /, **facts: object) -> Check:
    """A check that lacks what it needs."""
    return Check(name, CANNOT_TELL, _plain(facts))


def worst(checks: Iterable[Check]) -> str:
    """`fails` if any fails, else `cannot tell` if any cannot tell, else `passes`.

    >>> worst([passes("a"), cannot_tell("b")])
    'cannot tell'
    """
    verdicts = {check.verdict for check in checks}
    return next((each for each in (FAILS, CANNOT_TELL) if each in verdicts), PASSES)


def first_failed(checks: Iterable[Check]) -> Check | None:
    """The first check that fails, in the order in which they were made."""
    return next((check for check in checks if check.verdict == FAILS), None)


@lru_cache(maxsize=4096)
def exact(number: int | float | str | Fraction) -> Fraction:
    """A number of a record, exactly as it is written there, so that no comparison hangs on binary fractions.

    >>> exact(0.1) + exact(0.2) == exact(0.3)
    True
    """
    return number if isinstance(number, Fraction) else Fraction(str(number))


def plain(number: int | float | Fraction) -> int | float:
    """A number as JSON carries it: whole if it is whole, else at most four decimals.

    >>> plain(Fraction(5, 2)), plain(Fraction(4)), plain(1 / 3)
    (2.5, 4, 0.3333)
    """
    rounded = round(float(number), DECIMALS)
    return int(rounded) if rounded == int(rounded) else rounded


def _plain(facts: Facts) -> Facts:
    return {name: plain(each) if isinstance(each, (float, Fraction)) else each for name, each in facts.items()}
