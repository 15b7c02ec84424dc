"""A group today as JSON, and the power density of its room against the code that the site chose."""

from __future__ import annotations

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.choosing.economics import control_savings
from spanwalk.rules.arrangements.now import Now, Room
from spanwalk.rules.arrangements.plan_types import Density, Leni, NowTold, Proposal
from spanwalk.rules.gear.checks import plain
from spanwalk.rules.light import light
from spanwalk.rules.light.light_readings import Factor
from spanwalk.rules.money.energy import energy_kwh_year
from spanwalk.rules.record_view import Row


def light_today(body: Body, current: Now) -> NowTold:
    """The group as it is: fixtures, lamps, watts, energy, lumens and lux with their range, what was assumed, sources."""
    factor = body.light_factors.today
    found: NowTold = {
        "fixtures": body.fixtures,
        "lamps": body.fixtures * body.lamps_each,
        "dark_lamps": body.dark_lamps,
        "watts_each": None if current.watts_each is None else plain(current.watts_each),
        "watts": None if current.watts is None else plain(current.watts),
        "hours_year": body.hours_year,
        "lumens": None if current.light is None else round(current.light.as_found_lm),
        "all_burning_lm": None if current.light is None else round(current.light.all_burning_lm),
        "all_burning_clean_lm": None if current.light is None else round(current.light.all_burning_clean_lm),
        "assumed": list(current.assumed),
        "missing": list(current.missing),
        "sources": [{name: row.get(name) for name in ("source", "edition", "how_known")} for row in current.sources],
    }
    if current.watts is not None and body.hours_year is not None:
        found["kwh_year"] = plain(energy_kwh_year(current.watts, body.hours_year, control_savings(body)[0]))
    if current.room is not None:
        found |= {"cavity_ratio": plain(current.room.cavity_ratio), "utilisation": plain(current.room.utilisation)}
        if current.light is not None:
            lux, band = lux_told(current.light.as_found_lm, current.room, factor)
            burning, burning_band = lux_told(current.light.all_burning_lm, current.room, factor)
            found |= {"lux": lux, "range_lux": band}
            found |= {"all_burning_lux": burning, "all_burning_range_lux": burning_band}
    return found


def lux_told(lumens: float, room: Room, factor: Factor) -> tuple[int, list[int]]:
    """Mean illuminance that lumens of a group make in its room [lx], corrected by readings, and the range about it.

    Parameters
    ----------
    lumens : float
        Out of its fixtures [lm].
    room : Room
        The room.
    factor : Factor
        What the estimate is to be multiplied by, with its spread.
    """
    lux, low, high = factor.of(light.illuminance_lux(lumens, room.utilisation, room.area_m2))
    return round(lux), [round(low), round(high)]


def density_of(body: Body, current: Now, proposal: Proposal | None) -> Density | None:
    """Power density of the room with this group converted and the others as they are [W/ft²], against the limit.

    None where no code was chosen, the space has no row, or the room's size or the other groups' watts are
    not known. Above the row's cavity ratio the limit rises (90.1, from memory).
    """
    row = body.space_row or {}
    limit = (row.get("w_ft2") or {}).get(body.settings.get("power_density_code", "none"))
    if limit is None or current.room is None or proposal is None or not body.others.known:
        return None
    if current.room.cavity_ratio > row.get("rcr_threshold", float("inf")):
        limit *= 1 + body.tables["spaces"]["rcr_allowance_pct"] / 100
    density = light.power_density_w_ft2(proposal["watts"] + body.others.watts, current.room.area_m2)
    verdict = "over" if round(density, 2) > round(limit, 2) else "within"
    code = _code_row(body)
    return {
        "name": f"{code['name']} {code['edition']}, space by space",
        "w_m2": round(density * light.SQUARE_FEET_IN_M2, 2),
        "limit_w_m2": round(limit * light.SQUARE_FEET_IN_M2, 2),
        "alteration_pct": code["alteration_pct"],
        "alteration_of": code["alteration_of"],
        "section": code["section"],
        "alteration_how_known": code["how_known"],
        "w_ft2": round(density, 3),
        "limit_w_ft2": round(limit, 3),
        "verdict": verdict,
        "code": body.settings["power_density_code"],
        "source": row["w_ft2_source"],
        "edition": row["edition"],
        "how_known": row["w_ft2_how_known"],
    }


def _code_row(body: Body) -> Row:
    """The row of `codes` for the code that the site chose."""
    wanted = body.settings["power_density_code"]
    return next(row for row in body.tables["codes"]["rows"] if row["code"] == wanted)


def leni_of(body: Body, current: Now, proposal: Proposal | None) -> Leni | None:
    """Lighting energy of the room over its floor with this group converted and the others as they are [kWh/m² a year].

    None where the room's size, its hours or the other groups' watts are not known. Hours are those of the survey, what a
    control saves is that of the table; charging of batteries and standby of controls are left out.

    References
    ----------
    .. [1] EN 15193-1, lighting energy numeric indicator: W / A, W = Σ Pn · Fc · (tD · Fo · FD + tN · Fo) / 1000, as engineering
       pages give it (read); the factors are taken together as one share saved.
    """
    if current.room is None or proposal is None or body.hours_year is None or not body.others.known:
        return None
    own = energy_kwh_year(proposal["watts"], body.hours_year, control_savings(body)[1])
    whole = own + energy_kwh_year(body.others.watts, body.hours_year)
    watts = proposal["watts"] + body.others.watts
    return {
        "kwh_m2_year": round(whole / current.room.area_m2, 2),
        "w_m2": round(watts / current.room.area_m2, 2),
        "hours_year": body.hours_year,
    }
