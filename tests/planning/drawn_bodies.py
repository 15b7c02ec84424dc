"""Bodies and catalogues drawn at random, to be planned: voltages that hardly match, silent catalogues, pairs, d.c."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from random import Random
from typing import Any

from tests.planning.some_body import BAR, DRIVER, FED, FEEDING, MM, body, fit, item

from spanwalk.rules.arrangements.body import Body, Neighbour

Json = Any
OF_ONE_CATALOGUE = 20
"""Bodies for one catalogue."""
NO_LIMIT_OF_LIGHT = {"keep_light_pct": 0.01, "light_ceiling_pct": 1e9}
ROOMY = {"length_ticks": 2000 * MM, "width_ticks": 200 * MM, "height_ticks": 200 * MM}


@dataclass(frozen=True)
class Drawn:
    """A body to plan, the fed body of its pair if it has one, the raw catalogue, and what is asked of the proposal."""

    here: Body
    there: Body | None
    catalogue: Mapping[str, Json]
    volts: str
    asked: Mapping[str, int]


def drawn_bodies(bodies: int, seed: int) -> Iterator[Drawn]:
    """So many bodies; the same seed gives the same."""
    random = Random(seed)
    for number in range(bodies):
        if number % OF_ONE_CATALOGUE == 0:
            items = [
                *(_bar(random, at) for at in range(random.randint(1, 4))),
                *(_driver(random, at) for at in range(random.randint(3, 5))),
            ]
            catalogue = {each["id"]: each["facets"].get("bar") or each["facets"]["driver"] for each in items}
            offered = body(items=items).catalogue
        yield _drawn(random, items, catalogue, offered)


def _drawn(random: Random, items: list[Json], catalogue: Mapping[str, Json], offered: Any) -> Drawn:
    bars = [each["id"] for each in items if each["facets"].get("bar")]
    fits = [fit(*random.choices(bars, k=random.choice((1, 1, 2, 2, 3))))]
    cavities, fixtures, volts = (
        random.choice((1, 1, 1, 2)),
        random.randint(1, 20),
        random.choice(("277", "277", "277", "120", "347", "dc")),
    )
    lamps = {"rows": random.randint(1, 6), "lamps_end_to_end": cavities}
    asked = {"cavities": cavities, "fixtures": fixtures}

    def one(leads: Mapping[str, Json], **group: Json) -> Body:
        kind = {"lamps": lamps, "housing": {"row_spacing_ticks": 100 * MM}, "ballast_space": ROOMY, **leads}
        of_group = {"count": {"count": fixtures}, "supply": {"volts": volts}, **group}
        return replace(
            body(items=items, fits=fits, kind=kind, group=of_group, settings=NO_LIMIT_OF_LIGHT, money={}),
            catalogue=offered,
        )

    if random.random() < 0.7:
        return Drawn(one({}), None, catalogue, volts, asked)
    decided = random.choice(({}, {}, {"decision": {"decision": "leave-as-is"}}, {"supply": {"volts": "not-seen"}}))
    here, there = one(FEEDING), one(FED, **decided)
    return Drawn(
        replace(here, partner=Neighbour(there.group, there.kind, there.judged)), there, catalogue, volts, asked
    )


def _bar(random: Random, at: int) -> Json:
    rated = random.choice((175, 250, 350, 350, 700))
    facet = BAR | {
        "rated_ma": rated,
        "most_ma": rated * random.choice((100, 150, 200, 250)) // 100,
        "forward_v": random.choice((18, 30, 35.5, 36, 36, 36, 36, 36.4, 48)),
        "volts_apart": random.choice((None, 0, 0.5, 0.5, 1)),
    }
    return item(f"BAR{at}", "bar", {name: value for name, value in facet.items() if value is not None})


def _driver(random: Random, at: int) -> Json:
    watts = random.choice((20, 30, 50, 80, 150))
    facet = DRIVER | {
        "outputs": random.randint(1, 6),
        "bars_per_output": random.choice((None, None, 1, 2, 3)),
        "bars_joined": random.choice((None, "not-said", "in-series", "in-series", "in-parallel", "in-parallel")),
        "current": random.choice(("shared-by-the-bars", "for-each-output")),
        "watts": watts,
        "least_watts": watts * random.choice((10, 20, 50)) / 100,
        "out_v_min": random.choice((10, 27, 27, 36, 60)),
        "out_v_max": random.choice((36, 42, 72.5, 110, 110)),
        "settings_ma": sorted(random.sample((175, 250, 350, 500, 700, 1050, 1400, 2100), k=random.randint(2, 4))),
        "efficiency_pct": random.choice((80, 88, 91.5)),
        "volts_min": random.choice((100, 100, 120, 347)),
        "volts_max": random.choice((277, 347, 480, 480)),
        "dc": random.choice((None, True)),
        "output_class": random.choice(("class-2-selv",) * 9 + ("not-class-2",)),
    }
    return item(f"DRIVER{at}", "driver", {name: value for name, value in facet.items() if value is not None})
