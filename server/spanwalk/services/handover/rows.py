"""What stands in the tables of the report, once for page and sheet."""

from __future__ import annotations

from spanwalk.services.handover.told import DONE, EnergyTold, FixtureTold, PhotoTold, Report
from spanwalk.words import choice_text, say

ENERGY = (
    "watts_now",
    "watts_then",
    "kwh_now",
    "kwh_then",
    "hours_year",
    "kw_saved",
    "emission_saved_kg",
    "share_of_today_pct",
)
"""Figures of a group's energy that are told, in their order."""


def now_fitted(fixture: FixtureTold) -> str:
    """What is in a fixture now, or that it is not noted as converted."""
    if fixture.state != DONE:
        return say("handover-report.not-converted")
    if not fixture.fitted:
        return say("handover-report.not-said", {"released": fixture.released})
    if fixture.as_released is False:
        return say("handover-report.differs", {"items": fixture.fitted, "released": fixture.released})
    return fixture.fitted


def state_text(state: str) -> str:
    """How far a fixture is, in words."""
    return say(f"handover-report.state.{state}")


def energy_figure(energy: EnergyTold | None, name: str) -> float | None:
    """A figure of `ENERGY`; None where the release has none."""
    return None if energy is None else getattr(energy, name)


def photo_text(photo: PhotoTold) -> str:
    """What is said below a photo."""
    if not photo.after:
        title = say("handover-report.photo.before")
    elif photo.position is None:
        title = say("handover-report.photo.after")
    else:
        title = say("handover-report.photo.after-of", {"position": photo.position})
    return " · ".join(each for each in (title, photo.day, photo.caption) if each)


def waste_rows(report: Report) -> list[tuple[str, str, int]]:
    """What came out: what, which, how many."""
    waste = report.waste
    lamps = [(say("files.waste.lamps"), lamp, number) for lamp, number in waste.lamps.items()]
    ballasts = [
        (say("files.waste.ballasts"), say(f"files.waste.{name.replace(' ', '-')}"), number)
        for name, number in waste.ballasts.items()
        if number
    ]
    batteries = [(say("files.waste.batteries"), choice_text(name), number) for name, number in waste.batteries.items()]
    return [*lamps, *ballasts, *batteries]


def waste_notes(report: Report) -> list[str]:
    """What is to be said with them: how it was counted, the caution, and what is not recorded."""
    notes = [say("handover-report.waste.about"), say("desk.waste-caution")]
    if report.waste.not_told:
        notes.append(say("handover-report.waste.not-told", {"n": report.waste.not_told}))
    return [*notes, say("handover-report.waste.no-containers")]


def container_heads() -> list[str]:
    """Heads of the containers that were checked off as ready."""
    what, which, number = (say(f"files.waste.{name}") for name in ("what", "which", "number"))
    return [say("list.room"), what, which, say("handover-report.day"), number]


def collected_heads() -> list[str]:
    """Heads of what was collected."""
    names = ("collected-on", "collected-by", "what", "container", "containers", "number", "broken", "note")
    return [say(f"proof.head.{name}") for name in names]


def collected_rows(report: Report) -> list[list[str | int | None]]:
    """What was collected, and by whom."""
    return [
        [each.day, each.by, each.what, each.container, each.containers, each.number, each.broken, each.note]
        for each in report.collected
    ]


def warranty_heads() -> list[str]:
    """Heads of the table of warranties."""
    return [
        say(f"handover-report.warranties.{each}")
        for each in ("item", "name", "number", "years", "first", "last", "until")
    ]


def warranty_rows(report: Report) -> list[list[str]]:
    """Each item that was fitted: how many, years, the days on which it was noted as fitted, and until when."""
    return [
        [
            each.code,
            each.name or "–",
            str(each.number),
            "–" if each.years is None else f"{each.years:g}",
            each.first_day or "–",
            each.last_day or "–",
            _span(each.first_end, each.last_end),
        ]
        for each in report.warranties
    ]


def _span(first: str, last: str) -> str:
    if not first:
        return say("handover-report.warranties.not-entered")
    return first if first == last else say("handover-report.warranties.span", {"first": first, "last": last})


def spare_heads() -> list[str]:
    """Heads of the table of how to get items again."""
    return [
        say(f"handover-report.spares.{each}") for each in ("item", "name", "supplier", "number", "lead-days", "left")
    ]


def spare_rows(report: Report) -> list[list[str]]:
    """How to get each item again."""
    return [
        [
            each.code,
            each.name or "–",
            each.supplier or "–",
            each.supplier_number or "–",
            "–" if each.lead_days is None else str(each.lead_days),
            "–" if each.left is None else str(each.left),
        ]
        for each in report.spares
    ]
