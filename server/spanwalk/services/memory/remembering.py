"""What is fitted in a fixture years later: gathered from the last word on it, the release it was done under, and the catalogue."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple, cast

from sqlalchemy.orm import Session

from spanwalk.rules.installing.as_fitted import (
    ACCESSORY,
    FittedItem,
    fitted_items,
    released_at,
    spares_used,
)
from spanwalk.rules.installing.last_word import last_words
from spanwalk.rules.installing.noted import Noted, emergency_positions, gone_since, is_withdrawn, noted_in
from spanwalk.rules.installing.replaced import FROM_SPARES, Piece, by_code, pieces_of
from spanwalk.rules.money.warranty import days_left, warranty_ends
from spanwalk.rules.record_types import CatalogueItemView, ClaimStepView, FailureView, GroupView
from spanwalk.rules.survey import Survey, facet, mark_of, name_of_room, newest_conversions, positions_of
from spanwalk.services.days import day_of, zone_of
from spanwalk.services.handover.told import DONE
from spanwalk.services.labels.labels import bindings
from spanwalk.services.memory.gathering import records_of, records_of_all, records_of_spares
from spanwalk.services.memory.told import NOT_NOTED, FailureTold, ItemNow, Remembered, StepTold, WireTold
from spanwalk.services.refusals import NotThere
from spanwalk.services.releases.sums import releases_of

NOT_SEEN = "not-seen"
CAUTIONS = ("memory.caution.isolate", "memory.caution.at-height")
CAUTION_EMERGENCY = "memory.caution.emergency"
Wired = Mapping[str, object]


@dataclass(frozen=True)
class _Around:
    """What all fixtures of a group have in common, and the failures in it."""

    fixtures: int
    floor_name: str
    room_name: str
    mark: str
    access: str
    firm: str
    call: str
    hours_year: int | None
    failures: Sequence[FailureView]
    is_live: bool

    def released(self, here: Noted, position: int) -> list[FittedItem]:
        """What the release that a fixture was done under wants in it."""
        return released_at(here.conversion, position, self.fixtures)


class _Promised(NamedTuple):
    """What the catalogue says of an item that was fitted on a day, and the spares of it."""

    name: str
    years: float | None
    ends: str | None
    days_left: int | None
    spares: int | None
    replaced_by: str
    recalled: str


@dataclass(frozen=True)
class Memory:
    """The records of a site that its fixtures are remembered by, looked at once; `zone` is its time zone."""

    survey: Survey
    catalogue: Mapping[str, CatalogueItemView]
    spares: Mapping[str, int]
    evidence: Mapping[str, Sequence[str]]
    today: date
    zone: str = ""
    _promised: dict[tuple[str, str], _Promised] = field(default_factory=dict, init=False)
    _wired: dict[str, list[WireTold]] = field(default_factory=dict, init=False)

    def fixtures(self) -> Iterator[Remembered]:
        """All fixtures that are done, in the order of floors, rooms and kinds."""
        conversions = newest_conversions(self.survey)
        labels = bindings(self.survey)
        for group in self.survey.of_type("group"):
            newest = conversions.get(group["id"])
            newest = None if newest is None or is_withdrawn(self.survey, newest) else newest
            around = self._around(group)
            for position, here in noted_in(self.survey, group, newest).items():
                label = labels.get((group["id"], position))
                yield self._fixture(group, around, position, str(facet(label, "identity").get("code", "")), here)

    def one(self, group_id: str, position: int) -> Remembered:
        """One fixture; also one that is gone since it was converted, or whose group was removed.

        Raises
        ------
        NotThere
            There is no such fixture.
        """
        group = self.survey.by_id.get(group_id)
        if group is None or group["type"] != "group":
            raise NotThere("memory.no-fixture")
        newest = newest_conversions(self.survey).get(group_id)
        newest = None if newest is None or is_withdrawn(self.survey, newest) else newest
        group = cast("GroupView", group)
        here = {**noted_in(self.survey, group, newest), **gone_since(self.survey, group, newest)}.get(position)
        if here is None:
            raise NotThere("memory.no-fixture")
        label = bindings(self.survey).get((group_id, position))
        around, code = self._around(group), str(facet(label, "identity").get("code", ""))
        return self._fixture(group, around, position, code, here)

    def _around(self, group: GroupView) -> _Around:
        survey = self.survey
        room, floor, notice = survey.room_of(group), survey.floor_of(group), facet(survey.site(), "notice")
        return _Around(
            fixtures=len(positions_of(group)),
            floor_name=str(facet(floor, "identity").get("name", "")),
            room_name=name_of_room(room),
            mark=mark_of(survey.kind_of(group)),
            access=str(facet(room, "ceiling").get("access") or facet(floor, "ceiling").get("access") or NOT_SEEN),
            firm=str(notice.get("firm") or ""),
            call=str(notice.get("call") or ""),
            hours_year=facet(room, "hours").get("hours_year") or facet(floor, "hours").get("hours_year"),
            failures=survey.children(group, "failure"),
            is_live=survey.is_live(group),
        )

    def _fixture(self, group: GroupView, around: _Around, position: int, code: str, here: Noted) -> Remembered:
        said = facet(here.done, "identity")
        failures = self._failures(around, position)
        emergency = position in emergency_positions(here.card)
        fitted_on = day_of(said.get("noted_at"), self.zone)
        items = self._items(around, position, here, fitted_on)
        done = here.done is not None
        return {
            "group": group["id"],
            "position": position,
            "code": code,
            "floor_name": around.floor_name,
            "room_name": around.room_name,
            "mark": around.mark,
            "access": around.access,
            "state": DONE if done else NOT_NOTED,
            "fitted_on": fitted_on,
            "firm": around.firm,
            "call": around.call,
            "release": int(facet(here.conversion, "identity").get("number") or 0) or None if done else None,
            "items": items,
            "takes_no_lamps": done,
            "wiring": self._wiring(here) if done else [],
            "wired_as_released": items is not None and not _differs(around.released(here, position), items),
            "emergency": emergency,
            "hours_year": around.hours_year,
            "failures": failures,
            "cautions": [*CAUTIONS, *([CAUTION_EMERGENCY] if emergency else [])],
            "removed": not around.is_live or position in facet(group, "count").get("gone", []),
        }

    def _items(self, around: _Around, position: int, here: Noted, fitted_on: str) -> list[ItemNow] | None:
        """What is in it: as noted, and where it was left open as released; what replaced a part since stands beside it."""
        if here.done is None:
            return None
        released = around.released(here, position)
        noted = fitted_items(here.done, released)
        told = released if noted is None and not facet(here.done, "identity").get("fitted") else noted
        if told is None:
            return None
        failures = (each for each in around.failures if facet(each, "identity").get("position") == position)
        return [self._item(each, fitted_on) for each in pieces_of(told, failures, self.catalogue)]

    def _item(self, piece: Piece, first_day: str) -> ItemNow:
        item, fitted_on = piece.item, piece.put_in_on if piece.put_in_by else first_day
        promised = self._promised_of(item["code"], fitted_on)
        return {
            "kind": item["kind"],
            "code": item["code"],
            "name": promised.name,
            "number": item["number"],
            "setting_ma": item.get("setting_ma"),
            "serials": list(item.get("serials") or []),
            "fitted_on": fitted_on,
            "warranty_years": promised.years,
            "warranty_ends": promised.ends,
            "warranty_days_left": promised.days_left,
            "spares": promised.spares,
            "replaced_by": promised.replaced_by,
            "recalled": promised.recalled,
            "put_in_by": piece.put_in_by,
            "taken_out": [{"failure": failure, "on": on} for failure, on in piece.taken_out],
        }

    def _promised_of(self, code: str, fitted_on: str) -> _Promised:
        """Worked out once for an item and a day: a building has few of both."""
        if (code, fitted_on) not in self._promised:
            row, began = self.catalogue.get(code), _day(fitted_on)
            years = facet(row, "supply").get("warranty_years")
            ends = warranty_ends(began, float(years)) if years and began is not None else None
            self._promised[code, fitted_on] = _Promised(
                name=str(facet(row, "identity").get("name") or ""),
                years=float(years) if years else None,
                ends=ends.isoformat() if ends else None,
                days_left=days_left(ends, self.today) if ends else None,
                spares=self.spares.get(code),
                replaced_by=str(facet(row, "retired").get("replaced_by") or ""),
                recalled=str(facet(row, "recall").get("reason") or ""),
            )
        return self._promised[code, fitted_on]

    def _wiring(self, here: Noted) -> list[WireTold]:
        """As the conversion has it, which all fixtures of a group share."""
        id = here.conversion["id"] if here.conversion is not None else ""
        if id not in self._wired:
            self._wired[id] = _wiring(here)
        return self._wired[id]

    def _failures(self, around: _Around, position: int) -> list[FailureTold]:
        told = [each for each in around.failures if facet(each, "identity").get("position") == position]
        return sorted((self._failure(each) for each in told), key=lambda each: each["on"], reverse=True)

    def _failure(self, failure: FailureView) -> FailureTold:
        said, replaced = facet(failure, "identity"), facet(failure, "replaced")
        return {
            "id": failure["id"],
            "on": day_of(said.get("noted_at"), self.zone),
            "sign": str(said.get("sign") or ""),
            "item": str(said.get("item") or ""),
            "serials": str(said.get("serials") or ""),
            "hours": said.get("hours"),
            "note": str(said.get("note") or ""),
            "replaced": str(replaced.get("how") or ""),
            "replaced_item": str(replaced.get("item") or ""),
            "replaced_serials": str(replaced.get("serials") or ""),
            "replaced_on": str(replaced.get("on") or ""),
            "claim": str(facet(failure, "claim").get("state") or ""),
            "steps": self._steps(failure),
            "photos": list(self.evidence.get(failure["id"], ())),
        }

    def _steps(self, failure: FailureView) -> list[StepTold]:
        """Steps of a failure's claim in the order of their days; before there were steps, a claim had one state."""
        steps = [
            _step(each["id"], facet(each, "identity"))
            for each in sorted(self.survey.children(failure, "claim_step"), key=_step_order)
        ]
        first = facet(failure, "claim")
        return [*([_step(failure["id"], first)] if first.get("state") else []), *steps]


def left_of(item: ItemNow) -> int:
    """How many pieces of an item were not taken out again."""
    return item["number"] - len(item["taken_out"])


def _step_order(step: ClaimStepView) -> tuple[str, str, str]:
    said = facet(step, "identity")
    return str(said.get("on") or ""), str(said.get("noted_at") or ""), step["id"]


def _step(step_id: str, said: Mapping[str, object]) -> StepTold:
    return {
        "id": step_id,
        "state": str(said.get("state") or ""),
        "on": str(said.get("on") or ""),
        "by": str(said.get("by") or ""),
        "reference": str(said.get("reference") or ""),
        "note": str(said.get("note") or ""),
        "attachment": str(said.get("attachment") or ""),
    }


def _differs(released: Sequence[FittedItem], items: Sequence[ItemNow]) -> bool:
    """Whether other bars or drivers are in a fixture than were released, or one that is set otherwise: then its wiring is not known."""
    wanted = Counter({each["code"]: each["number"] for each in released if each["kind"] != ACCESSORY})
    there: Counter[str] = Counter()
    for item in items:
        if item["kind"] != ACCESSORY:
            there[item["code"]] += left_of(item)
    settings = {each["code"]: each.get("setting_ma") for each in released}
    reset = any(
        None not in (item["setting_ma"], settings.get(item["code"])) and item["setting_ma"] != settings[item["code"]]
        for item in items
        if left_of(item) > 0
    )
    return reset or wanted != +there


def _wiring(here: Noted) -> list[WireTold]:
    found: list[WireTold] = []
    for driver in cast("Sequence[Wired]", here.card.get("wiring") or ()):
        for output in cast("Sequence[Wired]", driver.get("outputs") or ()):
            bars = cast("Sequence[Wired]", output.get("bars") or ())
            found.append(
                {
                    "driver": f"{driver.get('driver', '')} ({driver.get('setting_ma', '')} mA)",
                    "output": cast("int", output.get("output", 0)),
                    "joined": str(output.get("joined") or ""),
                    "bars": [f"{each.get('bar', '')}: {each.get('row', '')}" for each in bars],
                }
            )
    return found


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def memory_of(
    session: Session, site_id: str, today: date, groups: Collection[str] | None = None, seen_on_it: bool = True
) -> Memory:
    """The memory of a site, or of some of its groups.

    Parameters
    ----------
    session : Session
        An open transaction.
    site_id : str
        The site.
    today : date
        The day by which warranties are counted.
    groups : collection of str, optional
        Ids of the groups of which fixtures are asked for; None: of all.
    seen_on_it : bool
        Whether labels and photos of all are wanted too.
    """
    records = records_of_all(session, site_id, seen_on_it) if groups is None else records_of(session, site_id, groups)
    survey = Survey(records)
    catalogue = by_code(survey.of_type("catalogue_item"))
    evidence: dict[str, list[str]] = {}
    for photo in survey.of_type("photo"):
        said = facet(photo, "identity")
        evidence.setdefault(str(said.get("subject")), []).append(str(said.get("sha256")))
    return Memory(
        survey,
        catalogue,
        spares_in(Survey(records_of_spares(session, site_id))),
        evidence,
        today,
        zone_of(survey.site()),
    )


def spares_in(survey: Survey) -> dict[str, int]:
    """Spares by code: what releases that stand ordered beyond what the newest of them fits, less what was used since."""
    ordered: dict[str, int] = {}
    fits: dict[str, int] = {}
    for release in releases_of(survey):
        if release.is_withdrawn or not release.whole:
            continue
        fits = {line["code"]: line["fitted"] for line in release.whole.get("order", [])}
        for line in release.whole.get("order", []):
            ordered[line["code"]] = ordered.get(line["code"], 0) + line["order"]
    used = _used(survey)
    return {code: number - fits.get(code, 0) - used.get(code, 0) for code, number in ordered.items()}


def _used(survey: Survey) -> dict[str, int]:
    used: dict[str, int] = {}
    for group in survey.of_type("group"):
        for code, number in spares_used(last_words(survey.children(group, "installation")).values()).items():
            used[code] = used.get(code, 0) + number
    for each in survey.of_type("failure"):
        replaced = facet(each, "replaced")
        if replaced.get("how") == FROM_SPARES and replaced.get("item"):
            used[str(replaced["item"])] = used.get(str(replaced["item"]), 0) + int(replaced.get("number") or 1)
    return used


class Days(NamedTuple):
    """From which to which day something was fitted, as 2026-03-01; '' of one: however early, or late."""

    first: str = ""
    last: str = ""

    def may_have(self, day: str) -> bool:
        """Whether a day is one of them; what was fitted on a day that nobody noted may have been.

        >>> [Days("2026-03-01", "2026-03-31").may_have(day) for day in ("2026-02-28", "2026-03-01", "2026-04-01", "")]
        [False, True, False, True]
        """
        return not day or (self.first <= day and (not self.last or day <= self.last))


ANY_DAY = Days()


def with_item(fixtures: Iterable[Remembered], code: str, serial: str, days: Days = ANY_DAY) -> list[Remembered]:
    """Fixtures that an item, or a batch or serial number, is in: exactly these, letters large or small.

    Parameters
    ----------
    fixtures : iterable of Remembered
        All that are done.
    code : str
        The item's code; '': whatever item.
    serial : str
        The batch or serial number; '': whatever number.
    days : Days
        When the item was fitted.
    """
    return [
        each
        for each in fixtures
        if any(
            days.may_have(item["fitted_on"])
            and (not code or item["code"].casefold() == code.casefold())
            and (not serial or serial.casefold() in (one.casefold() for one in item["serials"]))
            for item in each["items"] or ()
        )
    ]


def may_have(fixtures: Iterable[Remembered], codes: Collection[str], days: Days = ANY_DAY) -> list[Remembered]:
    """Fixtures that a batch may be in, as nobody noted enough to tell.

    Parameters
    ----------
    fixtures : iterable of Remembered
        All that are done.
    codes : collection of str
        Codes of the items that are of the batch, letters large or small.
    days : Days
        When the item was fitted; of what was said in words only, the fixture.
    """
    wanted = {code.casefold() for code in codes}
    return [
        each
        for each in fixtures
        if each["state"] == DONE
        and (
            (each["items"] is None and days.may_have(each["fitted_on"]))
            or any(
                days.may_have(item["fitted_on"])
                and item["code"].casefold() in wanted
                and not item["serials"]
                and left_of(item) > 0
                for item in each["items"] or ()
            )
        )
    ]
