"""What a plan is made from: one group, what it stands in, and what the catalogue offers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import NamedTuple, cast

from spanwalk.rules.arrangements.plan_types import PlanInShort, SpareBars
from spanwalk.rules.fit.bar_rows import is_offered
from spanwalk.rules.fit.by_lamp import ReadOfKind
from spanwalk.rules.gear.checks import Check
from spanwalk.rules.gear.driver_in_body import NOT_SEEN, Place, Space
from spanwalk.rules.judging.judgement_types import Judgement
from spanwalk.rules.light.light_readings import OfRoom, of_tables
from spanwalk.rules.points.found import KindHeld
from spanwalk.rules.record_types import CatalogueItemView, GroupView, KindView, RoomView, SiteView
from spanwalk.rules.record_view import Facet, Record, Row, Tables
from spanwalk.rules.said import Facts, Said
from spanwalk.rules.survey import facet, is_position

NOTHING_READ = ReadOfKind(0, 0, None)
SPACE_SIDES = ("length_ticks", "width_ticks", "height_ticks")


class Sold(NamedTuple):
    """Code of an item, its price by the piece [currency], None where it has none, and minutes to fit it [min]."""

    code: str
    each: float | None
    fit_minutes: float


def _sold(item: CatalogueItemView, price: Facet | None) -> Sold:
    said: Facet = price or {}
    return Sold(code_of(item), None if price is None else price["each"], float(said.get("fit_minutes", 0)))


@dataclass(frozen=True)
class Catalogue:
    """What a site offers: live catalogue items by what they are, and their prices.

    Parameters
    ----------
    bars, drivers, accessories, wiring_parts : sequence of view records
        Offered items, in order of their codes.
    prices : mapping
        Item id → `{"each", "fit_minutes"?}` [money, min].
    """

    bars: Sequence[CatalogueItemView]
    drivers: Sequence[CatalogueItemView]
    accessories: Sequence[CatalogueItemView]
    prices: Mapping[str, Facet]
    wiring_parts: Sequence[CatalogueItemView] = ()

    @classmethod
    def of(cls, records: Sequence[Record]) -> Catalogue:
        """The catalogue among view records; what is removed, retired, recalled or not offered is left out.

        >>> Catalogue.of([]).bars
        ()
        """
        every = [cast("CatalogueItemView", each) for each in records if each["type"] == "catalogue_item"]
        items = [each for each in every if not each["removed"] and each["facets"].get("identity") and is_offered(each)]
        items.sort(key=lambda each: (code_of(each), each["id"]))
        prices = {cast("str", each["parent"]): facet(each, "identity") for each in records if _is_price(each)}
        bars, drivers, accessories, parts = (
            tuple(each for each in items if each["facets"].get(what))
            for what in ("bar", "driver", "accessory", "wiring_part")
        )
        return cls(bars, drivers, accessories, prices, parts)

    @cached_property
    def driver_options(self) -> dict[tuple[object, ...], object]:
        """What each driver does for so many bars, worked out once for all groups of a site: see `driver_options.options_of`."""
        return {}

    @cached_property
    def placed(self) -> dict[tuple[object, ...], Check]:
        """Checks of drivers in a place that were made already, for all groups of a site: see `driver_options.ChecksInBody`."""
        return {}

    @cached_property
    def fed_instead(self) -> dict[tuple[object, ...], bool]:
        """Whether drivers feed a row of bars that goes in instead, for all groups of a site: see `choosing.spares`."""
        return {}

    @cached_property
    def instead(self) -> dict[tuple[object, ...], list[SpareBars]]:
        """Bars that one row takes which are not in another, for all groups of a site: see `choosing.spares`."""
        return {}

    @cached_property
    def sold(self) -> dict[str, Sold]:
        """Item id -> its code, its price and the minutes to fit it."""
        return {id: _sold(item, self.prices.get(id)) for id, item in self.by_id.items()}

    @cached_property
    def colours(self) -> dict[str, str]:
        """Id of a bar -> its colour temperature, of those that say it."""
        bars = {bar["id"]: facet(bar, "bar") for bar in self.bars}
        return {id: str(bar["cct_k"]) for id, bar in bars.items() if "cct_k" in bar}

    @cached_property
    def by_id(self) -> dict[str, CatalogueItemView]:
        """Items by id."""
        return {item["id"]: item for item in (*self.bars, *self.drivers, *self.accessories, *self.wiring_parts)}

    def accessory(self, purpose: str) -> CatalogueItemView | None:
        """The cheapest accessory for a purpose; unpriced ones last."""
        return self._cheapest.get(purpose)

    @cached_property
    def _cheapest(self) -> dict[str, CatalogueItemView]:
        found: dict[str, CatalogueItemView] = {}
        for each in sorted(
            self.accessories,
            key=lambda each: (self.prices.get(each["id"], {}).get("each", float("inf")), code_of(each)),
        ):
            found.setdefault(each["facets"]["accessory"]["purpose"], each)
        return found


def _is_price(record: Record) -> bool:
    return record["type"] == "price" and not record["removed"] and "each" in facet(record, "identity")


def code_of(item: CatalogueItemView) -> str:
    """An item's code in the catalogue."""
    return str(item["facets"].get("identity", {}).get("code", ""))


LIGHT_YEARS = 10
"""Years after which the light is still to be enough where a site says none (common practice, no source)."""


@dataclass(frozen=True)
class Others:
    """What else lights the room: the other groups in it.

    Parameters
    ----------
    lumens : float
        Lumens that leave their fixtures today, all lamps burning [lm].
    watts : float
        Their mains watts today [W].
    known : bool
        Whether both could be reckoned for every other group.
    site_values : tuple of mapping
        What the site set in place of figures that theirs rest on.
    """

    lumens: float = 0.0
    watts: float = 0.0
    known: bool = True
    site_values: tuple[Mapping[str, str], ...] = ()


@dataclass(frozen=True)
class Neighbour:
    """The group of the bodies with which those of a group share their ballasts.

    Parameters
    ----------
    group, kind : view record
        The group and its kind; its room is the same.
    judged : mapping
        What `judging.judge_group` says of it; for the feeding one, whose plan says it all, empty.
    doubts : sequence of mapping
        Its readings with an open question.
    others : Others
        What else lights the room for it.
    plan : mapping or None
        For the fed one: the plan of the feeding one.
    read_of_kind : ReadOfKind
        What was read of its kind.
    kind_held : sequence of KindHeld
        For what its kind's second readings hold it back.
    """

    group: GroupView
    kind: KindView
    judged: Judgement = field(default_factory=Judgement)
    doubts: Sequence[Facts] = ()
    others: Others = field(default_factory=Others)
    plan: PlanInShort | None = None
    read_of_kind: ReadOfKind = NOTHING_READ
    kind_held: Sequence[KindHeld] = ()

    @property
    def fixtures(self) -> int:
        """Fixtures in the group; 0 where nobody counted."""
        return int((self.group["facets"].get("count") or {}).get("count", 0))


@dataclass(frozen=True)
class Body:
    """One group to plan for, with all it hangs on. Every view record has `id`, `facets`, `conflicts`.

    Parameters
    ----------
    group, kind, room, site : view record
        The group and what it belongs to.
    judged : mapping
        What `judging.judge_group` says of it.
    catalogue : Catalogue
        What may be fitted.
    money : mapping
        `identity` facet of the site's money record; empty where nobody set it.
    tables : mapping
        Reference tables by name: `ballasts, lumens, spaces, bodies, controls`.
    others : Others
        What else lights the room.
    partner : Neighbour or None
        For bodies that share a ballast: the group of the other bodies.
    unpaired : mapping or None
        For bodies that share a ballast, where it is not clear with which: code and facts of why.
    doubts : sequence of mapping
        Readings of the group with an open question: what `points.readings` found, as facts.
    read_of_kind : ReadOfKind
        What was read of its kind, over all groups.
    kind_held : sequence of KindHeld
        For what its kind's second readings hold it back.
    read_light : OfRoom or None
        What readings of light make of the estimates in its room; None where there are none.
    """

    group: GroupView
    kind: KindView
    room: RoomView
    site: SiteView
    judged: Judgement
    catalogue: Catalogue
    money: Facet
    tables: Tables
    others: Others = field(default_factory=Others)
    partner: Neighbour | None = None
    doubts: Sequence[Facts] = ()
    unpaired: Said | None = None
    read_of_kind: ReadOfKind = NOTHING_READ
    kind_held: Sequence[KindHeld] = ()
    read_light: OfRoom | None = None

    @cached_property
    def light_factors(self) -> OfRoom:
        """What estimates of light in its room are multiplied by; without readings by one, with the range of the tables."""
        return self.read_light or of_tables(float(self.tables["bodies"]["range_share"]))

    @cached_property
    def lies_instead(self) -> dict[tuple[object, ...], bool]:
        """Whether a row of bars that goes in instead may lie in the body: see `choosing.spares`."""
        return {}

    @cached_property
    def neighbour(self) -> Body | None:
        """The other body of the pair, as a group of its own."""
        if self.partner is None:
            return None
        there, back = (
            self.partner,
            Neighbour(
                self.group,
                self.kind,
                self.judged,
                self.doubts,
                self.others,
                read_of_kind=self.read_of_kind,
                kind_held=self.kind_held,
            ),
        )
        return replace(
            self,
            group=there.group,
            kind=there.kind,
            judged=there.judged,
            others=there.others,
            partner=back,
            doubts=there.doubts,
            read_of_kind=there.read_of_kind,
            kind_held=there.kind_held,
        )

    def of_kind(self, name: str) -> Facet:
        """A facet of the kind; empty where nothing was entered."""
        return cast("Facet", self.kind["facets"].get(name) or {})

    def of_group(self, name: str) -> Facet:
        """A facet of the group; empty where nothing was entered."""
        return cast("Facet", self.group["facets"].get(name) or {})

    def of_room(self, name: str) -> Facet:
        """A facet of the room; empty where nothing was entered."""
        return cast("Facet", self.room["facets"].get(name) or {})

    @cached_property
    def settings(self) -> Facet:
        """The site's settings."""
        return self.site["facets"].get("settings") or {}

    @cached_property
    def fixtures(self) -> int:
        """Fixtures in the group; 0 where nobody counted."""
        return int(self.of_group("count").get("count", 0))

    @cached_property
    def rows(self) -> int:
        """Rows of lamps in one fixture; 0 where not seen."""
        return int(self.of_kind("lamps").get("rows", 0))

    @cached_property
    def cavities_in_a_row(self) -> int:
        """Lamps end to end in a row, each in a cavity of its own."""
        return int(self.of_kind("lamps").get("lamps_end_to_end", 1))

    @cached_property
    def lamps_each(self) -> int:
        """Lamps in one fixture."""
        return self.rows * self.cavities_in_a_row

    @cached_property
    def dark_lamps(self) -> int:
        """Lamps that do not burn, in the whole group."""
        return int(self.of_group("count").get("dark_lamps", 0))

    @cached_property
    def emergency(self) -> str:
        """The group's emergency duty, or 'not-seen'."""
        return str(self.of_group("duty").get("emergency", NOT_SEEN))

    @cached_property
    def emergency_positions(self) -> tuple[int, ...]:
        """Positions of the emergency fixtures that the group has, each once, in order; see `positions_not_there` for others."""
        said = self.of_group("duty").get("emergency_positions", [])
        return tuple(sorted({position for position in said if is_position(self.group, position)}))

    @cached_property
    def positions_not_there(self) -> tuple[int, ...]:
        """Positions said to be emergency fixtures that are gone or above the count."""
        said = self.of_group("duty").get("emergency_positions", [])
        return tuple(sorted({position for position in said if not is_position(self.group, position)}))

    @cached_property
    def emergency_fixtures(self) -> int:
        """Fixtures with a battery of their own."""
        return len(self.emergency_positions) if self.emergency == "battery-in-fixture" else 0

    @cached_property
    def neighbour_leads(self) -> str:
        """How the kind's ballasts go with the neighbours."""
        return str(self.of_kind("wiring").get("neighbour_leads", NOT_SEEN))

    @cached_property
    def is_fed_by_neighbour(self) -> bool:
        """Whether the body has no ballast of its own."""
        return self.neighbour_leads == "fed-from-the-neighbours-ballast"

    @cached_property
    def feeds_neighbour(self) -> bool:
        """Whether its ballast also lights the lamps of the neighbour."""
        return self.neighbour_leads == "ballast-here-feeds-the-neighbour"

    @cached_property
    def hours_year(self) -> int | None:
        """Hours a year: the room's, else those of its space, else None."""
        said = self.of_room("hours").get("hours_year")
        return int(said) if said is not None else (self.space_row or {}).get("hours_year")

    @cached_property
    def light_hours(self) -> float:
        """Hours after which the light is still to be enough [h]: the site's years for it, ten where it said none.

        Hours not known count as none, so that nothing is taken off. Years that money looks at have no part in it.
        """
        return float((self.hours_year or 0) * self.light_years)

    @property
    def light_years(self) -> int:
        """Years up to the horizon, for which the light is to be enough: the site's, ten where it said none."""
        return int(self.settings.get("light_years", LIGHT_YEARS))

    @property
    def hours_assumed(self) -> bool:
        """Whether nobody said the hours, or said that they are assumed."""
        hours = self.of_room("hours")
        return "hours_year" not in hours or hours.get("how_known", "assumed") == "assumed"

    @property
    def space_type(self) -> str | None:
        """The room's space; None where nobody said."""
        return self.of_room("identity").get("space_type")

    @cached_property
    def space_row(self) -> Row | None:
        """The row of `spaces` for the room; None where the space was not said or has none."""
        return next((row for row in self.tables["spaces"]["rows"] if row["space"] == self.space_type), None)

    @cached_property
    def body_row(self) -> Row | None:
        """The row of `bodies` for the kind: its body and optic, else its body's usual optic; None for others."""
        housing = self.of_kind("housing")
        rows = [row for row in self.tables["bodies"]["rows"] if row["body"] == housing.get("body")]
        return next((row for row in rows if row["optic"] == housing.get("optic")), rows[0] if rows else None)

    @cached_property
    def place(self) -> Place:
        """What a driver meets in this body."""
        space = self.of_kind("ballast_space")
        surroundings, duty, supply = self.of_room("surroundings"), self.of_group("duty"), self.of_group("supply")
        return Place(
            space=Space(*(space.get(side) for side in SPACE_SIDES)),
            volts=supply.get("volts", NOT_SEEN),
            volts_mark=self.of_kind("ballast").get("volts_mark", NOT_SEEN),
            moisture=surroundings.get("moisture", NOT_SEEN),
            hottest_c=surroundings.get("hottest_c", self.settings.get("hottest_c")),
            coldest_c=surroundings.get("coldest_c", self.settings.get("coldest_c")),
            dimming=duty.get("dimming", NOT_SEEN),
            control_pair=self.of_kind("wiring").get("control_pair", NOT_SEEN),
            control_wanted=duty.get("control_wanted", "none"),
            control_now=duty.get("control_now", NOT_SEEN),
            emergency=self.emergency,
            dc_volts=supply.get("dc_volts"),
        )
