"""Ways to convert groups as alternatives of a choice: what each comes to, as plain numbers."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import cast

from spanwalk.rules.arrangements.body import Body, Catalogue
from spanwalk.rules.arrangements.choosing.sure_ways import Sure
from spanwalk.rules.arrangements.now import Now
from spanwalk.rules.arrangements.plan_types import Misfits, Part, Proposal
from spanwalk.rules.arrangements.to_json import share_of_today_pct
from spanwalk.rules.money.job_money import JobTerms
from spanwalk.rules.money.money import hire_days
from spanwalk.rules.record_types import KindView
from spanwalk.rules.site_order.look import look_of
from spanwalk.rules.site_order.problem import Alternative, Short
from spanwalk.rules.survey import facet
from spanwalk.services.planning.job_sums import JobBasis


@dataclass(frozen=True)
class Way:
    """One way to convert one group.

    Parameters
    ----------
    arrangement : str
        Its name.
    rows : sequence of int
        Rows that get bars, counted from 1.
    fill, fill_items : sequence of str
        Bars end to end in a cavity, by code and by id.
    bars_each : int
        Bars in one fixture.
    parts : sequence of Part
        What is bought.
    light_pct : float or None
        Light as a share of today's [%].
    lcc, net_cost, cost, first_year_short : float
        Money of the group by itself, to the cent [currency].
    job : JobTerms
        What of it is reckoned again for the job.
    misfits : Misfits or None
        What to be ready for.
    """

    arrangement: str
    rows: Sequence[int]
    fill: Sequence[str]
    fill_items: Sequence[str]
    bars_each: int
    parts: Sequence[Part]
    light_pct: float | None
    lcc: float
    net_cost: float
    cost: float
    first_year_short: float
    job: JobTerms
    misfits: Misfits | None


def way_of_plan(told: Proposal, misfits: Misfits | None) -> Way:
    """A way of what a plan proposes, whose money is known."""
    money = told["money"]
    return Way(
        told["arrangement"],
        told["rows"],
        told["fill"],
        told["fill_items"],
        told["bars_each"],
        told["parts"],
        told["light"].get("share_of_today_pct"),
        cast("float", money["lcc"]),
        cast("float", money["net_cost"]),
        cast("float", money["cost"]),
        cast("float", money["first_year_short"]),
        money["job"],
        misfits,
    )


def way_of_sure(body: Body, current: Now, each: Sure) -> Way:
    """The same of a sure arrangement, to the cent as a plan would propose it."""
    candidate, worth = each.setting.candidate, each.worth
    result = worth.result
    if result is None or worth.cost is None or worth.job is None:
        raise ValueError(f"the money of {candidate.name} is not known")
    return Way(
        candidate.name,
        candidate.layout.rows,
        candidate.layout.codes,
        candidate.layout.ids,
        len(candidate.own_bars),
        worth.parts,
        share_of_today_pct(each.light, body.fixtures, current),
        round(result.lcc, 2),
        round(result.net_cost, 2),
        round(worth.cost, 2),
        round(result.first_year_short, 2),
        worth.job,
        each.misfits,
    )


def added_up(kinds: Sequence[KindView], ways: Sequence[Way], basis: JobBasis, catalogue: Catalogue) -> Alternative:
    """One alternative of the ways of groups that are decided together.

    Parameters
    ----------
    kinds : sequence of view records
        The kind of each group.
    ways : sequence of Way
        The way of each.
    basis : JobBasis
        What holds for the job as a whole.
    catalogue : Catalogue
        What the site offers.
    """
    discount, charges = 1 + basis.discount_share, basis.charges
    rest = work = minutes = asked = peak = saved = disposal = 0.0
    shared: dict[str, float] = {}
    parts: dict[str, int] = {}
    short: list[Short] = []
    for way in ways:
        job = way.job
        rest += way.lcc - way.net_cost - way.first_year_short / discount
        hire = hire_days(job["hire_minutes"]) * job["hire_per_day"]
        work += (way.cost if charges.is_none else job["bare"]) - job["goods"] - hire
        disposal += job.get("disposal", 0.0)
        for name in charges.shared:
            shared[name] = shared.get(name, 0.0) + job.get("shared", {}).get(name, 0.0)
        minutes, asked = minutes + job["hire_minutes"], asked + job["rebate_asked"]
        peak, saved = peak + job["peak_kw"], saved + job["peak_saved_kw"]
        for part in way.parts:
            parts[part["item"]] = parts.get(part["item"], 0) + part["count"]
        short += _short_of(way.misfits)
    seen = _Seen(kinds, ways, catalogue)
    return Alternative(
        tuple(way.arrangement for way in ways),
        round(rest, 6),
        round(work, 2),
        minutes,
        round(asked, 2),
        peak,
        saved,
        tuple(sorted(parts.items())),
        tuple(short),
        _least_light(ways),
        seen.look,
        seen.colour,
        seen.outer,
        seen.inner,
        bars_each=tuple(way.bars_each for way in ways),
        disposal=round(disposal, 2),
        shared=tuple(sorted(shared.items())),
    )


class _Seen:
    """How the groups of an alternative look: see `problem.Alternative`."""

    def __init__(self, kinds: Sequence[KindView], ways: Sequence[Way], catalogue: Catalogue) -> None:
        every = list(zip(kinds, ways, strict=True))
        self.look = sum(look_of(way.rows, _rows(kind), _optic(kind)) for kind, way in every)
        self.colour = " + ".join(sorted({colour for way in ways for colour in _colours(catalogue, way)}))
        is_fewer = any(len(way.rows) != _rows(kind) for kind, way in every)
        lie = [f"{' + '.join(way.fill)} in {list(way.rows)}" for way in ways]
        self.outer = f"{self.colour} {'fewer' if is_fewer else 'all'}"
        self.inner = f"{self.outer} {lie}"


def _short_of(misfits: Misfits | None) -> Iterator[Short]:
    if misfits is not None:
        for each in misfits["spare"]:
            yield Short(each["item"], each["count"], misfits["expected"], misfits["accepted"] + misfits["aside"])


def _least_light(ways: Iterable[Way]) -> float | None:
    """The least of them; None where one is not known."""
    lights = [way.light_pct for way in ways]
    known = [light for light in lights if light is not None]
    return min(known) if len(known) == len(lights) else None


def _rows(kind: KindView) -> int:
    return int(facet(kind, "lamps").get("rows", 0))


def _optic(kind: KindView) -> str:
    return str(facet(kind, "housing").get("optic", ""))


def _colours(catalogue: Catalogue, way: Way) -> set[str]:
    return {colour for item in way.fill_items if (colour := catalogue.colours.get(item)) is not None}


__all__ = ["Way", "added_up", "way_of_plan", "way_of_sure"]
