"""From the records of a group and its kind to what is known of its cavities. Twin: pwa/rules/fit/sampling.js."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from spanwalk.rules.fit.cavity import Cavity, Sample, Spread, joined, pooled, spread_of
from spanwalk.rules.fit.spring_back import SpringBack, is_sprung, spring_back
from spanwalk.rules.judging.firm_numbers import spread_for
from spanwalk.rules.measuring.instruments import one_sided_95, reading_uncertainty
from spanwalk.rules.measuring.reading_sense import a_min_ticks, is_long, lamp_row, questions
from spanwalk.rules.record_types import CavityReadingView, GroupView, KindView, SiteView
from spanwalk.rules.record_view import Tables
from spanwalk.rules.said import Said
from spanwalk.rules.survey import facet, has, is_position

OtherGroup = tuple[GroupView, KindView, Sequence[CavityReadingView]]
Place = tuple[int, int, int]
"""Fixture, row, and cavity in the row."""


def questions_of(readings: Iterable[CavityReadingView], kind: KindView, tables: Tables) -> dict[str, list[Said]]:
    """Questions about the tape readings that count, by reading id; readings without a question are left out."""
    lamps = facet(kind, "lamps")
    found: dict[str, list[Said]] = {}
    for reading in readings:
        identity = facet(reading, "identity")
        if not is_gauge(reading):
            asked = questions(
                identity["length_ticks"], lamps, reading_uncertainty(identity, tables).expanded_ticks, tables
            )
            if asked:
                found[reading["id"]] = asked
    return found


def counting(readings: Iterable[CavityReadingView]) -> list[CavityReadingView]:
    """Readings that count, by id: neither voided, set aside nor read wrong."""
    kept = [
        each
        for each in readings
        if not (has(each, "voided") or has(each, "set_aside") or _answer(each) == "it-was-read-wrong")
    ]
    return sorted(kept, key=lambda reading: str(reading["id"]))


def sample_of(
    group: GroupView,
    kind: KindView,
    site: SiteView,
    readings: Sequence[CavityReadingView],
    kind_readings: Iterable[OtherGroup] | Spread,
    tables: Tables,
) -> Sample:
    """What is known of the cavities of a group.

    Parameters
    ----------
    group, kind, site : view records
        The group, its kind and its site.
    readings : sequence of view records
        All readings of the group that are not removed.
    kind_readings : iterable of tuple, or Spread
        Group, kind and readings of each other group of the kind; or their spread, pooled already.
    tables : mapping
        Reference tables.

    Returns
    -------
    Sample
        Lengths [1/320 mm]; readings that wait for a confirmation are none of it, but counted.
    """
    kept, held = _kept_and_held(readings, kind, tables)
    taped = _cavities(group, kind, (each for each in kept if not is_gauge(each)), tables)
    known = {place for place, _ in taped}
    gauges = [each for each in kept if is_gauge(each) and place_of(each) not in known]
    population = population_of(group, kind, readings, known)
    back = spring_back(kind, site, population, tables)
    lamp_ticks = _lamp_gauge(kind, back, tables)
    return Sample(
        cavities=tuple(cavity for _, cavity in taped),
        population=population,
        elsewhere=_elsewhere(kind_readings, tables),
        spread_floor_ticks=max(facet(site, "settings").get("spread_floor_ticks", 0), _repeats_ticks(kind)),
        lamp_ticks=lamp_ticks,
        spring_back=None if lamp_ticks is None else back,
        asked=len(held),
        alike=facet(kind, "identity").get("alike", "not-sure"),
        gauged_ticks=tuple(_proved(gauges, group, kind, tables)),
        stopped_ticks=tuple(
            facet(each, "identity")["length_ticks"] for each in gauges if _instrument(each) == "gauge-does-not-go"
        ),
        firm=spread_for(kind, site),
    )


def _kept_and_held(
    readings: Iterable[CavityReadingView], kind: KindView, tables: Tables
) -> tuple[list[CavityReadingView], list[CavityReadingView]]:
    """Readings that count, and long ones that wait for a confirmation."""
    used = counting(readings)
    asked = questions_of(used, kind, tables)
    held = [each for each in used if each["id"] in asked and not _is_confirmed(each) and _is_long(each, kind, tables)]
    return [each for each in used if each not in held], held


def read_places(
    group: GroupView, kind: KindView, readings: Iterable[CavityReadingView], tables: Tables
) -> dict[Place, int]:
    """Trusted length [1/320 mm] of each counted cavity that a tape has read: its length less its uncertainty.

    Parameters
    ----------
    group, kind : view records
        The group and its kind.
    readings : iterable of view records
        All readings of the group that are not removed; lengths [1/320 mm].
    tables : mapping
        Reference tables.
    """
    kept, _ = _kept_and_held(readings, kind, tables)
    taped = _cavities(group, kind, (each for each in kept if not is_gauge(each)), tables)
    return {place: cavity.length_ticks - cavity.expanded_ticks for place, cavity in taped if cavity.inside}


def _cavities(
    group: GroupView, kind: KindView, readings: Iterable[CavityReadingView], tables: Tables
) -> list[tuple[Place, Cavity]]:
    """Different cavities that a tape has read, each with its place."""
    of_place: dict[Place, list[tuple[int, int, int, int]]] = {}
    by_repeats = one_sided_95(_repeats_ticks(kind))
    for reading in readings:
        identity = facet(reading, "identity")
        wrong = reading_uncertainty(identity, tables)
        random = max(wrong.random_ticks, by_repeats)
        entry = (identity["length_ticks"], wrong.systematic_ticks, random, wrong.graduation_ticks)
        of_place.setdefault(place_of(reading), []).append(entry)
    return [(place, joined(entries, is_inside(place, group, kind))) for place, entries in of_place.items()]


def _repeats_ticks(kind: KindView) -> int:
    """Spread of one reading that second readings showed, one standard deviation [1/320 mm]; 0 where nobody said one."""
    return int(facet(kind, "repeats").get("spread_ticks", 0))


def _elsewhere(kind_readings: Iterable[OtherGroup] | Spread, tables: Tables) -> Spread:
    if isinstance(kind_readings, Spread):
        return kind_readings
    return pooled(spread_of_group(*other, tables) for other in kind_readings)


def spread_of_group(group: GroupView, kind: KindView, readings: Sequence[CavityReadingView], tables: Tables) -> Spread:
    """Spread within one group; readings in question tell nothing of it until they are confirmed.

    Parameters
    ----------
    group, kind : view records
        The group and its kind.
    readings : sequence of view records
        All readings of the group that are not removed; lengths [1/320 mm].
    tables : mapping
        Reference tables.
    """
    used = counting(readings)
    asked = questions_of(used, kind, tables)
    kept = [each for each in used if not is_gauge(each) and (each["id"] not in asked or _is_confirmed(each))]
    return spread_of([cavity.length_ticks for _, cavity in _cavities(group, kind, kept, tables)])


def population_of(
    group: GroupView, kind: KindView, readings: Sequence[CavityReadingView], known: set[Place]
) -> int | None:
    """Cavities of a group: fixtures × rows × lamps end to end, less those set aside; None where one of them was not said.

    Parameters
    ----------
    group, kind : view records
        The group and its kind.
    readings : sequence of view records
        All readings of the group that are not removed.
    known : set
        Places of those that were read, which are not taken off.
    """
    count, lamps = facet(group, "count").get("count"), facet(kind, "lamps")
    if count is None or "rows" not in lamps or "lamps_end_to_end" not in lamps:
        return None
    aside = {place_of(each) for each in readings if has(each, "set_aside") and not has(each, "voided")}
    return int(count * lamps["rows"] * lamps["lamps_end_to_end"]) - sum(
        1 for place in aside - known if is_inside(place, group, kind)
    )


def _end_to_end(kind: KindView) -> int:
    """Lamps end to end; one where nobody said."""
    return int(facet(kind, "lamps").get("lamps_end_to_end", 1))


def _lamp_gauge(kind: KindView, back: SpringBack, tables: Tables) -> int | None:
    """Cavity that a fluorescent lamp sitting in rigid sockets proves [1/320 mm]: the shortest lamp less the spring-back."""
    lamps = facet(kind, "lamps")
    is_gauge = lamps.get("fitted") == "fluorescent" and lamps.get("cap") in ("G5", "G13") and not is_sprung(kind)
    row = lamp_row(lamps, tables) if is_gauge else None
    return None if row is None else a_min_ticks(row) - back.ticks


def _proved(gauges: Iterable[CavityReadingView], group: GroupView, kind: KindView, tables: Tables) -> list[int]:
    """Lengths that a go gauge proved, one for each cavity counted, less the gauge's own error."""
    best: dict[Place, int] = {}
    for reading in gauges:
        identity, place = facet(reading, "identity"), place_of(reading)
        if identity["instrument"] == "gauge-goes" and is_inside(place, group, kind):
            proved = identity["length_ticks"] - reading_uncertainty(identity, tables).expanded_ticks
            best[place] = max(proved, best.get(place, 0))
    return list(best.values())


def is_inside(place: Place, group: GroupView, kind: KindView) -> bool:
    """Whether a cavity is one of those counted, by fixture, row and cavity in the row."""
    position, row, cavity = place
    return is_position(group, position) and row <= facet(kind, "lamps").get("rows", 0) and cavity <= _end_to_end(kind)


def _is_long(reading: CavityReadingView, kind: KindView, tables: Tables) -> bool:
    return is_long(facet(reading, "identity")["length_ticks"], facet(kind, "lamps"), tables)


def place_of(reading: CavityReadingView) -> Place:
    """Fixture, row and cavity of a reading."""
    identity = facet(reading, "identity")
    return identity["position"], identity["row"], identity["cavity"]


def _instrument(reading: CavityReadingView) -> str:
    return str(facet(reading, "identity").get("instrument", ""))


def is_gauge(reading: CavityReadingView) -> bool:
    """Whether a reading is a gauge's, which went in or not, and no length."""
    return _instrument(reading).startswith("gauge")


def _answer(reading: CavityReadingView) -> str | None:
    return facet(reading, "confirmed").get("answer")


def _is_confirmed(reading: CavityReadingView) -> bool:
    return bool(_answer(reading) == "it-is-what-the-tape-shows")


__all__ = [
    "OtherGroup",
    "Place",
    "Tables",
    "counting",
    "is_gauge",
    "is_inside",
    "place_of",
    "population_of",
    "questions_of",
    "read_places",
    "sample_of",
    "spread_of_group",
]
