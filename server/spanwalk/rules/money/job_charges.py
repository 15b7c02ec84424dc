"""What a job costs beside items, work, hire and disposal: mobilisation, permit, travel, waste containers and tax.

All of them are paid once, when the job is done: initial investment costs at the base date, which are not discounted (NIST
Handbook 135, edition 1995, from memory; 10 CFR 436.19 calls them investment costs). Federal agencies pay no sales tax; for
others tax is part of what is invested (ASTM E917, from memory). How a permit is priced, what tax is on, and that days of travel
and containers are paid whole: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from math import ceil
from typing import NotRequired, TypedDict

MATERIALS, MATERIALS_AND_LABOUR, ALL_COSTS = "materials", "materials-and-labour", "all-costs"
CREW_DAY = "crew-day"
CONTAINERS = ("short-lamps", "long-lamps", "other-lamps", "ballasts", "pcb-ballasts")
"""Sorts of container."""


@dataclass(frozen=True)
class SharedCost:
    """What several groups share and a job pays in whole numbers: a day of a crew's travel, or a container.

    Parameters
    ----------
    holds : float
        What one serves: minutes of work [min], or pieces.
    each : float
        Price of one [currency].
    """

    holds: float
    each: float

    def number(self, amount: float) -> int:
        """How many the job pays for.

        Parameters
        ----------
        amount : float
            Minutes of work [min], or pieces.

        >>> SharedCost(120, 95.0).number(241), SharedCost(120, 95.0).number(240), SharedCost(120, 95.0).number(0)
        (3, 2, 0)
        """
        return ceil(round(amount / self.holds, 6))

    def in_part(self, amount: float) -> float:
        """What a group by itself adds of it: its part of one, since others fill the rest [currency].

        Parameters
        ----------
        amount : float
            Minutes of work [min], or pieces.

        >>> SharedCost(120, 96.0).in_part(30)
        24.0
        """
        return amount / self.holds * self.each


@dataclass(frozen=True)
class Charges:
    """What a site's money says of them.

    Parameters
    ----------
    mobilisation, permit : float
        Once for the job [currency].
    permit_share : float
        Of all other costs before tax.
    shared : mapping
        `crew-day`, or a sort of container -> what one costs.
    tax_share : float
        Of what is taxed; on the cost before any rebate, for a rebate changes no invoice.
    taxed : str
        `materials`, `materials-and-labour` or `all-costs`.
    """

    mobilisation: float = 0.0
    permit: float = 0.0
    permit_share: float = 0.0
    shared: Mapping[str, SharedCost] = field(default_factory=dict)
    tax_share: float = 0.0
    taxed: str = ALL_COSTS

    @cached_property
    def is_none(self) -> bool:
        """Whether nothing is charged."""
        lumps = self.mobilisation or self.permit or self.permit_share
        return not (lumps or self.shared or self.tax_share)

    @cached_property
    def before_tax(self) -> float:
        """What becomes of 1 with its part of the permit."""
        return 1 + self.permit_share

    @cached_property
    def of_goods(self) -> float:
        """What becomes of 1 spent on items, with its part of permit and tax."""
        return self._with_tax(self.tax_share > 0)

    @cached_property
    def of_labour(self) -> float:
        """The same of labour and travel."""
        return self._with_tax(self.taxed != MATERIALS)

    @cached_property
    def of_others(self) -> float:
        """The same of hire, disposal, containers and mobilisation."""
        return self._with_tax(self.taxed == ALL_COSTS)

    @cached_property
    def once(self) -> float:
        """What the job pays once, however large it is: mobilisation and the permit's sum, with tax [currency]."""
        permit = self.permit * (1 + self.tax_share if self.taxed == ALL_COSTS else 1)
        return self.mobilisation * self.of_others + permit

    def of_shared(self, name: str) -> float:
        """What becomes of 1 spent on something shared."""
        return self.of_labour if name == CREW_DAY else self.of_others

    def _with_tax(self, is_taxed: bool) -> float:
        if self.taxed == ALL_COSTS:
            return self.before_tax * (1 + self.tax_share)
        return self.before_tax + (self.tax_share if is_taxed else 0.0)


NO_CHARGES = Charges()


class LineFacts(TypedDict, total=False):
    """Where an amount comes from: how many at what price, of how much; a share [%] of a sum [currency]; what is taxed."""

    number: int
    each: float
    amount: float
    holds: float
    sum: float
    pct: float
    of: float
    taxed: str


class CostLine(TypedDict):
    """A part of what a job costs [currency]; the parts add up to it to the cent."""

    what: str
    amount: float
    facts: NotRequired[LineFacts]


@dataclass(frozen=True)
class Bare:
    """What a job costs before anything is charged on it [currency].

    Parameters
    ----------
    goods, labour, hire, disposal : float
        Items, work, access platforms, disposal by the piece.
    shared : mapping
        `crew-day` -> minutes of work; a sort of container -> pieces.
    """

    goods: float
    labour: float
    hire: float
    disposal: float
    shared: Mapping[str, float]


def alone(bare: Bare, charges: Charges) -> float:
    """What a group adds to a job by itself: its parts of travel and containers, with permit and tax by their shares [currency].

    What the job pays once is in no group: it is paid whether or not the group is done.

    >>> alone(Bare(100.0, 50.0, 0.0, 0.0, {"crew-day": 84.0}), Charges(400.0, shared={"crew-day": SharedCost(840.0, 60.0)}))
    156.0
    """
    shared = sum(
        each.in_part(bare.shared.get(name, 0.0)) * charges.of_shared(name) for name, each in charges.shared.items()
    )
    of_labour, of_others = charges.of_labour, charges.of_others
    return bare.goods * charges.of_goods + bare.labour * of_labour + (bare.hire + bare.disposal) * of_others + shared


def lines_of(bare: Bare, charges: Charges) -> list[CostLine]:
    """What a job costs, line by line, to the cent; tax last, the permit before it.

    Parameters
    ----------
    bare : Bare
        What it costs before anything is charged on it.
    charges : Charges
        What is charged.

    Examples
    --------
    Items of 1,000, work of 500: mobilisation 400, permit 50 + 1 % of 1,900, tax 8 % of the items.

    >>> found = lines_of(Bare(1_000.0, 500.0, 0.0, 0.0, {}), Charges(400.0, 50.0, 0.01, {}, 0.08, "materials"))
    >>> [(line["what"], line["amount"]) for line in found]
    [('goods', 1000.0), ('labour', 500.0), ('mobilisation', 400.0), ('permit', 69.0), ('tax', 80.0)]
    """
    found: list[CostLine] = [
        {"what": "goods", "amount": round(bare.goods, 2)},
        {"what": "labour", "amount": round(bare.labour, 2)},
        {"what": "hire", "amount": round(bare.hire, 2)},
        {"what": "disposal", "amount": round(bare.disposal, 2)},
        *(_shared_line(name, each, bare.shared.get(name, 0.0)) for name, each in charges.shared.items()),
        {"what": "mobilisation", "amount": round(charges.mobilisation, 2)},
    ]
    if charges.is_none:
        return [each for each in found if each["amount"]]
    found.append(_permit(charges, sum(each["amount"] for each in found)))
    found.append(_tax(charges, found))
    return [each for each in found if each["amount"]]


def _shared_line(name: str, shared: SharedCost, amount: float) -> CostLine:
    number = shared.number(amount)
    facts: LineFacts = {"number": number, "each": shared.each, "amount": round(amount, 2), "holds": shared.holds}
    return {"what": name, "amount": round(number * shared.each, 2), "facts": facts}


def _permit(charges: Charges, before: float) -> CostLine:
    facts: LineFacts = {"sum": charges.permit, "pct": round(charges.permit_share * 100, 4), "of": round(before, 2)}
    return {"what": "permit", "amount": round(charges.permit + charges.permit_share * before, 2), "facts": facts}


TAXED = {MATERIALS: ("goods",), MATERIALS_AND_LABOUR: ("goods", "labour", CREW_DAY)}
"""Which lines are taxed; of all costs every one."""


def _tax(charges: Charges, lines: list[CostLine]) -> CostLine:
    names = TAXED.get(charges.taxed, tuple(each["what"] for each in lines))
    base = round(sum(each["amount"] for each in lines if each["what"] in names), 2)
    facts: LineFacts = {"pct": round(charges.tax_share * 100, 4), "of": base, "taxed": charges.taxed}
    return {"what": "tax", "amount": round(charges.tax_share * base, 2), "facts": facts}


__all__ = [
    "CONTAINERS",
    "CREW_DAY",
    "NO_CHARGES",
    "Bare",
    "Charges",
    "CostLine",
    "LineFacts",
    "SharedCost",
    "alone",
    "lines_of",
]
