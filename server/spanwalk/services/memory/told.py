"""What a building remembers of one fixture, as the page and the letter are told it: things and days, never people."""

from __future__ import annotations

from typing import TypedDict

from spanwalk.services.labels.scanned_by_anyone import NOT_NOTED


class TakenOut(TypedDict):
    """A piece that was taken out again: because of which failure, on which day."""

    failure: str
    on: str


class ItemNow(TypedDict):
    """An item that was fitted, and how much of it was taken out again.

    `warranty_*` are None where the catalogue promises nothing or the day is not known; `spares` are what was ordered beyond
    what was fitted, less what was used; `replaced_by` is what the firm fits in its place by now;
    `put_in_by` is the failure that it was put in for, '' of the first fitting.
    """

    kind: str
    code: str
    name: str
    number: int
    setting_ma: int | None
    serials: list[str]
    fitted_on: str
    warranty_years: float | None
    warranty_ends: str | None
    warranty_days_left: int | None
    spares: int | None
    replaced_by: str
    recalled: str
    put_in_by: str
    taken_out: list[TakenOut]


class WireTold(TypedDict):
    """One output of one driver: what hangs on it."""

    driver: str
    output: int
    joined: str
    bars: list[str]


class StepTold(TypedDict):
    """A step of a claim: on which day, by which firm or office; `attachment` is the id of a letter's record, or ''."""

    id: str
    state: str
    on: str
    by: str
    reference: str
    note: str
    attachment: str


class FailureTold(TypedDict):
    """A failure that was reported here."""

    id: str
    on: str
    sign: str
    item: str
    serials: str
    hours: int | None
    note: str
    replaced: str
    replaced_item: str
    replaced_serials: str
    replaced_on: str
    claim: str
    steps: list[StepTold]
    photos: list[str]


class Remembered(TypedDict):
    """One fixture."""

    group: str
    position: int
    code: str
    floor_name: str
    room_name: str
    mark: str
    access: str
    state: str
    fitted_on: str
    firm: str
    call: str
    release: int | None
    items: list[ItemNow] | None
    takes_no_lamps: bool
    wiring: list[WireTold]
    wired_as_released: bool
    emergency: bool
    hours_year: int | None
    failures: list[FailureTold]
    cautions: list[str]
    removed: bool


__all__ = ["NOT_NOTED", "FailureTold", "ItemNow", "Remembered", "StepTold", "TakenOut", "WireTold"]
