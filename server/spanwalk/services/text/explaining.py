"""The plan of one group as text: what the screen shows, with every check's sentence and the sources of its figures."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import cast

from sqlalchemy import select
from sqlalchemy.orm import Session

from spanwalk.rules.arrangements.plan_types import Density, LightTerms, Plan, ProposalWhole, WantedTold
from spanwalk.rules.measuring.lengths import TICKS_PER_INCH, format_inches, format_mm
from spanwalk.rules.said import Facts, Said
from spanwalk.rules.survey import Survey, facet, mark_of
from spanwalk.services.planning.plan_answers import PlanAnswer, Risk
from spanwalk.services.planning.room_light import Lux, RoomLight
from spanwalk.services.planning.told import plan_of_group
from spanwalk.services.refusals import NotThere
from spanwalk.services.sync.state import site_records
from spanwalk.services.text.read_as import figure_title, marked
from spanwalk.storage.tables import Site
from spanwalk.words import choice_text, say

SHORT_TICKS = 3 * 8128
"""Below 3 in a length is told in millimetres only."""

FIT_TERMS = (
    ("trusted_ticks", "fit.term-trusted", "+"),
    ("bars_ticks", "fit.term-bars", "−"),
    ("tolerance_ticks", "fit.term-tolerance", "−"),
    ("joints_ticks", "fit.term-joints", "−"),
    ("change_ticks", "fit.term-change", "−"),
    ("end_gaps_ticks", "fit.term-end-gaps", "−"),
)
"""Terms in the order of the sum, with the sign they have in it."""
OTHER_TERMS = (("needed_ticks", "explain.needed"), ("nominal_clearance_ticks", "fit.term-clearance"))
"""What the terms come to."""
NOW = (
    "watts_each",
    "watts",
    "kwh_year",
    "lumens",
    "lux",
    "range_lux",
    "all_burning_lm",
    "all_burning_lux",
    "all_burning_range_lux",
    "all_burning_clean_lm",
    "utilisation",
    "hours_year",
)
LIGHT = (
    "day_one_lm",
    "day_one_range_lm",
    "day_one_lux",
    "day_one_range_lux",
    "day_one_of_found_pct",
    "then_lm",
    "range_lm",
    "lux",
    "range_lux",
    "years",
    "mean_lm",
    "share_of_today_pct",
    "share_of_all_burning_pct",
)
ENERGY = ("kwh_now", "kwh_then", "kwh_saved", "kw_saved", "heating_kwh", "emission_saved_kg")
MONEY = (
    "cost",
    "rebate",
    "net_cost",
    "saving_energy_year",
    "saving_year",
    "first_year_short",
    "lcc",
    "lcc_as_is",
    "npv",
    "sir",
    "airr_share",
    "irr_share",
    "simple_payback_years",
    "discounted_payback_years",
)
"""Figures in the order in which they are told; each has a sentence `explain.figure.<name>`."""
AMOUNTS = (
    "cost", "rebate", "net_cost", "saving_energy_year", "saving_year", "first_year_short", "lcc", "lcc_as_is", "npv"
)  # fmt: skip
"""Those of them that are money."""
PLACES = {"utilisation": 3, "sir": 2, "kw_saved": 3}
"""Figures after the point that are told at most, where not one."""


def explain(session: Session, wanted: str) -> str:
    """The plan of a group, by its id, or by room number and kind mark: `G02 K2`.

    Parameters
    ----------
    session : Session
        An open transaction.
    wanted : str
        Which group.

    Returns
    -------
    str
        Lines to read.

    Raises
    ------
    NotThere
        No site has such a group.
    """
    return "\n\n".join("\n".join(lines(wanted, plan_of_group(session, *each))) for each in find_groups(session, wanted))


def find_groups(session: Session, wanted: str) -> list[tuple[str, str]]:
    """Ids of site and group of each group to be converted that is called so: by its id, or by room number and kind mark.

    A room may hold two groups of a kind, and two sites a room of the same number.

    Raises
    ------
    NotThere
        No site has such a group.
    """
    found = []
    for site_id in session.execute(select(Site.id)).scalars():
        survey = Survey(site_records(session, site_id))
        for group in survey.groups_to_convert():
            kind, room = survey.kind_of(group), survey.room_of(group)
            number = facet(room, "identity").get("number", "")
            if kind is not None and room is not None and wanted in (group["id"], f"{number} {mark_of(kind)}"):
                found.append((site_id, group["id"]))
    if not found:
        raise NotThere("plan-group-unknown", value=wanted)
    return found


def lines(title: str, plan: PlanAnswer) -> Iterator[str]:
    """A plan as lines: state, today, proposal with its checks, next best, rejected, why, sources."""
    yield say("explain.head", {"title": title, "fixtures": plan["fixtures"], "state": plan["state"]})
    for each in plan["blockers"]:
        yield "  ! " + sentence(each)
    for each in plan["instead"]:
        yield "  > " + say(each["instead"])
    yield say("explain.today")
    yield "  " + _figures(plan["now"], NOW)
    for name in ("assumed", "missing"):
        if plan["now"][name]:
            yield "  " + say(f"explain.{name}", {"what": plan["now"][name]})
    yield from _wanted(plan["wanted"], plan["density"])
    if plan["corrected"] is not None:
        yield "  " + sentence(plan["corrected"])
    for part in ("today", "new"):
        yield from _light_terms(part, plan["light_terms"])
    yield from _room_light(plan["room_light"])
    if plan["leni"] is not None:
        yield "  " + say("plan.leni", dict(plan["leni"]))
    if plan["uncounted"]:
        yield "  " + say("desk.uncounted", {"what": plan["uncounted"]})
    if plan["proposal"] is not None:
        yield from _candidate(plan["proposal"], plan["currency"])
        yield from _wiring(plan)
        yield from _risk(plan["risk"], plan["currency"])
    for next_best in plan["feasible"][1:]:
        yield "  " + _next_best(next_best["arrangement"], next_best["money"]["lcc"], plan["currency"])
    if plan["rejected"]:
        yield say("explain.rejected")
    for rejected in plan["rejected"]:
        yield f"  {rejected['arrangement']}: {sentence(rejected)}"
    yield say("explain.why")
    for each in plan["why"]:
        yield "  " + sentence(each)
    if plan["site_values"]:
        yield say("explain.figures-of-site")
    for each in plan["site_values"]:
        yield "  " + sentence(each)
    if plan["from_memory"]:
        yield say("world.from-memory", {"number": len(plan["from_memory"])})
    for each in plan["from_memory"]:
        yield "  " + sentence(each)
    yield say("explain.sources")
    for source in plan["now"]["sources"]:
        yield f"  {source['source']} ({source['edition']}; {source['how_known']})"


def _next_best(arrangement: str, lcc: float | None, currency: str) -> str:
    if lcc is None:
        return say("explain.next-without-money", {"arrangement": arrangement})
    facts = {"arrangement": arrangement, "currency": currency, "lcc_money": lcc}
    return sentence({"code": "explain.next", "facts": facts})


def _candidate(proposal: ProposalWhole, currency: str) -> Iterator[str]:
    yield say("explain.proposal", {"arrangement": proposal["arrangement"]})
    terms: Facts = proposal["fit"].get("terms", {})
    named = [(name, code) for name, code, _ in FIT_TERMS] + list(OTHER_TERMS)
    told = [f"{say(code)} {length(cast('int', terms[name]))}" for name, code in named if name in terms]
    yield "  " + say("explain.part.fit", {"figures": ", ".join(told)})
    for reason in proposal["fit"].get("reasons", []):
        yield "  " + say("explain.part.fit", {"figures": sentence(reason)})
    for check in proposal["checks"]:
        yield f"  [{choice_text(check['verdict'])}] {sentence(check)}"
    for part, figures, names in (
        ("light", proposal["light"], LIGHT),
        ("energy", proposal["energy"], ENERGY),
        ("money", proposal["money"], MONEY),
    ):
        if told_here := _figures(figures, names):
            yield "  " + say(f"explain.part.{part}", {"figures": told_here, "currency": currency})
    if proposal["money"]["missing"]:
        yield "  " + say("explain.missing", {"what": proposal["money"]["missing"]})


def _light_terms(part: str, terms: LightTerms) -> Iterator[str]:
    """Each term of a light with its source and how it is known."""
    found = terms["today"] if part == "today" else terms["new"]
    if found:
        yield "  " + say(f"light-term.title-{part}")
    for each in found:
        known = say("light-term.of", dict(each)) if each["source"] else choice_text(each["how_known"])
        facts = {"term": say(f"light-term.{each['term']}"), "value": f"{each['value']:g}", "known": known}
        yield "    " + say("light-term.line", facts)


LIGHTS = (("found", "found"), ("all_burning", "all-burning"), ("day_one", "day-one"), ("maintained", "maintained"))
"""Lights of a room in the order in which they are told, with the ends of their codes."""


def _room_light(told: RoomLight) -> Iterator[str]:
    """The light of the whole room with its ranges, what was read, and on what it rests."""
    yield "  " + say("room-light.title")
    for name, code in LIGHTS:
        lux = cast("Lux | None", told.get(name))
        if lux is not None:
            yield "    " + say(
                "room-light.from-to", {"name": say(f"room-light.{code}", {"years": told["years"]}), **lux}
            )
    if told["wanted"] is not None:
        yield "    " + say("room-light.wanted", {"wanted": told["wanted"]})
    for read in (told["read_before"], told["read_after"]):
        if read is not None and read["points"]:
            yield "    " + say("room-light.read", {"read": read["lux"]})
    for each in told["says"]:
        yield "    " + sentence(each)


def _wiring(plan: Plan) -> Iterator[str]:
    """Each driver with its own bars, outputs by outputs; and with whom the group is one decision."""
    if plan["partner"] is not None:
        yield _wired(say("plan.pair", plan["partner"]))
    for each in plan["wiring_told"]:
        yield _wired(sentence(each))


def _wired(text: str) -> str:
    return "  " + say("explain.part.wiring", {"figures": text})


def _risk(risk: Risk, currency: str) -> Iterator[str]:
    """What may still go wrong: cavities that could be shorter, what reading more would buy, what a misfit costs."""
    if risk["could_be_shorter"] is not None:
        yield _risky(say("cavity.could-be-shorter", {"d": risk["could_be_shorter"], "m": risk["m"]}))
    if risk["more_buys"] is not None:
        left = {"d": risk["more_buys"]["could_be_shorter"], "m": risk["more_buys"]["m"]}
        more = say("readings.measure-more", {"more": risk["measure_more"]})
        yield _risky(f"{more} {say('readings.more-narrows', left)}")
    cost = risk["misfit"]
    if cost is not None and cost["total_cents"] is not None:
        told = {"currency": currency, "total_money": cost["total_cents"] / 100}
        yield _risky(sentence({"code": "misfit.cost", "facts": told}))
    elif cost is not None:
        yield _risky(say("misfit.not-priced", {"missing": [say(f"misfit.{name}") for name in cost["missing"]]}))


def _risky(text: str) -> str:
    return "  " + say("explain.part.risk", {"figures": text})


def _wanted(wanted: WantedTold, density: Density | None) -> Iterator[str]:
    yield "  " + say(wanted["code"], wanted)
    if density is not None:
        yield "  " + say("plan.density", dict(density))


def _figures(told: Facts, names: tuple[str, ...]) -> str:
    """The figures that are known, each with its unit, in this order."""
    return ", ".join(_figure(name, told[name]) for name in names if told.get(name) is not None)


def _figure(name: str, value: object) -> str:
    if isinstance(value, list):
        return say(f"explain.figure.{name}", {"low": f"{value[0]:,}", "high": f"{value[-1]:,}"})
    of_hundred = cast("float", value) * 100 if name.endswith("_share") else cast("float", value)
    told = amount(of_hundred) if name in AMOUNTS else f"{round(of_hundred, PLACES.get(name, 1)):,}"
    return say(f"explain.figure.{name}", {"value": told})


def sentence(said: Said, units: str = "inches") -> str:
    """The sentence of a code, lengths among its facts on the tape and in millimetres, money with thousands marked."""
    return say(said["code"], {name: _fact(name, value, units) for name, value in said["facts"].items()})


def _fact(name: str, value: object, units: str) -> object:
    if isinstance(value, Mapping) and "code" in value:
        return sentence(cast("Said", value), units)
    if isinstance(value, list):
        return [_fact(name, each, units) for each in value]
    if name.endswith("_ticks"):
        return length(cast("int", value), units)
    if name.endswith("_money"):
        return amount(cast("float", value))
    if isinstance(value, float) and not value.is_integer():
        return marked(str(value))
    return figure_title(value) if name == "title" and isinstance(value, str) else value


def amount(money: float) -> str:
    """An amount of money to read, thousands marked; without hundredths from a thousand on.

    >>> amount(257.4), amount(-12_345.67)
    ('257.40', '-12,346')
    """
    return marked(f"{money:,.2f}" if abs(money) < 1000 else f"{money:,.0f}")


def length(ticks: int, units: str = "inches") -> str:
    """A length to read: as on the site's tape, and in the other unit; short ones in millimetres only."""
    if abs(ticks) < SHORT_TICKS:
        return f"{marked(format_mm(ticks))} mm"
    return both_units(ticks, units)


def both_units(ticks: int, units: str = "inches") -> str:
    """A length as on the site's tape, 'inches' or 'millimetres', and in the other unit in brackets.

    Below 3 in inches are decimal: a margin of half a millimetre is no sixteenth.

    Examples
    --------
    >>> both_units(160), both_units(384_000, "millimetres")
    ('0.020 in (0.5 mm)', '1,200.0 mm (≈ 47 1/4 in)')
    """
    shown = f"{ticks / TICKS_PER_INCH:.3f}" if abs(ticks) < SHORT_TICKS else format_inches(ticks)
    mm, inches = f"{marked(format_mm(ticks))} mm", f"{marked(shown)} in"
    return f"{inches} ({mm})" if units == "inches" else f"{mm} ({inches})"
