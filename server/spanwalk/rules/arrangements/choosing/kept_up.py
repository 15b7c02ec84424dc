"""What a group's lamps and ballasts cost to keep alight, and what a candidate takes again within the years looked at."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from spanwalk.rules.arrangements.body import Body, code_of
from spanwalk.rules.arrangements.candidate import Candidate
from spanwalk.rules.arrangements.now import Now, has_led_tubes
from spanwalk.rules.gear.driver_in_body import NOT_SEEN
from spanwalk.rules.money import upkeep
from spanwalk.rules.money.money import NOTHING_KEPT, Kept
from spanwalk.rules.record_types import CatalogueItemView
from spanwalk.rules.said import Said


@dataclass(frozen=True)
class KeptUp:
    """Upkeep, replacements and what is left of a candidate, and what they rest on."""

    kept: Kept
    told: tuple[Said, ...]


class Upkeeps:
    """Upkeep and replacements of the candidates of one group; what is the same for several is worked out once.

    Upkeep counts where the site prices a lamp or a ballast; replacements where an item's life is said. The conversion
    itself has no upkeep but its replacements. Only lamps that burn wear out.

    Parameters
    ----------
    body : Body
        The group.
    current : Now
        As it is.
    """

    def __init__(self, body: Body, current: Now) -> None:
        self._body = body
        self._known = bool(body.hours_year) and "labour_per_h" in body.money and "study_years" in body.money
        hours = float(body.hours_year or 0)
        self._as_is, self._told = _upkeep_now(body, current, hours) if self._known else (0.0, [])
        self._found: dict[tuple[str, int, str | None], KeptUp] = {}

    def of(self, candidate: Candidate) -> KeptUp:
        """Upkeep saved, what the candidate takes again, and what is left of it after the years looked at."""
        if not self._known:
            return KeptUp(NOTHING_KEPT, ())
        pack = None if candidate.packed is None else candidate.packed.pack["id"]
        key = (candidate.driver["id"], candidate.drivers, pack)
        if key not in self._found:
            self._found[key] = self._worked_out(candidate)
        return self._found[key]

    def _worked_out(self, candidate: Candidate) -> KeptUp:
        years = int(self._body.money["study_years"])
        lasting = list(_lasting(self._body, candidate, float(self._body.hours_year or 0)))
        paid = [each for _, items in lasting for each in upkeep.replacements(items, years)]
        left = float(sum(upkeep.residual(items, years) for _, items in lasting))
        told = (*self._told, *(_replaced_told(item, items, years) for item, items in lasting))
        by_year = tuple(sorted(paid, key=lambda each: each["year"]))
        return KeptUp(Kept(self._as_is, by_year, left, self._as_is), told)


def _upkeep_now(body: Body, current: Now, hours: float) -> tuple[float, list[Said]]:
    """Upkeep of a year as things are [currency], and the sentences of its parts."""
    set_ = body.money
    calls = upkeep.CallOuts(
        float(set_["labour_per_h"]), float(set_.get("call_out_each", 0)), float(set_.get("changes_a_call", 1))
    )
    lamps = body.fixtures * body.lamps_each * current.working_share
    ballasts = body.fixtures * current.ballasts_each
    found, told = 0.0, list[Said]()
    for name, number, life in (("lamp", lamps, _lamp_life_h(body)), ("ballast", ballasts, _ballast_life_h(body))):
        if f"{name}_each" not in set_:
            continue
        if life is None:
            told.append({"code": f"plan.upkeep.no-life-{name}", "facts": {}})
            continue
        each = float(set_[f"{name}_each"]) + float(set_.get(f"{name}_waste_each", 0))
        parts = upkeep.Wearing(number, life, each, float(set_.get(f"{name}_change_min", 0)))
        found += upkeep.upkeep_year(parts, hours, calls)
        changes = round(upkeep.failures_year(parts, hours), 1)
        told.append({"code": f"plan.upkeep.{name}s", "facts": {"changes": changes, "life_h": life}})
    return found, told


def _lamp_life_h(body: Body) -> float | None:
    """Of LED tubes no life is known: what is set and tabled is that of fluorescent lamps."""
    if has_led_tubes(body):
        return None
    return _life_h(body, "lamp_life_h", "lamps", {"diameter": body.of_kind("lamps").get("diameter")})


def _ballast_life_h(body: Body) -> float | None:
    """An electronic one that dims lives as long as any electronic one."""
    ballast = str(body.of_kind("ballast").get("ballast", NOT_SEEN)).removesuffix("-dimming")
    return _life_h(body, "ballast_life_h", "ballasts", {"ballast": ballast})


def _life_h(body: Body, own: str, part: str, wanted: Mapping[str, object]) -> float | None:
    """The site's own life, else that of the tables [h]; None where neither says."""
    if own in body.money:
        return float(body.money[own])
    rows = body.tables.get("upkeep", {}).get(part, [])
    found = [float(row["life_h"]) for row in rows if all(row[name] == value for name, value in wanted.items())]
    return found[0] if found else None


def _lasting(body: Body, candidate: Candidate, hours: float) -> Iterator[tuple[CatalogueItemView, upkeep.Lasting]]:
    """What of a candidate is replaced: drivers whose life is said, and batteries of packs whose life is."""
    labour = float(body.money["labour_per_h"]) / 60
    if candidate.drivers and "life_h" in candidate.driver["facets"]["driver"]:
        price = body.catalogue.prices.get(candidate.driver["id"], {})
        life_years = float(candidate.driver["facets"]["driver"]["life_h"]) / hours
        if "each" in price:
            number = candidate.drivers * body.fixtures
            minutes = float(price.get("fit_minutes", 0))
            yield candidate.driver, upkeep.Lasting(number, life_years, float(price["each"]), minutes * labour)
    pack = None if candidate.packed is None else candidate.packed.pack
    if pack is not None and body.emergency_fixtures and "battery_years" in pack["facets"]["accessory"]:
        price = body.catalogue.prices.get(pack["id"], {})
        if "each" in price:
            each, minutes = float(price.get("battery_each", price["each"])), float(price.get("fit_minutes", 0))
            life_years = float(pack["facets"]["accessory"]["battery_years"])
            yield pack, upkeep.Lasting(body.emergency_fixtures, life_years, each, minutes * labour)


def _replaced_told(item: CatalogueItemView, items: upkeep.Lasting, years: int) -> Said:
    times = upkeep.replacements(items, years)
    code = "plan.upkeep.replaced" if times else "plan.upkeep.lasts"
    facts = {
        "code": code_of(item),
        "number": items.number,
        "life_years": round(items.life_years, 1),
        "years": [each["year"] for each in times],
        "study_years": years,
    }
    return {"code": code, "facts": facts}
