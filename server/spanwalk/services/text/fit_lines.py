"""What the readings of a group come to as text: what the screen shows, with every term signed, and sources."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import cast

from sqlalchemy.orm import Session

from spanwalk.reference import tables
from spanwalk.rules.fit.by_lamp import ReadOfKind, is_by_lamp, read_of_kind
from spanwalk.rules.fit.sampling import counting, questions_of
from spanwalk.rules.fit.spring_back import USUAL
from spanwalk.rules.judging.degree import degree_of
from spanwalk.rules.judging.judged import judge_groups
from spanwalk.rules.judging.judgement_types import Degree, Fit, Judgement, NextStep
from spanwalk.rules.measuring.reading_sense import lamp_row, loose_band
from spanwalk.rules.record_types import CatalogueItemView, CavityReadingView, GroupView, KindView
from spanwalk.rules.record_view import Row
from spanwalk.rules.said import Facts, Said
from spanwalk.rules.survey import Survey, facet, mark_of
from spanwalk.services.sync.state import site_records
from spanwalk.services.text.explaining import FIT_TERMS, both_units, find_groups, sentence
from spanwalk.words import counted, say

CAVITY_TERMS = (
    ("lamp_ticks", "fit-lines.lamp", ""),
    ("spring_back_ticks", "fit-lines.spring-back", ""),
    ("shortest_ticks", "fit-lines.shortest", ""),
    ("shortest_trusted_ticks", "fit-lines.shortest-trusted", ""),
    ("mean_ticks", "fit-lines.mean", ""),
    ("spread_ticks", "fit-lines.spread", ""),
    ("below_ticks", "fit-lines.below", "−"),
    ("systematic_ticks", "fit-lines.systematic", "−"),
    ("limit_ticks", "fit-lines.limit", ""),
)
NO_EDITION = "-"
"""Edition of a row whose source has none."""
Lines = Iterator[str]


def fit_of_group(session: Session, wanted: str) -> str:
    """Readings, trusted cavity and every bar of a group, by its id, or by room number and kind mark: `G02 K2`.

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
    return "\n\n".join("\n".join(_of_group(session, *each)) for each in find_groups(session, wanted))


def _of_group(session: Session, site_id: str, group_id: str) -> Lines:
    survey = Survey(site_records(session, site_id))
    told = judge_groups(survey, tables())[group_id]
    group = cast("GroupView", survey.by_id[group_id])
    kind, units = survey.kind_of(group), facet(survey.site(), "settings").get("units", "inches")
    title = f"{facet(survey.room_of(group), 'identity').get('number', '')} {mark_of(kind)}"
    readings, bars = survey.children(group, "cavity_reading"), survey.of_type("catalogue_item")
    names = {item["id"]: str(facet(item, "identity")["code"]) for item in bars}
    degree = degree_of(group, told, read_of(survey, kind))
    return fit_lines(title, told, readings, names, kind, bars, units, degree)


def read_of(survey: Survey, kind: KindView | None) -> ReadOfKind:
    """What was read of a kind, over all groups of a site that are to be converted."""
    groups = [each for each in survey.groups_to_convert() if kind is not None and survey.kind_of(each) == kind]
    found = [(each, survey.children(each, "cavity_reading")) for each in groups]
    return read_of_kind(
        (each, kind, own, questions_of(counting(own), kind, tables())) for each, own in found if kind is not None
    )


def fit_lines(
    title: str,
    told: Judgement,
    readings: Sequence[CavityReadingView],
    names: Mapping[str, str],
    kind: KindView | None,
    bars: Iterable[CatalogueItemView],
    units: str,
    degree: Degree,
) -> Lines:
    """A judgement as lines.

    Parameters
    ----------
    title : str
        What was judged.
    told : mapping
        What `rules.judging.judging.judge_group` returns.
    readings : sequence of view records
        All readings of the group, those that do not count too.
    names : mapping
        Code of each bar, by id.
    kind : view record or None
        What the group is of.
    bars : iterable of view records
        Catalogue items.
    units : {'inches', 'millimetres'}
        The tape of the site, which is shown first.
    degree : mapping
        What `rules.judging.degree.degree_of` returns.
    """
    best = None if told["best"] is None else told["fits"][told["best"]]
    yield say("fit-lines.head", {"title": title, "verdict": how_sure(degree, best, names, units)})
    for reason in degree["held_by"]:
        yield "  " + sentence(reason, units)
    yield from _next(degree["next"], names, units)
    if degree["degree"] == "never":
        yield "  " + say("degree.nothing-to-read")
        yield from _readings(readings, {}, units) if readings else ()
        return
    yield say("fit-lines.readings")
    yield from _readings(readings, told["questions"], units)
    yield say("fit-lines.cavity")
    yield from _cavity(told, names, units)
    yield say("fit-lines.bars")
    for fit in told["fits"]:
        yield from _bar(fit, names, units)
    if not told["fits"]:
        yield "  " + say("readings.no-bars")
    yield say("fit-lines.sources")
    for source in _sources(readings, kind, bars, told["trusted"]["spring_back"] == USUAL):
        yield "  " + say(
            "fit-lines.source" if source["edition"] != NO_EDITION else "fit-lines.source-alone", dict(source)
        )


def how_sure(degree: Degree, fit: Fit | None, names: Mapping[str, str], units: str = "inches") -> str:
    """How sure the verdict on a group is, with its best row of bars and what is to spare or missing, as on the phone."""
    if fit is not None and fit.get("refused"):
        return say("degree.refused")
    head = say(f"degree.{degree['degree']}", {"n": degree["n"], "of": "?" if degree["of"] is None else degree["of"]})
    number = _number(fit, units)
    if fit is None or not number or degree["degree"] == "never":
        return head
    of_bar = say("degree.of-bar", {"bars": _names(fit["bars"], names), "number": number})
    return say("degree.with-number", {"degree": head, "number": of_bar})


def _number(fit: Fit | None, units: str) -> str:
    """What is to spare, short, or too long; empty where there is no such number."""
    if fit is None or fit["verdict"] == "cannot tell":
        return ""
    if fit["verdict"] == "too long":
        return say("degree.over", {"over_ticks": both_units(-fit["terms"]["nominal_clearance_ticks"], units)})
    clearance = cast("int", fit["clearance_ticks"])
    name, code = ("short_ticks", "degree.short") if clearance < 0 else ("spare_ticks", "degree.spare")
    return say(code, {name: both_units(abs(clearance), units)})


def _next(step: NextStep | None, names: Mapping[str, str], units: str) -> Lines:
    """The strongest next step, with what the others would take."""
    if step is None:
        return
    facts = {"bars": _names(step["bars"], names), "needed_ticks": both_units(step["needed_ticks"], units)}
    yield "  " + say("next.by-lamp" if step["by_lamp"] else "next.tight", facts)
    if step["by_tape"] is None:
        yield "  " + say("next.tape-never")
    else:
        what, code = ("fixture", "next.tape-fixtures") if step["by_lamp"] else ("cavity", "next.tape")
        yield "  " + say(code, {"more": counted(step["by_tape"], f"counted.{what}")})
    if not step["by_lamp"] and step["by_trial"] is not None:
        yield "  " + say("next.trial", {"more": counted(step["by_trial"], "counted.cavity")})
    if step["by_gauge"] is not None:
        yield "  " + say("next.gauge", {"more": counted(step["by_gauge"], "counted.cavity")})


def verdict(fit: Fit | None, units: str = "inches") -> str:
    """What the length alone says of one row of bars, in a few words."""
    if fit is None:
        return say("readings.cannot-tell")
    clearance = cast("int", fit["clearance_ticks"])
    if fit.get("refused"):
        return say("readings.trial-refused")
    if fit["verdict"] == "fits":
        if clearance < 0:
            return say("readings.fits-by-trial")
        return say(
            "readings.fits-by-lamp" if is_by_lamp(fit) else "readings.fits",
            {"spare_ticks": both_units(clearance, units)},
        )
    if fit["verdict"] == "tight":
        return say("readings.tight", {"short_ticks": both_units(-clearance, units)})
    if fit["verdict"] == "too long":
        return say("readings.too-long", {"over_ticks": both_units(-fit["terms"]["nominal_clearance_ticks"], units)})
    return say("readings.cannot-tell")


def _cavity_of(reading: CavityReadingView) -> tuple[int, int, str]:
    identity = facet(reading, "identity")
    return identity["position"], identity["cavity"], reading["id"]


def _readings(readings: Sequence[CavityReadingView], questions: Mapping[str, Sequence[Said]], units: str) -> Lines:
    """Each row's readings, those left out with why, and what is asked about each."""
    by_row: dict[int, list[CavityReadingView]] = {}
    for reading in readings:
        by_row.setdefault(facet(reading, "identity")["row"], []).append(reading)
    if not readings:
        yield "  " + say("cavity.no-reading")
    for row in sorted(by_row):
        yield "  " + say("fit-lines.row", {"row": row})
        for reading in sorted(
            by_row[row],
            key=_cavity_of,
        ):
            identity = facet(reading, "identity")
            facts = {"graduation": "", **identity, "length_ticks": both_units(identity["length_ticks"], units)}
            yield "; ".join(["    " + say("fit-lines.reading", facts).rstrip(", "), *_left_out(reading)])
            for question in questions.get(reading["id"], []):
                yield "      ? " + sentence(question, units)


def _left_out(reading: CavityReadingView) -> Lines:
    for name in ("set_aside", "voided"):
        if facet(reading, name):
            yield say(f"fit-lines.{name.replace('_', '-')}", dict(facet(reading, name)))
    if facet(reading, "confirmed").get("answer") == "it-was-read-wrong":
        yield say("fit-lines.read-wrong")


def _cavity(told: Judgement, names: Mapping[str, str], units: str) -> Lines:
    trusted = told["trusted"]
    yield "  " + say("fit-lines.not-counted" if trusted["m"] is None else "fit-lines.counted", trusted)
    if trusted["trusted_ticks"] is not None:
        basis = say(f"cavity.basis-{trusted['basis']}", trusted)
        yield (
            "  " + say("cavity.trusted", {"trusted_ticks": both_units(trusted["trusted_ticks"], units)}) + f". {basis}"
        )
    if trusted["spring_back"]:
        yield "  " + say(
            f"cavity.spring-back-{trusted['spring_back']}",
            {"spring_back_ticks": both_units(trusted["terms"]["spring_back_ticks"], units)},
        )
    for reason in trusted["reasons"]:
        yield "  " + sentence(reason, units)
    yield from _terms(trusted["terms"], CAVITY_TERMS, units, "  ")
    if "factor_thousandths" in trusted["terms"]:
        yield "    " + say("fit-lines.factor", {"factor": trusted["terms"]["factor_thousandths"] / 1000})
        yield "    " + say("fit-lines.degrees", trusted["terms"])
    if trusted["could_be_shorter"] is not None:
        yield "  " + say("cavity.could-be-shorter", {"d": trusted["could_be_shorter"], "m": trusted["m"]})
    if told["measure_more"] is not None:
        yield "  " + " ".join(_more(told, names, units))


def _more(told: Judgement, names: Mapping[str, str], units: str) -> Lines:
    """Measure k more, and what that would buy."""
    yield say("readings.measure-more", {"more": told["measure_more"]})
    buys = told["more_buys"]
    if buys is None:
        return
    if buys["trusted_ticks"] is None:
        yield say("readings.more-tells-spread")
        return
    yield say(
        "readings.more-buys",
        {"bars": _names(buys["bars"], names), "trusted_ticks": both_units(buys["trusted_ticks"], units)},
    )
    if buys["m"]:
        yield say("readings.more-narrows", {"d": buys["could_be_shorter"], "m": buys["m"]})


def _bar(fit: Fit, names: Mapping[str, str], units: str) -> Lines:
    """One row of bars: verdict, reasons, and the sum that gives the clearance, line by line."""
    yield "  " + say("fit-lines.bar", {"bars": _names(fit["bars"], names), "verdict": verdict(fit, units)})
    for reason in fit["reasons"]:
        yield "    " + sentence(reason, units)
    yield from _terms(fit["terms"], FIT_TERMS, units, "  ")
    told = {"needed_ticks": fit["terms"]["needed_ticks"], "clearance_ticks": fit["clearance_ticks"]}
    sums = (("needed_ticks", "fit-lines.needed", "="), ("clearance_ticks", "fit.term-clearance", "="))
    yield from _terms({name: value for name, value in told.items() if value is not None}, sums, units, "  ")


def _terms(terms: Facts, wanted: Iterable[tuple[str, str, str]], units: str, inset: str) -> Lines:
    for name, code, sign in wanted:
        if name in terms:
            yield f"{inset}  {sign:1} {say(code)}: {both_units(cast('int', terms[name]), units)}"


def _names(ids: Sequence[str], names: Mapping[str, str]) -> str:
    return " + ".join(names[each] for each in ids)


def _sources(
    readings: Sequence[CavityReadingView],
    kind: KindView | None,
    bars: Iterable[CatalogueItemView],
    usual_spring_back: bool,
) -> Iterator[dict[str, str]]:
    """Rows of the reference tables that the terms come from, each once."""
    known = tables()
    instruments = {str(facet(each, "identity").get("instrument", "")) for each in readings}
    covers = {facet(each, "bar").get("cover") for each in bars}
    material = facet(kind, "housing").get("material", "not-seen")
    parts = known["instruments"], known["expansion"]
    rows: list[Row | None] = [
        lamp_row(facet(kind, "lamps"), known),
        *(known["lamps"]["loose_bands"] if loose_band(facet(kind, "lamps"), known) else []),
        *(known["lamps"]["spring_back"] if usual_spring_back else []),
        *(
            row
            for part in ("tapes", "us_tapes", "gauges")
            for row in parts[0][part]
            if row["instrument"] in instruments
        ),
        *(parts[0]["repeatability"] if readings else []),
        known["prediction"],
        *(row for row in parts[1]["bars"] if row["cover"] in covers),
        *(row for row in parts[1]["housings"] if row["material"] == material),
    ]
    told = [tuple(str(row[name]) for name in ("source", "edition", "how_known")) for row in rows if row is not None]
    return (dict(zip(("source", "edition", "how_known"), each, strict=True)) for each in dict.fromkeys(told))


__all__ = ["fit_lines", "fit_of_group", "how_sure", "verdict"]
