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
    """Heads of the containers that were ticked as ready."""
    what, which, number = (say(f"files.waste.{name}") for name in ("what", "which", "number"))
    return [say("list.room"), what, which, say("handover-report.day"), number]
