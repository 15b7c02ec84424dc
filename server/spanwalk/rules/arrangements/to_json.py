"""A candidate as JSON."""

from __future__ import annotations

from spanwalk.rules.arrangements import layout as layouts
from spanwalk.rules.arrangements.body import Body, code_of
from spanwalk.rules.arrangements.candidate import Candidate
from spanwalk.rules.arrangements.choosing.economics import Worth
from spanwalk.rules.arrangements.choosing.wanted import wanted_light
from spanwalk.rules.arrangements.light.room_light import lux_told
from spanwalk.rules.arrangements.now import Now
from spanwalk.rules.arrangements.plan_types import (
    EmergencyTold,
    LifeOnly,
    LightTold,
    MoneyTold,
    Partner,
    Proposal,
    ProposalWhole,
    Weighed,
    Wired,
)
from spanwalk.rules.arrangements.ways.shared_ballast import place_of
from spanwalk.rules.gear.checks import plain
from spanwalk.rules.gear.driver_in_body import NOT_SEEN
from spanwalk.rules.gear.emergency import DUTIES
from spanwalk.rules.light.light import NewLight
from spanwalk.rules.light.light_readings import of_tables
from spanwalk.rules.money import life_cycle, money


def in_short(body: Body, candidate: Candidate, current: Now, worth: Worth) -> Proposal:
    """A candidate as JSON: what is fitted and how it is set, what light it gives, what it draws, costs and saves."""
    driver = candidate.driver["facets"]["driver"]
    return {
        "arrangement": candidate.name,
        "kind": candidate.layout.kind,
        "verdict": candidate.verdict,
        "rows": list(candidate.layout.rows),
        "fill": [code_of(bar) for bar in candidate.layout.fill],
        "fill_items": [bar["id"] for bar in candidate.layout.fill],
        "bars_each": len(candidate.own_bars),
        "feeds": candidate.layout.feeds,
        **_wiring(candidate),
        "partner": partner_of(body),
        "driver": code_of(candidate.driver),
        "driver_item": candidate.driver["id"],
        "drivers_each": candidate.drivers,
        "setting_ma": candidate.setting_ma,
        "bars_on_one": candidate.wiring.bars_on_one,
        "shared": driver["current"] == "shared-by-the-bars",
        "efficiency_pct": driver["efficiency_pct"],
        "emergency": emergency_told(body, candidate),
        "fit": candidate.layout.fit.copy(),
        **weighed(body, candidate, current, worth),
        **layouts.dark_and_lit(body, candidate.layout),
    }


def weighed(body: Body, candidate: Candidate, current: Now, worth: Worth) -> Weighed:
    """What of a candidate hangs on money, hours or the size of the group: parts, minutes, light, energy, money."""
    return {
        "watts": plain(candidate.watts_each * body.fixtures),
        "parts": list(worth.parts),
        "minutes": plain(worth.minutes),
        "light": _light_told(body, candidate, current),
        "energy": {
            "kwh_now": _plain(worth.saved.kwh_now),
            "kwh_then": _plain(worth.saved.kwh_then),
            "kw_saved": _plain(worth.saved.kw),
            "emission_saved_kg": _plain(worth.saved.emission_kg),
            "kwh_saved": _plain(worth.saved.kwh),
            "heating_kwh": _plain(worth.saved.heating_kwh),
        },
        "money": _money(worth),
    }


def _money(worth: Worth) -> MoneyTold:
    found: MoneyTold = {
        "cost": _cents(worth.cost),
        "rebate": _cents(worth.rebate),
        "saving_energy_year": _cents(worth.saving_energy_year),
        "first_year_short": None if worth.result is None else round(worth.result.first_year_short, 2),
        "missing": list(worth.missing),
        "lcc": None,
        "npv": None,
    }
    if worth.result and worth.terms:
        found = {**found, **money.in_short(worth.result), "life": life_cycle.terms_of(worth.result, worth.terms)}
    if worth.job:
        found["job"] = worth.job
    return found


def _cents(value: float | None) -> float | None:
    return None if value is None else round(value, 2)


def _plain(value: float | None) -> float | None:
    return None if value is None else plain(value)


def emergency_told(body: Body, candidate: Candidate) -> EmergencyTold | None:
    """What the emergency duty of a group comes to with a candidate, for plan and card; None where it has none."""
    if body.emergency not in DUTIES:
        return None
    packed, duty, supply = candidate.packed, body.of_group("duty"), body.of_group("supply")
    found: EmergencyTold = {
        "duty": body.emergency,
        "positions": list(body.emergency_positions),
        "wanted_min": body.settings.get("emergency_min"),
        "old_battery": duty.get("battery", NOT_SEEN),
        "old_pack": duty.get("old_pack", NOT_SEEN),
        "unswitched_feed_seen": duty.get("unswitched_feed", NOT_SEEN),
        "second_source": duty.get("second_source", NOT_SEEN),
        "dc_volts": supply.get("dc_volts"),
        "pack": None,
    }
    if packed is not None:
        found["pack"] = {**packed.told, "row": packed.row, "place": packed.place}
    return found


def partner_of(body: Body) -> Partner | None:
    """The group with which a body's is planned, released and converted: id, room and kind mark; None for others."""
    there = body.neighbour
    return None if there is None else {"group": there.group["id"], **place_of(there)}


def _wiring(candidate: Candidate) -> Wired:
    """The drivers of the body, each with its bars; for a body without any those of the neighbour that feeds it."""
    wiring = candidate.wiring.to_json(candidate.layout.rows)
    if candidate.layout.feeds:
        return {"wired_by": "here", "wiring": wiring}
    return {"wired_by": "neighbour", "wiring": [], "neighbour_wiring": wiring}


def told(body: Body, candidate: Candidate, current: Now, worth: Worth) -> ProposalWhole:
    """A candidate as JSON, whole: with every check, and all that money tells."""
    found: ProposalWhole = {
        **in_short(body, candidate, current, worth),
        "each_ma": plain(candidate.most_ma),
        "bars_w_each": plain(candidate.bars_w),
        "watts_each": plain(candidate.watts_each),
        "checks": [check.told() for check in candidate.checks],
    }
    if worth.result and worth.terms:
        found["money"] = {**found["money"], **money.told(worth.result, worth.terms)}
        found["money"] = {**found["money"], **_life_told(found["money"], worth.result, worth.terms)}
    if worth.result and worth.terms and worth.saving_energy_year is not None:
        kept = worth.result.kept
        demand = worth.result.saving_year - kept.saved_year - worth.saving_energy_year
        net_of = (worth.cost or 0.0, worth.rebate or 0.0, worth.saving_energy_year, demand)
        found["money"]["sensitivity"] = money.sensitivity(*net_of, worth.terms, worth.result.first_year_short, kept)
    return found


def _life_told(short: MoneyTold, result: money.Result, terms: money.Terms) -> LifeOnly:
    """The figures of the years, each with its terms."""
    life = life_cycle.told(short["life"], round(result.net_cost, 2), result.saving_year, terms)
    return {"life_told": life, "airr_share": life["measures"]["airr_share"]}


def _shares(body: Body, candidate: Candidate, current: Now) -> LightTold:
    """Mean lumens of the years over today's as found and with all lamps burning; where all lamps are dark, over the latter alone."""
    if candidate.light_each is None or current.light is None or not current.light.all_burning_lm:
        return {}
    new, today = candidate.light_each.times(body.fixtures), current.light
    found: LightTold = {"share_of_all_burning_pct": plain(new.mean_lm / today.all_burning_lm * 100)}
    share_pct = share_of_today_pct(candidate.light_each, body.fixtures, current)
    if share_pct is not None and today.as_found_lm:
        found["share_of_today_pct"] = share_pct
        found["day_one_of_found_pct"] = plain(new.day_one_lm / today.as_found_lm * 100)
    return found


def share_of_today_pct(light_each: NewLight | None, fixtures: int, current: Now) -> float | None:
    """Mean lumens of the years over today's as found [%]; None where either is not known, or all lamps are dark.

    Parameters
    ----------
    light_each : NewLight or None
        Light of one body with what is fitted [lm].
    fixtures : int
        Bodies of the group.
    current : Now
        The group as it is.
    """
    today = current.light
    if light_each is None or today is None or not today.all_burning_lm or not today.as_found_lm:
        return None
    return plain(light_each.times(fixtures).mean_lm / today.as_found_lm * 100)


def _light_told(body: Body, candidate: Candidate, current: Now) -> LightTold:
    """Lumens and lux of the group on day one and at the horizon, with the range about them; lux are this group's part of the room's.

    Readings of light say what arrives on the work plane: they correct lux, and leave lumens out of the body as the tables have them.
    """
    if candidate.light_each is None:
        return {"then_lm": None}
    new, factors = candidate.light_each.times(body.fixtures), body.light_factors
    of_lumens = of_tables(float(body.tables["bodies"]["range_share"])).new
    found: LightTold = {
        "then_lm": round(new.maintained_lm),
        "range_lm": [round(each) for each in of_lumens.of(new.maintained_lm)[1:]],
        "years": body.light_years,
        "mean_lm": round(new.mean_lm),
        "day_one_lm": round(new.day_one_lm),
        "day_one_range_lm": [round(each) for each in of_lumens.of(new.day_one_lm)[1:]],
        **_shares(body, candidate, current),
    }
    if current.room is not None:
        found["lux"], found["range_lux"] = lux_told(new.maintained_lm, current.room, factors.new)
        found["day_one_lux"], found["day_one_range_lux"] = lux_told(new.day_one_lm, current.room, factors.new)
    if (said := wanted_light(body, current).corrected) is not None:
        found["corrected"] = said
    return found
