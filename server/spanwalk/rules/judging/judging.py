"""What fits into the fixtures of a group, by their readings? Twin: pwa/rules/judging/judging.js."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import cast

from spanwalk.rules import constants
from spanwalk.rules.fit.bar_rows import Item, bar_of, bar_rows, ids, lit_ticks
from spanwalk.rules.fit.cavity import Sample, Spread, bought_by, measure_more, trusted_cavity
from spanwalk.rules.fit.compatibility import unsuited, unsure
from spanwalk.rules.fit.fit import VERDICTS, Surroundings, fit_row
from spanwalk.rules.fit.not_converted import is_never, led_tubes_undecided, not_converted
from spanwalk.rules.fit.sampling import (
    OtherGroup,
    Tables,
    counting,
    is_inside,
    population_of,
    questions_of,
    read_places,
    sample_of,
)
from spanwalk.rules.fit.spring_back import spring_back
from spanwalk.rules.fit.trials import Trial, as_gauges, trials_that_count, with_trials
from spanwalk.rules.judging.degree import held_by, to_settle
from spanwalk.rules.judging.firm_effect import firm_effect
from spanwalk.rules.judging.judgement_types import Fit, Judgement, MoreBuys, ToSettle, TriedRow, Trusted
from spanwalk.rules.measuring.reading_sense import a_max_ticks, lamp_row, loose_band
from spanwalk.rules.record_types import CavityReadingView, GroupView, KindView, RoomView, SiteView, TrialBarView
from spanwalk.rules.record_view import Facet, Table
from spanwalk.rules.said import Said
from spanwalk.rules.survey import facet

RULES_VERSION = constants.RULES_VERSION
"""Goes up when a verdict may come out otherwise than before."""
MOST_FITTING = 20
MOST_OTHERS = 20
"""Rows of several bars in the list that fit, and that do not: nobody reads more."""


def judge_group(
    group: GroupView,
    kind: KindView,
    room: RoomView,
    site: SiteView,
    readings: Sequence[CavityReadingView],
    kind_readings: Iterable[OtherGroup] | Spread,
    bars: Sequence[Item],
    tables: Tables,
    trial_bars: Sequence[TrialBarView] = (),
) -> Judgement:
    """Judge every bar, and every row of bars, that could lie in the cavities of a group.

    Parameters
    ----------
    group, kind, room, site : view records
        The group and what it stands in.
    readings : sequence of view records
        All readings of the group that are not removed; voided, set aside and wrong ones are skipped here.
    kind_readings : iterable of tuple, or Spread
        Group, kind and readings of each other group of the kind; or their spread, pooled already: see `judged`.
    bars : sequence of view records
        Catalogue items with a `bar` facet; lengths [1/320 mm].
    tables : mapping
        Reference tables: `lamps`, `instruments`, `expansion`, `prediction`.
    trial_bars : sequence of view records
        Trial bars of the group that are not removed: see `trials`.

    Returns
    -------
    dict
        `rules_version`, `trusted` (see `cavity.trusted_cavity`), `questions` by reading id, `fits` best first (see
        `fit.fit_row` and `trials.with_trials`, with `bars`, `lit_ticks`, `dark_ticks` and `unsuited`,
        what stands against it beside its length, and `basis`, see `basis_of`), `best` as a place in `fits`, or null where
        nothing can be told, `measure_more` as a number of cavities, or null, and `more_buys`, what that would buy (see
        `cavity.bought_by`) and the `bars` of the row that would fit then, or null; `held_by` and `to_settle` (see `degree`); `firm` where the site takes
        the firm's numbers: see `firm_effect.firm_effect`.
    """
    back = spring_back(kind, site, population_of(group, kind, readings, set()), tables)
    tried = [
        each for each in trials_that_count(trial_bars, readings, back.ticks, bars) if is_inside(each.place, group, kind)
    ]
    sample = sample_of(group, kind, site, [*readings, *as_gauges(tried)], kind_readings, tables)
    trusted = trusted_cavity(sample, tables["prediction"])
    around, assumed = surroundings(group, kind, room, site, tables)
    cavity = trusted["terms"].get("shortest_ticks", _lamp_length(kind, tables))
    read = read_places(group, kind, readings, tables) if tried else {}

    def judged_row(row: Sequence[Item], by: Trusted = trusted) -> Fit:
        against = unsuited(row, kind, room, cavity if by["trusted_ticks"] is None else by["trusted_ticks"])
        fit = _judged(row, by, around, assumed, cavity, tables, against, unsure(row, kind, room))
        told = with_trials(fit, row, tried, read, sample.population, bool(sample.asked)) if tried else fit
        return {**told, "basis": basis_of(told, by)}

    def _firm(best: Fit | None) -> Judgement:
        needed = None if best is None else best["terms"]["needed_ticks"]
        effect = firm_effect(sample, needed, tables["prediction"])
        if effect is None:
            return {}
        if best is None:
            return {"firm": effect}
        by_name, plain = {each["id"]: each for each in bars}, replace(sample, firm=None)
        without = judged_row([by_name[each] for each in best["bars"]], trusted_cavity(plain, tables["prediction"]))
        return {"firm": {**effect, "verdict_without": without["verdict"]}}

    def _settle(fit: Fit, trials: Sequence[Trial]) -> ToSettle | None:
        if fit["verdict"] != "tight" or fit["unsuited"] or is_never(kind):
            return None
        tried_at = {each.place for each in trials if each.bars == tuple(fit["bars"])}
        return to_settle(fit, sample, read_places(group, kind, readings, tables), tried_at, tables["prediction"])

    judged = (judged_row(row) for row in bar_rows(bars, cavity))
    fits = sorted(_worth_showing(judged, trusted["status"] == "known" or bool(tried)), key=_rank)
    more, buys = (None, None) if is_never(kind) else _more(sample, trusted, fits, tables)
    told = bool(fits) and fits[0]["verdict"] != "cannot tell"
    questions = questions_of(counting(readings), kind, tables)
    return {
        "rules_version": RULES_VERSION,
        "trusted": trusted,
        "questions": questions,
        "fits": fits,
        "best": 0 if told else None,
        "measure_more": more,
        "more_buys": buys,
        "held_by": [
            *not_converted(kind, room),
            *led_tubes_undecided(group, kind),
            *held_by(group, kind, readings, questions),
        ],
        "to_settle": _settle(fits[0], tried) if told else None,
        **_firm(fits[0] if told else None),
    }


def surroundings(
    group: GroupView, kind: KindView, room: RoomView, site: SiteView, tables: Tables
) -> tuple[Surroundings, list[Said]]:
    """Housing and range of temperature of a group, and what of it is assumed.

    Parameters
    ----------
    group, kind, room, site : view records
        The group and what it stands in.
    tables : mapping
        Reference tables; `expansion` is used.

    Returns
    -------
    tuple
        Surroundings, temperatures in °C: the room's, else the site's, else assumed; and reasons as codes and facts.
    """
    here = facet(group, "differs").get("housing_material", "as-the-kind")
    material = facet(kind, "housing").get("material", "not-seen") if here == "as-the-kind" else here
    said: Facet = {**facet(site, "settings"), **facet(room, "surroundings")}
    usual = tables["expansion"]["assumed"]
    cold, hot = said.get("coldest_c", usual["coldest_c"]), said.get("hottest_c", usual["hottest_c"])
    assumed: list[Said] = []
    if "coldest_c" not in said or "hottest_c" not in said:
        assumed.append({"code": "fit.temperatures-assumed", "facts": {"coldest_c": cold, "hottest_c": hot}})
    if material in ("not-seen", "other", "plastic"):
        assumed.append({"code": "fit.material-not-named", "facts": {"material": material}})
    return Surroundings(material, cold, hot), assumed


def basis_of(fit: TriedRow, trusted: Trusted) -> str | None:
    """What a 'fits' rests on: 'all' cavities read, a 'sample', the 'lamp' alone, or a 'trial'; None for any other verdict.

    The lamp alone where the readings by themselves do not prove enough for this row.

    Parameters
    ----------
    fit : mapping
        Verdict on a row of bars.
    trusted : mapping
        What `cavity.trusted_cavity` gives.
    """
    if fit["verdict"] != "fits":
        return None
    if trusted["status"] != "known" or cast("int", fit["clearance_ticks"]) < 0:
        return "trial"
    read = trusted["read_ticks"]
    basis = trusted["read_basis"] if read is not None and read >= fit["terms"]["needed_ticks"] else trusted["basis"]
    return str(basis)


def _worth_showing(judged: Iterable[Fit], may_fit: bool) -> Iterator[Fit]:
    """Bars by themselves; of rows of several, most lit first, enough that fit and some that do not.

    Where none `may_fit`, because the cavity is not known and no bar was tried, some that do not are enough.
    """
    fitting = others = 0
    for fit in judged:
        if len(fit["bars"]) == 1:
            yield fit
        elif fit["verdict"] == "fits":
            yield fit
            fitting += 1
        else:
            others += 1
            if others <= MOST_OTHERS:
                yield fit
        if fitting == MOST_FITTING or (others == MOST_OTHERS and not may_fit):
            return


def _judged(
    row: Sequence[Item],
    trusted: Trusted,
    around: Surroundings,
    assumed: list[Said],
    cavity_ticks: int | None,
    tables: Tables,
    against: list[Said],
    not_seen: list[Said],
) -> TriedRow:
    """One row of bars with its verdict."""
    verdict = fit_row(trusted, [bar_of(item) for item in row], around, tables["expansion"])
    lit = lit_ticks(row)
    return {
        "verdict": verdict["verdict"],
        "clearance_ticks": verdict["clearance_ticks"],
        "terms": verdict["terms"],
        "bars": ids(row),
        "lit_ticks": lit,
        "dark_ticks": None if cavity_ticks is None else max(cavity_ticks - lit, 0),
        "reasons": [*verdict["reasons"], *assumed],
        "unsuited": against,
        "unsure": not_seen,
    }


def _rank(fit: Fit) -> tuple[bool, int, int, int, int, list[str]]:
    """Best first: what suits; verdict; of those too long the least so, of others the most lit; few bars; room to spare."""
    too_long = fit["verdict"] == "too long"
    first = -fit["terms"].get("nominal_clearance_ticks", 0) if too_long else -fit["lit_ticks"]
    return (
        bool(fit["unsuited"]),
        VERDICTS.index(fit["verdict"]),
        first,
        len(fit["bars"]),
        -(fit["clearance_ticks"] or 0),
        fit["bars"],
    )


def _lamp_length(kind: KindView, tables: Tables) -> int | None:
    """Length of the lamp that is said to be in it [1/320 mm]; the length on its box where that does not give the gap."""
    lamps = facet(kind, "lamps")
    row, band = lamp_row(lamps, tables), loose_band(lamps, tables)
    if row is not None:
        return a_max_ticks(row)
    return None if band is None else (band.low_ticks + band.high_ticks) // 2


def _more(sample: Sample, trusted: Trusted, fits: Sequence[Fit], tables: Tables) -> tuple[int | None, MoreBuys | None]:
    """Further cavities to read until the most promising row fits, and what that buys; null where one fits, or reading does not help."""
    factors = tables["prediction"]
    more, bars = _promising(sample, trusted, fits, factors)
    return more, None if more is None else {**bought_by(sample, more, factors), "bars": bars}


def _promising(sample: Sample, trusted: Trusted, fits: Sequence[Fit], factors: Table) -> tuple[int | None, list[str]]:
    if (
        trusted["status"] == "two clusters"
        or sample.asked
        or any(fit["verdict"] == "fits" and not fit["unsuited"] for fit in fits)
    ):
        return None, []
    if not sample.cavities:
        return measure_more(sample, 0, factors), []
    for fit in fits:
        more = (
            None
            if fit["verdict"] == "too long" or fit["unsuited"]
            else measure_more(sample, fit["terms"]["needed_ticks"], factors)
        )
        if more is not None:
            return more, fit["bars"]
    return None, []


__all__ = ["RULES_VERSION", "basis_of", "judge_group", "surroundings"]
