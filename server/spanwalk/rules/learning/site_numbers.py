"""What one closed site tells of each kind: counts and sums of whole numbers, and no name, place, date or id.

Spread of cavities within groups, minutes for a fixture, dark lamps, bars that did not go in, lamps that broke on their way
out, measured light against the forecast. All of them can be added up over sites, and none of them tells which one it was.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import log
from typing import TypedDict

from spanwalk.rules.fit.cavity import Spread
from spanwalk.rules.fit.sampling import spread_of_group
from spanwalk.rules.installing.outcomes import newest_outcomes
from spanwalk.rules.judging.firm_numbers import keys_of
from spanwalk.rules.record_types import GroupView, KindView
from spanwalk.rules.record_view import Tables
from spanwalk.rules.survey import Survey, facet, fixtures_of, lamps_each

SPREAD, MINUTES, DARK, MISFIT, BREAKAGE, LIGHT = "spread", "minutes", "dark", "misfit", "breakage", "light"
OF = (SPREAD, MINUTES, DARK, MISFIT, BREAKAGE, LIGHT)
"""What numbers are of."""
WHOLE_SITE = "all"
"""Key of what is not known by kind."""
DID_NOT_GO_IN = "bar-does-not-go-in"
THOUSAND = 1000
LightPair = tuple[str, float, float]
"""Kind id, light that was forecast and light that was measured [lx], of one room or point."""


class SiteNumber(TypedDict):
    """Sums over one key of one site.

    `n` readings, fixtures or lamps; `total` their sum, or how many of them it was of (dark, misfit, broken); `squares`
    the sum of squares, of a spread about the means of its groups, with `degrees` of freedom. Lengths in 1/320 mm,
    minutes in min, light as thousandths of the natural logarithm of measured over forecast.
    """

    of: str
    key: str
    n: int
    total: int
    squares: int
    degrees: int


def numbers_of_site(survey: Survey, tables: Tables, light: Iterable[LightPair] = ()) -> list[SiteNumber]:
    """All that a closed site tells, by what it is of and by key.

    Parameters
    ----------
    survey : Survey
        The site's records.
    tables : mapping
        Reference tables; lengths [1/320 mm].
    light : iterable of tuple
        Kind id, forecast and measured light [lx] of each place where both are known.
    """
    found: dict[tuple[str, str], SiteNumber] = {}
    for number in _all(survey, tables, light):
        at = (number["of"], number["key"])
        found[at] = _added(found[at], number) if at in found else number
    return [found[at] for at in sorted(found, key=lambda at: (OF.index(at[0]), at[1])) if found[at]["n"]]


def _all(survey: Survey, tables: Tables, light: Iterable[LightPair]) -> Iterator[SiteNumber]:
    kinds: dict[str, KindView] = {}
    for group in survey.groups_to_convert():
        kind = survey.kind_of(group)
        if kind is not None:
            kinds[kind["id"]] = kind
            yield from _of_group(survey, group, kind, tables)
    yield from _breakage(survey)
    for kind_id, forecast_lx, measured_lx in light:
        if kind_id in kinds and forecast_lx > 0 and measured_lx > 0:
            ratio = round(THOUSAND * log(measured_lx / forecast_lx))
            for key in keys_of(kinds[kind_id]):
                yield _number(LIGHT, key, 1, ratio, ratio**2)


def _of_group(survey: Survey, group: GroupView, kind: KindView, tables: Tables) -> Iterator[SiteNumber]:
    keys = list(keys_of(kind))
    spread = spread_of_group(group, kind, survey.children(group, "cavity_reading"), tables)
    access = _access(survey, group)
    minutes, tried, refused = _work(survey, group)
    dark = facet(group, "count").get("dark_lamps")
    lamps = fixtures_of(group) * lamps_each(kind)
    for key in keys:
        if spread.degrees:
            yield _of_spread(key, spread)
        if dark is not None and lamps:
            yield _number(DARK, key, lamps, min(dark, lamps))
        if tried:
            yield _number(MISFIT, key, tried, refused)
        if minutes:
            squares = sum(each**2 for each in minutes)
            yield _number(MINUTES, f"{key}/{access}", len(minutes), sum(minutes), squares)


def _of_spread(key: str, spread: Spread) -> SiteNumber:
    n = spread.degrees + 1
    return {"of": SPREAD, "key": key, "n": n, "total": 0, "squares": spread.squares_ticks2, "degrees": spread.degrees}


def _work(survey: Survey, group: GroupView) -> tuple[list[int], int, int]:
    """Minutes of each fixture that is done, fixtures in which a bar was to go in, and those in which it ever did not."""
    done = {
        at: facet(each, "identity")
        for at, each in newest_outcomes(survey, group).items()
        if facet(each, "identity").get("outcome") == "done"
    }
    refused = {
        facet(each, "identity")["position"]
        for each in survey.children(group, "installation")
        if facet(each, "identity").get("reason") == DID_NOT_GO_IN
        or facet(each, "as_fitted").get("reason") == "did-not-fit"
    }
    minutes = [said["minutes"] for said in done.values() if "minutes" in said]
    return minutes, len(done.keys() | refused), len(refused)


def _access(survey: Survey, group: GroupView) -> str:
    room = survey.room_of(group)
    return "not-seen" if room is None else str(facet(room, "ceiling").get("access", "not-seen"))


def _breakage(survey: Survey) -> Iterator[SiteNumber]:
    """Lamps that were collected, and those of them that were broken: of the whole site, and of a kind where one is named."""
    kinds = {kind["id"]: kind for kind in survey.of_type("kind")}
    for each in survey.of_type("waste_collection"):
        said = facet(each, "identity")
        pieces = said.get("number", 0)
        if said.get("sort") == "lamps-out" and pieces and "broken" in said:
            kind = kinds.get(said.get("kind", ""))
            for key in (WHOLE_SITE, *(keys_of(kind) if kind else ())):
                yield _number(BREAKAGE, key, pieces, min(said["broken"], pieces))


def _number(of: str, key: str, n: int, total: int, squares: int = 0) -> SiteNumber:
    return {"of": of, "key": key, "n": n, "total": total, "squares": squares, "degrees": 0}


def _added(one: SiteNumber, other: SiteNumber) -> SiteNumber:
    return {
        "of": one["of"],
        "key": one["key"],
        "n": one["n"] + other["n"],
        "total": one["total"] + other["total"],
        "squares": one["squares"] + other["squares"],
        "degrees": one["degrees"] + other["degrees"],
    }


__all__ = [
    "BREAKAGE",
    "DARK",
    "LIGHT",
    "MINUTES",
    "MISFIT",
    "OF",
    "SPREAD",
    "LightPair",
    "SiteNumber",
    "numbers_of_site",
]
