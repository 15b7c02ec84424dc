"""Which emergency pack goes into the fixtures of a group that have a battery: the cheapest one that passes every check."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from spanwalk.rules.arrangements.body import Body, code_of
from spanwalk.rules.arrangements.layout import Layout
from spanwalk.rules.arrangements.now import Now, optic_share
from spanwalk.rules.arrangements.plan_types import PackFacts
from spanwalk.rules.gear.checks import (
    CANNOT_TELL,
    FAILS,
    PASSES,
    Check,
    cannot_tell,
    first_failed,
    passes,
    plain,
    worst,
)
from spanwalk.rules.gear.emergency import (
    BATTERY,
    DUTIES,
    SECOND_SOURCE,
    PackPlace,
    check_pack,
    needs_unswitched_feed,
)
from spanwalk.rules.light import light
from spanwalk.rules.record_types import CatalogueItemView
from spanwalk.rules.record_view import Facet

ORDER = (PASSES, CANNOT_TELL, FAILS)


@dataclass(frozen=True)
class Packed:
    """A pack with the one bar that it feeds.

    Parameters
    ----------
    pack, bar : view record
        Catalogue items.
    row : int
        Row in which that bar lies, from 1.
    place : int
        Its place in the row, from 1.
    checks : tuple of Check
        What was checked.
    told : dict
        What plan and card say of it: see `told_of`.
    """

    pack: CatalogueItemView
    bar: CatalogueItemView
    row: int
    place: int
    checks: tuple[Check, ...]
    told: PackFacts

    @property
    def failed(self) -> Check | None:
        """The first check that fails."""
        return first_failed(self.checks)


class Packs:
    """The packs for the candidates of one group; what was asked once is not worked out again."""

    def __init__(self, body: Body, current: Now) -> None:
        self._body, self._current = body, current
        self._packs = packs_by_price(body) if body.emergency == BATTERY else []
        self._place = pack_place(body)
        self._found: dict[tuple[object, ...], Packed] = {}

    def of(self, layout: Layout, driver: CatalogueItemView, drivers: int) -> Packed | None:
        """The pack for a layout with so many drivers; None where none goes in, or none is offered.

        Of the packs, and of the bars in a row, it is the first that passes, packs by price; else the first that is not
        known to fail; else the first.

        Parameters
        ----------
        layout : Layout
            The bars.
        driver : view record
            Catalogue item.
        drivers : int
            How many of them in one body [drivers].
        """
        if not self._packs:
            return None
        key = (driver["id"], drivers, layout.rows[0], *(bar["id"] for bar in layout.fill))
        if key not in self._found:
            tried = list(self._tried(layout, driver, drivers))
            self._found[key] = min(tried, key=lambda each: ORDER.index(worst(each.checks)))
        return self._found[key]

    def _tried(self, layout: Layout, driver: CatalogueItemView, drivers: int) -> Iterator[Packed]:
        facet = driver["facets"]["driver"]
        for pack in self._packs:
            for place, bar in enumerate(layout.fill, start=1):
                checks = check_pack(pack["facets"]["accessory"], bar["facets"]["bar"], facet, drivers, self._place)
                told = told_of(self._body, self._current, pack, bar)
                lit = _check_light(told)
                yield Packed(pack, bar, layout.rows[0], place, (*checks, *lit), told)


def packs_by_price(body: Body) -> list[CatalogueItemView]:
    """Packs that the catalogue offers, the cheapest first and those without a price last."""
    prices, offered = body.catalogue.prices, body.catalogue.accessories
    packs = [each for each in offered if each["facets"]["accessory"]["purpose"] == "emergency-pack"]
    return sorted(packs, key=lambda each: (prices.get(each["id"], {}).get("each", float("inf")), code_of(each)))


def pack_place(body: Body) -> PackPlace:
    """What a pack meets in a body."""
    surroundings, settings, duty = body.of_room("surroundings"), body.settings, body.of_group("duty")
    return PackPlace(
        space=body.place.space,
        volts=body.place.volts,
        volts_mark=body.place.volts_mark,
        coldest_c=surroundings.get("coldest_c", settings.get("coldest_c")),
        hottest_c=body.place.hottest_c,
        wanted_min=settings.get("emergency_min"),
        unswitched_feed=duty.get("unswitched_feed", "not-seen"),
    )


def told_of(body: Body, current: Now, pack: CatalogueItemView, bar: CatalogueItemView) -> PackFacts:
    """What plan and card say of a pack: names, how long it lasts and is wanted, and its light against the fixture's today.

    ``then_lm`` are maintained lumens that leave the fixture in an emergency, ``today_lm`` those that leave it today with
    its lamps on mains; None where they cannot be told. What the old pack gave is not known.
    """
    facet = pack["facets"]["accessory"]
    return {
        "pack": code_of(pack),
        "pack_item": pack["id"],
        "bar": code_of(bar),
        "battery": facet.get("battery", "not-said"),
        "output_w": facet.get("output_w"),
        "lasts_min": facet.get("duration_min"),
        "wanted_min": body.settings.get("emergency_min"),
        "unswitched_feed": needs_unswitched_feed(facet),
        "then_lm": _then_lm(body, facet.get("output_w"), bar["facets"]["bar"]),
        "today_lm": round(current.light.all_burning_lm / body.fixtures) if current.light and body.fixtures else None,
    }


def _then_lm(body: Body, output_w: float | None, bar: Facet) -> int | None:
    row = body.body_row
    if row is None or output_w is None:
        return None
    kept = light.led_depreciation(body.light_hours, bar["l70_h"])
    shares = (kept, row["dirt_share"], row["bars_share"], optic_share(body))
    return round(light.new_light(float(output_w), bar["lumens_per_w"], *shares).maintained_lm)


def _check_light(told: PackFacts) -> tuple[Check, ...]:
    """Emergency light against the fixture's light today: told, not judged, since the local code says what is enough."""
    then, today = told["then_lm"], told["today_lm"]
    if then is None:
        return ()
    if today is None:
        return (passes("pack.light", then_lm=then),)
    return (
        passes("pack.light-against-today", then_lm=then, today_lm=today, share_pct=plain(round(then / today * 100))),
    )


def duty_checks(body: Body) -> Sequence[Check]:
    """What the emergency duty of a group asks apart from bars and drivers: which fixtures, and whose current feeds them.

    Of two bodies on one ballast what keeps one live keeps the leads of the other live, so their duties must be the same.
    """
    found = []
    if body.emergency in (BATTERY, *SECOND_SOURCE) and not body.emergency_positions:
        found.append(cannot_tell("emergency-positions", missing=["emergency_positions"]))
    there = body.neighbour
    if body.is_fed_by_neighbour and body.emergency == BATTERY:
        found.append(cannot_tell("pack.own-driver"))
    if there is not None and there.emergency != body.emergency and {body.emergency, there.emergency} & set(DUTIES):
        found.append(cannot_tell("emergency-neighbour", duty=body.emergency, theirs=there.emergency))
    return found
