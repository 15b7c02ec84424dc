"""Which figures that the site set in place of the tables' a plan rests on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.now import Now, lamps_on
from spanwalk.rules.arrangements.plan_types import Density, WantedFacts
from spanwalk.rules.figures import set_in
from spanwalk.rules.gear.driver_in_body import NOT_SEEN
from spanwalk.rules.gear.waste import lamp_called
from spanwalk.rules.money import energy
from spanwalk.rules.own_rows import OWN
from spanwalk.rules.record_view import Row
from spanwalk.rules.said import Facts, Said

Note = Mapping[str, str]


def used_today(body: Body, current: Now) -> tuple[Note, ...]:
    """Figures of the site that a group's watts and light today rest on.

    Parameters
    ----------
    body : Body
        The group.
    current : Now
        As it is.
    """
    return _each_once(_today(body, current))


def used(body: Body, current: Now, wanted: Facts, density: Density | None) -> list[Said]:
    """Every figure of the site that a group's plan rests on, as code and facts of a sentence.

    Parameters
    ----------
    body : Body
        The group.
    current : Now
        As it is.
    wanted : mapping
        Facts of the light that is wanted of it: `standard` where a target counts.
    density : mapping or None
        Its room's power density against the `code` chosen, if it was reckoned.
    """
    notes = [*_today(body, current), *_of_space(body, wanted, density), *_of_controls(body)]
    if "standard" in wanted or density is not None:
        notes += body.others.site_values
    set_here: list[Said] = [{"code": "figures.site-value", "facts": dict(note)} for note in _each_once(notes)]
    own = [row[OWN] for row in rows_used(body, current, wanted) if OWN in row]
    added: list[Said] = [{"code": "figures.own-row", "facts": dict(each)} for each in own]
    return [*set_here, *added]


def rows_used(body: Body, current: Now, wanted: Facts) -> list[Row]:
    """Rows of the tables that a group's watts, light and hours rest on."""
    rows = [row for row in (current.ballast_row, current.lumens_row, current.body_row) if row is not None]
    hours = body.of_room("hours").get("hours_year") is None
    rests = body.space_row is not None and (hours or "standard" in wanted)
    return [*rows, *([body.space_row] if rests and body.space_row is not None else [])]


def from_memory(body: Body, current: Now, wanted: WantedFacts, density: Density | None) -> list[Said]:
    """Every figure that a group's plan rests on and that nobody read in a source: what it is, its row, and where it is said to be from.

    What the site set itself is its own word and not among them.
    """
    return [
        {"code": "figures.from-memory", "facts": {"what": what, "row": row, "source": source}}
        for what, row, source in dict.fromkeys(_remembered(body, current, wanted, density))
    ]


def figure_named(said: Said) -> str:
    """One figure from memory in a line, by which a manager says that it was seen: what it is, its row, its source.

    >>> figure_named({"code": "figures.from-memory", "facts": {"what": "ballast factor", "row": "T8 4 ft 32 W", "source": "a list"}})
    'ballast factor | T8 4 ft 32 W | a list'
    """
    return " | ".join(str(said["facts"][name]) for name in ("what", "row", "source"))


def _remembered(
    body: Body, current: Now, wanted: WantedFacts, density: Density | None
) -> Iterator[tuple[str, str, str]]:
    lamp, ballast, light = lamp_called(body.of_kind("lamps")), current.ballast_row, current.lumens_row
    if ballast is not None:
        parts = energy.lamps_looked_up(ballast, *lamps_on(body, current.ballasts_each))
        watts = [f"watts_by_lamps/{each}" for each in parts]
        if is_from_memory(ballast["how_known"]) and not _all_set(ballast, watts):
            yield "watts of the lamps", f"{lamp} {ballast['lamp_w']:g} W", ballast["source"]
        of_factor = {name: ballast.get(f"ballast_factor_{name}", ballast[name]) for name in ("how_known", "source")}
        if is_from_memory(of_factor["how_known"]) and not _all_set(ballast, ["ballast_factor"]):
            yield "ballast factor", f"{lamp} {ballast['lamp_w']:g} W", of_factor["source"]
    if light is not None and is_from_memory(light["how_known"]) and not _all_set(light, ["initial_lm", "mean_share"]):
        yield "light of the lamps", f"{lamp} {light['lamp_w']:g} W", light["source"]
    if current.body_row is not None and is_from_memory(current.body_row["how_known"]):
        yield "light out of the body", str(current.body_row["body"]), current.body_row["source"]
    if "standard" in wanted and is_from_memory(wanted["how_known"]):
        yield "light wanted", wanted["standard_row"], wanted["source"]
    if density is not None and is_from_memory(density["alteration_how_known"]):
        yield "what of an alteration the code looks at", density["name"], f"section {density['section']}"
    if density is not None and is_from_memory(density["how_known"]):
        yield "limit of power density", str(body.space_type), density["source"]


def _all_set(row: Row, figures: Iterable[str]) -> bool:
    """Whether the site set each of these figures itself."""
    return all(set_in(row, each) for each in figures)


def is_from_memory(how_known: str) -> bool:
    """Whether a way of knowing is no more than memory; 'common practice' is said apart.

    >>> is_from_memory("from memory; none was taken"), is_from_memory("read")
    (True, False)
    """
    return how_known.startswith("from memory")


def _today(body: Body, current: Now) -> Iterator[Note]:
    if current.ballast_row is not None:
        lamps = energy.lamps_looked_up(current.ballast_row, *lamps_on(body, current.ballasts_each))
        yield from set_in(current.ballast_row, "ballast_factor", *(f"watts_by_lamps/{each}" for each in lamps))
    if current.lumens_row is not None:
        yield from set_in(current.lumens_row)
    if body.body_row is not None:
        state = body.of_kind("housing").get("optic_state", NOT_SEEN)
        yield from set_in(body.body_row)
        yield from set_in(body.tables["bodies"], "range_share", f"state_share/{state}")


def _of_space(body: Body, wanted: Facts, density: Density | None) -> Iterator[Note]:
    row = body.space_row or {}
    if body.of_room("hours").get("hours_year") is None:
        yield from set_in(row, "hours_year")
    if "standard" in wanted:
        yield from set_in(row, f"targets/{wanted['standard']}/")
    if density is not None:
        yield from set_in(row, f"w_ft2/{density['code']}")


def _of_controls(body: Body) -> Iterator[Note]:
    table, controls = (
        body.tables["controls"],
        {body.of_group("duty").get("control_now", "switch"), body.place.control_wanted},
    )
    for row in table["rows"]:
        if row["control"] in controls:
            yield from set_in(row)
    if body.money.get("demand_per_kw_month") and body.hours_year is not None:
        yield from set_in(energy.coincidence_row(body.hours_year, body.space_type, table["coincidence"]))


def _each_once(notes: Iterable[Note]) -> tuple[Note, ...]:
    found: dict[tuple[str, str, str], Note] = {}
    for note in notes:
        found.setdefault((note["table"], note["row"], note["figure"]), note)
    return tuple(found.values())
