"""The first page: what was converted, what it comes to, what is open, and two charts. Sheet and page say the same sentences."""

from __future__ import annotations

from collections.abc import Iterator

from spanwalk.services.handover.charts import Bar, Chart
from spanwalk.services.handover.numbers import DIGITS, MONEY_DIGITS, number
from spanwalk.services.handover.told import DONE, Report
from spanwalk.services.labels.typesetting import unprintable
from spanwalk.services.text.cost_lines import name_of, where_from
from spanwalk.words import say

STATES = (DONE, "problem", "skipped", "not-done-after-all", "not-noted")
LAMPS_MOST = 6


def sentences(report: Report) -> Iterator[str]:
    """What the summary says, the most important first."""
    counted = report.counted()
    fixtures, done = sum(counted.values()), counted.get(DONE, 0)
    if not done:
        yield say("handover-report.summary.none-done")
    yield say("handover-report.summary.fixtures", {"n": number(fixtures), "done": number(done)})
    if fixtures and done == fixtures:
        yield say("handover-report.summary.all-done")
    yield _open(report)
    if report.fixtures_left_out:
        facts = {"n": number(report.fixtures_left_out), "groups": number(report.groups_left_out)}
        yield say("handover-report.summary.left-out", facts)
    if report.tests.fixtures:
        facts = {"n": number(report.tests.fixtures), "open": number(report.tests.open)}
        yield say("handover-report.summary.tests", facts)
    yield from _energy(report)
    if report.sums is not None and report.money is None:
        yield say("handover-report.summary.money-left-out")
    if unprintable(_texts(report)):
        yield say("handover-report.summary.squares")


def _open(report: Report) -> str:
    if not report.open:
        return say("handover-report.summary.nothing-open")
    return say("handover-report.summary.open", {"n": number(len(report.open))})


def _energy(report: Report) -> Iterator[str]:
    sums = report.sums
    if sums is None:
        yield say("handover-report.summary.energy-not-read")
        return
    if sums.kwh_now is None or sums.kwh_then is None:
        yield say("handover-report.summary.energy-lacks")
        return
    facts = {
        "now": number(sums.kwh_now, DIGITS["kwh_now"]),
        "then": number(sums.kwh_then, DIGITS["kwh_then"]),
        "saved": number(sums.kwh_now - sums.kwh_then, DIGITS["kwh_now"]),
        "kw": number(sums.kw_saved, DIGITS["kw_saved"]),
        "kg": number(sums.emission_saved_kg, DIGITS["emission_saved_kg"]),
    }
    yield say("handover-report.summary.energy", facts)
    yield say("handover-report.summary.energy-of-all", {"n": number(sums.fixtures)})


def money_lines(report: Report) -> list[tuple[str, str]]:
    """Figures of money with their names, as they are read; one that a release lacks says so."""
    if report.money is None:
        return []
    unknown = say("handover-report.money.not-known")
    return [
        (
            say(f"handover-report.money.{name}"),
            unknown if value is None else f"{report.money.currency} {number(value, MONEY_DIGITS)}".strip(),
        )
        for name, value in report.money.sums.items()
    ]


def cost_lines(report: Report) -> list[tuple[str, float]]:
    """What the job's cost is made of, with where each part comes from; nothing where nothing is charged on the work."""
    lines = () if report.money is None else report.money.lines
    facts = ({"what": name_of(each), "from": where_from(each)} for each in lines)
    return [
        (say("handover-report.money.of-cost", told), each["amount"]) for told, each in zip(facts, lines, strict=True)
    ]


def charts(report: Report) -> list[Chart]:
    """Two charts: fixtures by state, and energy before and after, or where that is not told what was taken out."""
    counted = report.counted()
    states = [
        Bar(say(f"handover-report.state.{state}"), counted[state], number(counted[state]))
        for state in STATES
        if counted.get(state)
    ]
    return [Chart(say("handover-report.chart.fixtures"), states), _second(report)]


def _second(report: Report) -> Chart:
    sums = report.sums
    if sums is not None and sums.kwh_now is not None and sums.kwh_then is not None:
        values = {"before": sums.kwh_now, "after": sums.kwh_then}
        bars = [
            Bar(say(f"handover-report.chart.{name}"), value, number(value, DIGITS["kwh_now"]))
            for name, value in values.items()
        ]
        return Chart(say("handover-report.chart.energy"), bars)
    lamps = list(report.waste.lamps.items())[:LAMPS_MOST]
    return Chart(say("handover-report.chart.lamps"), [Bar(lamp, count, number(count)) for lamp, count in lamps])


def _texts(report: Report) -> Iterator[str]:
    site = report.site
    yield from (site.name, site.customer, site.address, site.firm, site.call)
    for room in report.rooms:
        yield from (room.name, room.floor_name)
        for group in room.groups:
            yield from (group.mark, group.note)
    yield from (each.text for each in report.open)
