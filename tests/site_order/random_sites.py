"""Invented sites for choosing, drawn from a seed: kinds with a few arrangements of shared items, packs, breaks, platforms."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from random import Random

from spanwalk.rules.money.job_charges import CREW_DAY, Charges, SharedCost
from spanwalk.rules.money.job_money import Limits
from spanwalk.rules.ordering.ordering import Terms
from spanwalk.rules.site_order.problem import Alternative, Problem, Rules, Short, Unit, problem

NO_RULES = Rules()


def small_site(
    draw: Random, rules: Rules = NO_RULES, leaving: bool = False, units: tuple[int, int] = (2, 5)
) -> Problem:
    """A few units of up to four alternatives, with everything that the job's money knows."""
    items = {f"i{number}": _terms(draw) for number in range(draw.randint(2, 5))}
    made = [_unit(draw, number, list(items), leaving) for number in range(draw.randint(*units))]
    limits = Limits(
        draw.choice([None, 0.1, 0.3]),
        draw.choice([None, 50.0, 400.0]),
        draw.choice([None, 0.5, 0.8]),
        draw.choice([None, 500.0]),
    )
    return problem(
        made,
        items,
        draw.choice([0, 2.5, 10]),
        draw.choice([0.0, 240.0]),
        draw.choice([0.0, 12.5]),
        limits,
        0.05,
        rules,
    )


def with_charges(given: Problem, draw: Random) -> Problem:
    """The same site with all that is charged on a job, and what each alternative needs of what groups share."""
    shared = {
        CREW_DAY: SharedCost(draw.choice([60.0, 840.0]), draw.choice([61.0, 184.0])),
        "short-lamps": SharedCost(draw.choice([4.0, 30.0]), 95.0),
    }
    taxed = draw.choice(["materials", "materials-and-labour", "all-costs"])
    charges = Charges(
        draw.choice([0.0, 150.0]), 85.0, draw.choice([0.0, 0.03]), shared, draw.choice([0.08, 0.21]), taxed
    )
    return replace(given, units=tuple(_charged(draw, unit) for unit in given.units), charges=charges)


def _charged(draw: Random, unit: Unit) -> Unit:
    lamps = float(draw.randint(0, 12))

    def needs(each: Alternative) -> Alternative:
        minutes = each.minutes or float(draw.randint(10, 400))
        shared = ((CREW_DAY, minutes), ("short-lamps", lamps))
        return each if each.is_left else replace(each, disposal=min(each.work, lamps * 0.9), shared=shared)

    return replace(unit, alternatives=tuple(needs(each) for each in unit.alternatives))


def _terms(draw: Random) -> Terms:
    price: dict[str, float] = {"each": draw.randint(200, 4000) / 100}
    if draw.random() < 0.6:
        price |= {"from_2": draw.randint(5, 40), "each_2": round(price["each"] * draw.choice([0.7, 0.9, 1.1]), 2)}
        if draw.random() < 0.5:
            price |= {"from_3": price["from_2"] + draw.randint(5, 60), "each_3": round(price["each_2"] * 0.9, 2)}
    return Terms({"pack_size": draw.choice([1, 1, 4, 10, 25])}, price)


def _unit(draw: Random, number: int, items: list[str], leaving: bool) -> Unit:
    fixtures = draw.randint(1, 12)
    lifted = draw.random() < 0.5
    alternatives = [_alternative(draw, name, fixtures, lifted, items) for name in "abcd"[: draw.randint(1, 4)]]
    if leaving:
        alternatives.append(Alternative(("",), fixtures * draw.randint(200, 400)))
    room = f"r{draw.randint(0, 2)}"
    return Unit((f"g{number}",), room, draw.choice("kl"), draw.choice(["ground", "first"]), tuple(alternatives), 0)


def _alternative(draw: Random, name: str, fixtures: int, lifted: bool, items: list[str]) -> Alternative:
    parts = tuple((item, fixtures * draw.randint(1, 3)) for item in sorted(draw.sample(items, draw.randint(1, 2))))
    short = tuple(
        Short(draw.choice(items), draw.randint(1, 2), round(draw.random() * 3, 4), draw.choice([0, 0, 1]))
        for _ in range(draw.choice([0, 0, 1]))
    )
    minutes = float(fixtures * draw.randint(10, 40))
    peak = fixtures * 0.1
    return Alternative(
        (name,),
        round(fixtures * draw.randint(5000, 12000) / 100, 2),
        round(minutes * 0.9, 2),
        minutes if lifted else 0.0,
        float(fixtures * draw.randint(0, 15)),
        peak,
        round(peak * draw.choice([0.3, 0.5, 0.6]), 4),
        parts,
        short,
        100.0,
        draw.choice([0, 2, 31]),
        draw.choice(["3500", "4000"]),
        outer := draw.choice("xy"),
        outer + draw.choice("12"),
    )


LENGTHS = 6
BARS_OF_A_LENGTH = 5
DRIVERS = 21


def large_site(seed: int, groups: int, kinds: int = 200) -> Problem:
    """A site of many groups of some kinds; 51 items of three prices in packs of 1 to 25, each kind's bars of one length."""
    draw = Random(seed)
    items = {name: _sold(draw) for name in (*_bars(), *_drivers())}
    made = [_kind(draw, number) for number in range(kinds)]
    units = []
    for number in range(groups):
        kind = draw.randrange(kinds)
        fixtures = draw.choice([1, 2, 2, 4, 4, 6, 8, 9, 12, 16, 24])
        hours = draw.choice([0.5, 1.0, 1.0, 1.4])
        units.append(_group(number, kind, made[kind], fixtures, hours, f"floor{number * 8 // groups}", items))
    return problem(units, items, 3, 240.0, 0.0, Limits(), 0.05, Rules(each_item=40.0))


def _bars() -> list[str]:
    return [f"bar-{length}-{number}" for length in range(LENGTHS) for number in range(BARS_OF_A_LENGTH)]


def _drivers() -> list[str]:
    return [f"driver-{number:02d}" for number in range(DRIVERS)]


def _sold(draw: Random) -> Terms:
    each = draw.randint(400, 6000) / 100
    price = {
        "each": each,
        "from_2": 50,
        "each_2": round(each * 0.95, 2),
        "from_3": 200,
        "each_3": round(each * 0.88, 2),
    }
    return Terms({"pack_size": draw.choice([1, 5, 6, 10, 12, 20, 25])}, price)


@dataclass(frozen=True)
class Way:
    """A way to convert a fixture of a kind: bar, driver, how many bars, what running it costs, minutes to fit it."""

    bar: str
    driver: str
    bars: int
    running: float
    minutes: float


def _kind(draw: Random, number: int) -> list[Way]:
    rows = draw.choice([1, 2, 2, 2, 3, 4])
    length = draw.choice([0, 1, 2, 2, 2, 2, 3, 4, 5])
    base = rows * draw.randint(9000, 16000) / 100
    drivers = draw.sample(_drivers(), 4)
    return [
        Way(
            f"bar-{length}-{draw.randrange(BARS_OF_A_LENGTH)}",
            draw.choice(drivers),
            max(1, rows - draw.choice([0, 0, 1])),
            base * draw.uniform(1.0, 1.15),
            8.0 + 4 * rows,
        )
        for _ in range(draw.randint(3, 8))
    ]


def _group(
    number: int,
    kind: int,
    ways: list[Way],
    fixtures: int,
    hours: float,
    floor: str,
    items: Mapping[str, Terms],
) -> Unit:
    """A group; today's choice is the cheapest for it alone, at the prices of one piece."""
    lifted = kind % 3 == 0
    alternatives = tuple(
        Alternative(
            (f"{kind:03d}-{at}",),
            round(way.running * fixtures * hours, 2),
            round(way.minutes * fixtures * 0.8, 2),
            way.minutes * fixtures if lifted else 0.0,
            parts=((way.bar, way.bars * fixtures), (way.driver, fixtures)),
        )
        for at, way in enumerate(ways)
    )

    def alone(each: Alternative) -> float:
        return each.rest + each.work + sum(count * items[item].price["each"] for item, count in each.parts)

    cheapest = min(range(len(alternatives)), key=lambda at: alone(alternatives[at]))
    return Unit((f"g{number:06d}",), f"r{number // 3}", f"k{kind}", floor, alternatives, cheapest)
