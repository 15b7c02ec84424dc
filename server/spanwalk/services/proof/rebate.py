"""The rebate pack: per fixture watts before and after with their table, hours and how they are known, listings, proofs.

No programme's form: the firm chooses the columns that its programme asks for.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from spanwalk.rules.survey import facet
from spanwalk.services.files.sheets_out import OutTable
from spanwalk.services.handover.told import DONE, FixtureTold, GroupTold, RoomTold
from spanwalk.services.proof.gathering import GroupBasis, Proof
from spanwalk.services.proof.tables import Pack, Row, Sources, head, table
from spanwalk.services.text.neutral import Out
from spanwalk.words import choice_text, say

ITEM = re.compile(r"(\d+) × ([^,;()]+)")
ALWAYS = ("floor", "room", "kind", "fixture", "state")
FIELDS = (
    "existing-watts", "existing-source", "new-watts", "saved", "hours", "hours-known", "items", "listing", "labels",
    "day", "photos",
)  # fmt: skip
"""Columns that a firm chooses from, in their order; without a choice all of them."""


@dataclass(frozen=True)
class _Line:
    """One fixture with its group and room."""

    proof: Proof
    room: RoomTold
    group: GroupTold
    fixture: FixtureTold
    basis: GroupBasis | None
    sources: Sources

    def each(self, watts: float | None) -> float | None:
        """A fixture's share of its group's figure, which is of all fixtures that were released; of one that no release has, none."""
        if watts is None or self.fixture.release is None:
            return None
        return watts / max(1, released_of(self.group, self.basis))


def released_of(group: GroupTold, basis: GroupBasis | None) -> int:
    """Fixtures that a group's watts, lamps and energy are of: those that were released; where nobody kept how many, those counted now."""
    released = None if basis is None else basis.frozen.get("fixtures")
    return int(released or len(group.fixtures))


COLUMNS: Mapping[str, Callable[[_Line], Out]] = {
    "existing-watts": lambda line: line.each(line.group.energy.watts_now if line.group.energy else None),
    "existing-source": lambda line: source_key(line.basis, line.sources),
    "new-watts": lambda line: line.each(line.group.energy.watts_then if line.group.energy else None),
    "saved": lambda line: _saved(line),
    "hours": lambda line: hours_of(line.basis, line.sources)[0],
    "hours-known": lambda line: hours_of(line.basis, line.sources)[1],
    "items": lambda line: line.fixture.fitted,
    "listing": lambda line: ", ".join(listings_in(line.proof, line.fixture.fitted)),
    "labels": lambda line: line.fixture.code,
    "day": lambda line: line.fixture.day,
    "photos": lambda line: sum(each.position == line.fixture.position for each in line.group.photos),
}


def rebate_pack(proof: Proof, fields: tuple[str, ...] = ()) -> Pack:
    """The pack.

    Parameters
    ----------
    proof : Proof
        What it tells.
    fields : tuple of str
        Columns of the list of fixtures; none: those that the site has chosen, or all.
    """
    chosen = fields or tuple(facet(proof.survey.site(), "proof").get("rebate_fields") or ()) or FIELDS
    shown = [name for name in FIELDS if name in chosen]
    sources = Sources()
    lines = list(_lines(proof, sources))
    groups = _groups(proof, sources)
    fixtures = table("fixtures", [*ALWAYS, *shown], [_fixture(line, shown) for line in lines])
    return Pack(
        "rebate",
        say("proof.rebate"),
        tuple(say(f"proof.rebate.note.{code}") for code in ("basis", "counts", "form", "inspection")),
        (
            _totals(proof, lines),
            groups,
            sources.table(),
            fixtures,
            _items(proof, lines),
            _before(proof),
            _after(lines),
            _photos(proof),
            attachments_table(proof),
        ),
    )


def _lines(proof: Proof, sources: Sources) -> Iterator[_Line]:
    for room in proof.report.rooms:
        for group in room.groups:
            for fixture in group.fixtures:
                yield _Line(proof, room, group, fixture, proof.groups.get(group.id), sources)


def _fixture(line: _Line, shown: list[str]) -> Row:
    return [*_where(line), *(COLUMNS[name](line) for name in shown)]


def _where(line: _Line) -> Row:
    state = say(f"handover-report.state.{line.fixture.state}")
    return [line.room.floor_name, line.room.name, line.group.mark, line.fixture.position, state]


def _saved(line: _Line) -> float | None:
    energy = line.group.energy
    if energy is None or energy.watts_now is None or energy.watts_then is None:
        return None
    return line.each(energy.watts_now - energy.watts_then)


def source_key(basis: GroupBasis | None, sources: Sources) -> str:
    """The key of the table and edition of the watts before."""
    row = None if basis is None else basis.watts_row
    if row is None:
        return sources.key(say("proof.source.not-held"))
    return sources.key(row.get("source"), row.get("edition"), row.get("how_known"))


def hours_of(basis: GroupBasis | None, sources: Sources) -> tuple[float | None, str]:
    """Hours a year and how they are known: of the room as it was released, else of the profile of its space."""
    if basis is None:
        return None, ""
    said = (basis.facts.get("room") or {}).get("hours") or {}
    if "hours_year" in said:
        return float(said["hours_year"]), choice_text(str(said.get("how_known") or "assumed"))
    row = basis.hours_space or {}
    if row.get("hours_year") is None:
        return None, say("proof.hours.not-known")
    key = sources.key(row.get("hours_source"), how_known=row.get("hours_how_known"))
    return float(row["hours_year"]), say("proof.hours.space", {"key": key})


def listings_in(proof: Proof, items: str) -> list[str]:
    """Listing numbers of the items in a line of items, each once."""
    known = proof.listings
    return list(dict.fromkeys(known[code.strip()] for _, code in ITEM.findall(items) if code.strip() in known))


def _totals(proof: Proof, lines: list[_Line]) -> OutTable:
    report, sums = proof.report, proof.report.sums
    done = sum(line.fixture.state == DONE for line in lines)
    with_watts = [group for room in report.rooms for group in room.groups if group.energy is not None]
    released = sum(released_of(group, proof.groups.get(group.id)) for group in with_watts)
    rows: list[Row] = [
        [head("fixtures-released"), released],
        [head("fixtures-now"), len(lines)],
        [head("done"), done],
    ]
    frozen = [group.energy for group in with_watts]
    for name in ("watts_now", "watts_then"):
        told = [getattr(each, name) for each in frozen]
        rows.append([head(name), None if None in told else sum(told)])
    if sums is not None:
        rows += [[head("kw_saved"), sums.kw_saved], [head("kwh_now"), sums.kwh_now], [head("kwh_then"), sums.kwh_then]]
    customer = facet(proof.survey.site(), "customer")
    rows += [
        [head(name), str(customer.get(name) or "")]
        for name in ("customer", "address", "utility_account", "utility_meter")
    ]
    return table("totals", ("figure", "value"), rows)


GROUP_HEADS = (
    "floor", "room", "kind", "fixtures-released", "fixtures-now", "done", "lamps", "lamps-working", "watts_now", "table", "assumed",
    "watts_then", "hours", "hours-known", "kwh_now", "kwh_then", "kw_saved", "release",
)  # fmt: skip


def _groups(proof: Proof, sources: Sources) -> OutTable:
    rows = [
        _group(room, group, proof.groups.get(group.id), sources)
        for room in proof.report.rooms
        for group in room.groups
        if group.energy is not None
    ]
    return table("groups", GROUP_HEADS, rows, [say("proof.groups-count")])


def _group(room: RoomTold, group: GroupTold, basis: GroupBasis | None, sources: Sources) -> Row:
    energy, row = group.energy, (basis.watts_row if basis else None) or {}
    assert energy is not None
    lamps, working = lamps_of(basis)
    current = basis.current if basis is not None and row else None
    return [
        room.floor_name, room.name, group.mark, released_of(group, basis), len(group.fixtures),
        sum(each.state == DONE for each in group.fixtures), lamps, working, energy.watts_now,
        source_key(basis, sources), ", ".join(map(choice_text, current.assumed)) if current is not None else "",
        energy.watts_then, *hours_of(basis, sources), energy.kwh_now, energy.kwh_then, energy.kw_saved, group.release,
    ]  # fmt: skip


def lamps_of(basis: GroupBasis | None) -> tuple[int | None, int | None]:
    """Lamps of a group as it was released, and how many of them burned."""
    if basis is None:
        return None, None
    lamps = (basis.facts.get("kind") or {}).get("lamps") or {}
    count = (basis.facts.get("group") or {}).get("count") or {}
    if "rows" not in lamps or "count" not in count:
        return None, None
    every = int(lamps["rows"]) * int(lamps.get("lamps_end_to_end", 1)) * int(count["count"])
    return every, max(0, every - int(count.get("dark_lamps") or 0))


def _items(proof: Proof, lines: list[_Line]) -> OutTable:
    fitted: Counter[str] = Counter()
    for line in lines:
        if line.fixture.state == DONE:
            for number, code in ITEM.findall(line.fixture.fitted):
                fitted[code.strip()] += int(number)
    listings = proof.listings
    rows: list[Row] = [
        [code, number, listings.get(code) or say("proof.no-listing")] for code, number in sorted(fitted.items())
    ]
    return table("items", ("item", "number", "listing"), rows)


def _before(proof: Proof) -> OutTable:
    """The sheet for an inspection before the work: what was surveyed, and room to write what is seen."""
    rows: list[Row] = []
    for room in proof.report.rooms:
        for group in room.groups:
            basis = proof.groups.get(group.id)
            lamps, working = lamps_of(basis)
            kind = (basis.facts.get("kind") or {}).get("lamps") or {} if basis is not None else {}
            what = " ".join(choice_text(str(kind[name])) for name in ("diameter", "nominal_ft") if kind.get(name))
            days = sorted(each.day for each in group.photos if not each.after and each.day)
            photos = sum(not each.after for each in group.photos)
            fixtures = released_of(group, basis)
            row: Row = [room.floor_name, room.name, group.mark, group.title, fixtures, what, lamps, working]
            rows.append([*row, photos, days[0] if days else "", "", ""])
    heads = ("floor", "room", "kind", "title", "fixtures-released", "lamp", "lamps", "lamps-working", "photos-before")
    return table("pre-inspection", (*heads, "day-first", "seen", "remark"), rows)


def _after(lines: list[_Line]) -> OutTable:
    """The sheet for an inspection after the work: what was fitted, and room to write what is seen."""
    rows: list[Row] = [
        [*_where(line), line.fixture.code, line.fixture.fitted, line.fixture.setting_ma, line.fixture.day, "", ""]
        for line in lines
    ]
    return table("post-inspection", (*ALWAYS, "labels", "items", "setting", "day", "seen", "remark"), rows)


def _photos(proof: Proof) -> OutTable:
    rows: list[Row] = [
        [
            room.floor_name, room.name, group.mark, each.position, choice_text("after" if each.after else "before"),
            each.day, each.caption, each.arrived, each.sha256,
        ]
        for room in proof.report.rooms
        for group in room.groups
        for each in group.photos
    ]  # fmt: skip
    return table("photos", ("floor", "room", "kind", "fixture", "when", "day", "caption", "arrived", "sha256"), rows)


def attachments_table(proof: Proof) -> OutTable:
    """Invoices and certificates that stand with the site, with the SHA-256 of each file."""
    rows: list[Row] = []
    for each in proof.attachments:
        said, about = facet(each, "identity"), facet(each, "about")
        row: Row = [choice_text(said["purpose"]), said["name"], about.get("number"), about.get("supplier")]
        rows.append([*row, about.get("dated"), said["sha256"] in proof.arrived, said["sha256"]])
    return table("attachments", ("what", "name", "its-number", "supplier", "dated", "arrived", "sha256"), rows)
