"""Power density and energy, space by space; and carbon with its factor and where that is from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.now import Room, now
from spanwalk.rules.light import light
from spanwalk.rules.record_types import RoomView
from spanwalk.rules.record_view import Row as ReferenceRow
from spanwalk.rules.survey import facet
from spanwalk.services.handover.told import RoomTold
from spanwalk.services.proof.gathering import Proof, body_of
from spanwalk.services.proof.tables import Pack, Row, Sources, table
from spanwalk.words import choice_text, say

FT2_PER_M2 = 10.7639104
SPACE_HEADS = (
    "floor", "room", "space", "area-m2", "area-ft2", "watts_now", "watts_then", "w-m2", "w-ft2-now", "w-ft2", "limit-w-ft2",
    "within", "source", "kwh_now", "kwh_then",
)  # fmt: skip


def density_pack(proof: Proof) -> Pack:
    """Power density and energy of each room in which something is released."""
    sources = Sources()
    spaces = table("spaces", SPACE_HEADS, [_space(proof, room, sources) for room in proof.report.rooms])
    notes = tuple(say(f"proof.density.note.{code}") for code in ("basis", "others", "limit"))
    code = say("proof.density.note.code", {"code": _code(proof)})
    return Pack("density", say("proof.density"), (*notes, code), (spaces, sources.table()))


def _space(proof: Proof, told: RoomTold, sources: Sources) -> Row:
    room = proof.room(told.id)
    bodies = _bodies(proof, room)
    before, after = _watts(proof, bodies)
    size = next((found for each in bodies.values() if (found := now(each).room) is not None), None)
    space, limit = _limit(proof, bodies, size)
    area = None if size is None else size.area_m2
    density = None if area is None or after is None else light.power_density_w_ft2(after, area)
    within = None if density is None or limit is None else round(density, 2) <= round(limit, 2)
    energy = [group.energy for group in told.groups if group.energy is not None]
    row: Row = [told.floor_name, told.name, choice_text(str(facet(room, "identity").get("space_type") or "not-seen"))]
    row += [area, None if area is None else area * FT2_PER_M2, before, after]
    row += [None if area is None or after is None else after / area]
    row += [None if area is None or before is None else light.power_density_w_ft2(before, area), density, limit, within]
    source = [space.get("w_ft2_source"), space.get("edition"), space.get("w_ft2_how_known")]
    row.append(sources.key(*source) if space else "")
    return [*row, _sum(each.kwh_now for each in energy), _sum(each.kwh_then for each in energy)]


def _bodies(proof: Proof, room: RoomView) -> dict[str, Body]:
    """The groups of a room as the plan sees them."""
    groups = proof.survey.children(room, "group")
    found = {each["id"]: body_of(proof.inputs, each["id"]) for each in groups}
    return {group: body for group, body in found.items() if body is not None}


def _watts(proof: Proof, bodies: Mapping[str, Body]) -> tuple[float | None, float | None]:
    """Watts of all that lights a room, before and after: of converted groups as released, of others as they are."""
    before: list[float | None] = []
    after: list[float | None] = []
    for group, body in bodies.items():
        basis = proof.groups.get(group)
        if basis is None:
            here = now(body).watts
            before.append(here)
            after.append(here)
        else:
            before.append(basis.frozen.get("watts_now"))
            after.append(basis.frozen.get("watts_then"))
    return _sum(before), _sum(after)


def _sum(figures: Iterable[float | None]) -> float | None:
    """Figures together, unrounded; None as soon as one is not known."""
    told = list(figures)
    known = [each for each in told if each is not None]
    return sum(known) if known and len(known) == len(told) else None


def _code(proof: Proof) -> str:
    return str(facet(proof.survey.site(), "settings").get("power_density_code") or "none")


def _limit(proof: Proof, bodies: Mapping[str, Body], size: Room | None) -> tuple[ReferenceRow, float | None]:
    """The row of the space and its limit [W/ft²] by the code of the site; above the row's cavity ratio it rises."""
    row = next((body.space_row for body in bodies.values() if body.space_row), None) or {}
    limit = (row.get("w_ft2") or {}).get(_code(proof))
    if limit is None:
        return {}, None
    if size is not None and size.cavity_ratio > row.get("rcr_threshold", float("inf")):
        limit *= 1 + proof.tables["spaces"]["rcr_allowance_pct"] / 100
    return row, float(limit)


def carbon_pack(proof: Proof) -> Pack:
    """Emission that is saved each year, group by group, with the factor and where it is from."""
    rows: list[Row] = []
    for room in proof.report.rooms:
        for group in room.groups:
            basis = proof.groups.get(group.id)
            if basis is None:
                continue
            energy = basis.frozen.get("energy")
            kwh = None if energy is None else energy.get("kwh_saved")
            heating = None if energy is None else energy.get("heating_kwh")
            kg = None if energy is None else energy.get("emission_saved_kg")
            rows.append([room.floor_name, room.name, group.mark, group.release, kwh, heating, kg, _factor(kwh, kg)])
    sums = proof.report.sums
    whole: list[Row] = [[say("proof.together"), sums.emission_saved_kg if sums is not None else None]]
    return Pack(
        "carbon",
        say("proof.carbon"),
        tuple(say(f"proof.carbon.note.{code}") for code in ("basis", "market")),
        (
            table("carbon-sum", ("figure", "kg-year"), whole),
            table("factors", ("figure", "value", "source", "edition", "how_known"), _factors(proof)),
            table(
                "carbon",
                ("floor", "room", "kind", "release", "kwh-saved", "heating-kwh", "kg-year", "kg-per-kwh"),
                rows,
            ),
        ),
    )


def _factor(kwh: float | None, kg: float | None) -> float | None:
    """The factor as it comes out of what was frozen [kg/kWh]."""
    return None if not kwh or kg is None else kg / kwh


def _factors(proof: Proof) -> list[Row]:
    """The factors of the site as they are now, with the row of the table that has the same figure."""
    rows: list[Row] = []
    for name in ("emission_kg_per_kwh", "heating_kg_per_kwh"):
        value = proof.money.get(name)
        if value is None:
            continue
        emissions = proof.tables.get("emissions", {}).get("rows", ())
        row = next((each for each in emissions if each["kg_per_kwh"] == value), None)
        if name != "emission_kg_per_kwh" or row is None:
            rows.append([say(f"proof.factor.{name}"), float(value), say("proof.factor.entered"), "", ""])
        else:
            source = f"{row['grid']}: {row['source']}"
            rows.append([say(f"proof.factor.{name}"), float(value), source, row["edition"], row["how_known"]])
    return rows
