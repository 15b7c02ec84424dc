"""Of what the light of a group is made, today and with bars: each term with its value, source and how it is known."""

from __future__ import annotations

from collections.abc import Iterator
from math import exp

from spanwalk.rules.arrangements.body import Body, code_of
from spanwalk.rules.arrangements.candidate import Candidate
from spanwalk.rules.arrangements.now import Now, has_led_tubes, optic_share
from spanwalk.rules.arrangements.plan_types import LightTerm
from spanwalk.rules.gear.checks import plain
from spanwalk.rules.light import light
from spanwalk.rules.light.light_readings import Factor
from spanwalk.rules.money import energy
from spanwalk.rules.record_view import Row

SURVEY, CATALOGUE, RECKONED = "survey", "catalogue", "reckoned"
"""Where a term is from that stands in no table; texts are the page's."""
READ_HERE, READ_OF_KIND = "read-in-this-room", "read-in-rooms-of-its-kind"


def terms_today(body: Body, current: Now) -> list[LightTerm]:
    """Terms of today's light: up to the optic their product is the light as found [lm]; without the share that burns, with all lamps
    burning; with utilisation, floor and readings it is lux.

    Parameters
    ----------
    body : Body
        The group.
    current : Now
        As it is.
    """
    if current.light is None or current.body_row is None:
        return []
    lamps = body.fixtures * body.lamps_each
    found = [
        _said("lamps", lamps, SURVEY),
        _said("burning", energy.working_share(lamps, body.dark_lamps), SURVEY),
        *_of_lamps(body, current),
        *_of_body(body, current.body_row, "bars_share" if has_led_tubes(body) else "tubes_share"),
    ]
    if current.room is not None:
        found += [
            _said("utilisation", current.room.utilisation, RECKONED),
            _said("area-m2", current.room.area_m2, SURVEY),
            *_of_readings(body, body.light_factors.today),
        ]
    return found


def terms_new(body: Body, candidate: Candidate) -> list[LightTerm]:
    """Terms of the light with bars; on day one without what bars keep and without dirt.

    Parameters
    ----------
    body : Body
        The group.
    candidate : Candidate
        What goes into it.
    """
    row = body.body_row
    if candidate.light_each is None or row is None:
        return []
    found = [_said("bars-w", body.fixtures * float(candidate.bars_w), RECKONED)]
    for bar in {each["id"]: each for each in candidate.own_bars}.values():
        facet = bar["facets"]["bar"]
        kept = light.led_depreciation(body.light_hours, facet["l70_h"])
        found += [_said("lm-per-w", facet["lumens_per_w"], CATALOGUE, code_of(bar))]
        found += [_said("kept", kept, RECKONED, f"{code_of(bar)}: 0.7^({body.light_hours:g} h / {facet['l70_h']} h)")]
    return [*found, *_of_body(body, row, "bars_share"), *_of_readings(body, body.light_factors.new)]


def _of_readings(body: Body, factor: Factor) -> Iterator[LightTerm]:
    """What readings multiply the light on the work plane by; lumens out of the body they leave alone."""
    if body.light_factors.is_corrected:
        yield _said("readings", exp(factor.mean), READ_HERE if body.light_factors.points else READ_OF_KIND)


def _of_lamps(body: Body, current: Now) -> Iterator[LightTerm]:
    lumens, ballast = current.lumens_row, current.ballast_row
    if lumens is None or ballast is None:
        yield _said("lamp-lm", body.of_kind("lamps").get("tube_lm", 0), SURVEY)
        return
    yield _of_row("lamp-lm", lumens["initial_lm"], lumens)
    factor = {name: ballast.get(f"ballast_factor_{name}", ballast[name]) for name in ("source", "how_known")}
    yield _of_row("ballast-factor", ballast["ballast_factor"], factor)
    yield _of_row("mean", lumens["mean_share"], lumens)


def _of_body(body: Body, row: Row, share: str) -> Iterator[LightTerm]:
    yield _of_row("dirt", row["dirt_share"], row)
    yield _of_row("body", row[share], row)
    table = body.tables["bodies"]
    state = {name: str(table[f"state_share_{name}"]) for name in ("source", "how_known")}
    yield _of_row("optic", optic_share(body), state)


def _of_row(term: str, value: float, row: Row) -> LightTerm:
    return {"term": term, "value": plain(value), "source": str(row["source"]), "how_known": str(row["how_known"])}


def _said(term: str, value: float, how_known: str, source: str = "") -> LightTerm:
    return {"term": term, "value": plain(round(value, 4)), "source": source, "how_known": how_known}


__all__ = ["terms_new", "terms_today"]
