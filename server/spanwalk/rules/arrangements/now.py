"""A group as it is: watts, energy and light today, with what was assumed and what is missing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.fit.not_converted import LED_TUBES
from spanwalk.rules.gear.driver_in_body import NOT_SEEN
from spanwalk.rules.gear.mains import Hertz, lamp_watts_doubt, mains_hz
from spanwalk.rules.gear.waste import year_written
from spanwalk.rules.light import light
from spanwalk.rules.money import energy
from spanwalk.rules.record_view import Row

ASSUMED_BALLAST = {"T12": "magnetic", "T8": "electronic", "T5": "electronic"}
"""Ballast taken where nobody saw it (common practice: what lamps of a diameter mostly came with)."""
ASSUMED_PCT = {"ceiling_pct": 70, "walls_pct": 50, "floor_pct": 20}
"""Reflectances taken where nobody entered them (common practice)."""
WORK_PLANE_M = 0.76
"""Work plane taken where nobody entered one: 30 in (common practice); 0 in corridors and stairs."""
ON_THE_FLOOR = ("corridor", "stair", "lobby", "parking", "outdoor-covered", "restroom", "storage")
TICKS_PER_M = 320_000


@dataclass(frozen=True)
class Room:
    """The room for the lumen method: area [m²], cavity ratio, coefficient of utilisation, what was assumed."""

    area_m2: float
    cavity_ratio: float
    utilisation: float
    assumed: tuple[str, ...]


@dataclass(frozen=True)
class Now:
    """A group as it is.

    Parameters
    ----------
    watts_each : float or None
        Mains watts of one fixture with every lamp burning [W]; None where it cannot be told.
    watts : float or None
        Mains watts of the group, dark lamps dark [W].
    light : TodaysLight or None
        Lumens that leave its fixtures: as found, with all lamps burning, and cleaned [lm].
    working_share : float
        Share of lamps that burn.
    ballasts_each : int
        Ballasts in one fixture, counted or taken.
    room : Room or None
        The room, where its size is known.
    assumed, missing : tuple of str
        What was taken for want of a survey, and what could not be.
    ballast_row, lumens_row, body_row : mapping or None
        Rows of the tables that were used.
    """

    watts_each: float | None
    watts: float | None
    light: light.TodaysLight | None
    working_share: float
    ballasts_each: int
    room: Room | None
    assumed: tuple[str, ...]
    missing: tuple[str, ...]
    ballast_row: Row | None
    lumens_row: Row | None
    body_row: Row | None

    @property
    def sources(self) -> tuple[Row, ...]:
        """Rows of the tables that were used."""
        return tuple(row for row in (self.ballast_row, self.lumens_row, self.body_row) if row)


def now(body: Body) -> Now:
    """A group as it is, from what was surveyed and the tables.

    Parameters
    ----------
    body : Body
        The group.

    Returns
    -------
    Now
        With None for what cannot be told; nothing is guessed without being named in `assumed`.
    """
    if has_led_tubes(body):
        return _with_led_tubes(body)
    lamps = _lamps(body)
    assumed, missing = [*lamps.assumed, *_taken_for_none(body)], list(lamps.missing)
    share = energy.working_share(body.fixtures * body.lamps_each, body.dark_lamps)
    ballasts = body.of_kind("ballast").get("ballast_count")
    if ballasts is None or (ballasts == 0 and not body.is_fed_by_neighbour):
        ballasts = body.lamps_each if _is_choke(lamps.ballast_row) else energy.ballasts_assumed(body.lamps_each)
        assumed.append("ballast count")
    each = _watts_each(body, lamps.ballast_row, ballasts)
    if each is None and "lamps" not in missing:
        missing.append("watts of these lamps on this ballast")
    body_share, body_assumed, body_missing = _body_share(body)
    lit = None
    if lamps.lumens_row and lamps.ballast_row and body_share is not None:
        lit = light.todays_light(
            body.fixtures * body.lamps_each,
            share,
            lamps.lumens_row["initial_lm"],
            lamps.ballast_row["ballast_factor"],
            lamps.lumens_row["mean_share"],
            (body.body_row or {})["dirt_share"],
            body_share,
            optic_share(body),
        )
    room = room_of(body)
    return Now(
        watts_each=each,
        watts=None if each is None else body.fixtures * each * share,
        light=lit,
        working_share=share,
        ballasts_each=ballasts,
        room=room,
        assumed=(*assumed, *body_assumed, *(room.assumed if room else ()), *(("hours",) if body.hours_assumed else ())),
        missing=(
            *missing,
            *body_missing,
            *(("room size",) if room is None else ()),
            *(("hours",) if body.hours_year is None else ()),
        ),
        ballast_row=lamps.ballast_row,
        lumens_row=lamps.lumens_row,
        body_row=body.body_row,
    )


COLD_C = 10
"""Rooms that never get warmer: fluorescent lamps give less light there than the tables say, which hold at 25 °C (35 °C for T5)."""


def _is_cold(body: Body) -> bool:
    hottest = body.place.hottest_c
    return isinstance(hottest, (int, float)) and hottest < COLD_C and not has_led_tubes(body)


def has_led_tubes(body: Body) -> bool:
    """Whether LED tubes are in its sockets, on the ballast, on mains, or on a driver of their own."""
    return body.of_kind("lamps").get("fitted") in LED_TUBES


def _with_led_tubes(body: Body) -> Now:
    """A body with LED tubes in its sockets, from the tube's own data.

    Their light is taken as that of new tubes, so that what is kept of it is not too little, and to shine down as bars do.
    Watts are those said for a tube with what feeds it; on mains the tube's own.
    """
    lamps, row, room = body.of_kind("lamps"), body.body_row, room_of(body)
    share = energy.working_share(body.fixtures * body.lamps_each, body.dark_lamps)
    own_w = lamps.get("lamp_w") if lamps["fitted"] == "led-tube-on-mains" else None
    tube_w, tube_lm = lamps.get("tube_mains_w", own_w), lamps.get("tube_lm")
    each = None if tube_w is None or not body.rows else float(tube_w) * body.lamps_each
    lit = None
    if tube_lm is not None and row is not None and body.rows:
        count = body.fixtures * body.lamps_each
        shares = (1.0, 1.0, row["dirt_share"], row["bars_share"], optic_share(body))
        lit = light.todays_light(count, share, tube_lm, *shares)
    missing = {
        "lamps": not body.rows,
        "light of the LED tubes": tube_lm is None,
        "mains watts of the LED tubes": tube_w is None,
        "body": row is None,
        "room size": room is None,
        "hours": body.hours_year is None,
    }
    ballasts = ballasts_of_led_tubes(body)
    assumed = [*(["LED tubes as new"] if tube_lm is not None else []), *_taken_for_none(body)]
    if ballasts and not body.of_kind("ballast").get("ballast_count"):
        assumed.append("ballast count")
    if row is not None and row["optic"] != body.of_kind("housing").get("optic"):
        assumed.append("optic")
    return Now(
        watts_each=each,
        watts=None if each is None else body.fixtures * each * share,
        light=lit,
        working_share=share,
        ballasts_each=ballasts,
        room=room,
        assumed=(*assumed, *(room.assumed if room else ()), *(("hours",) if body.hours_assumed else ())),
        missing=tuple(name for name, lacks in missing.items() if lacks),
        ballast_row=None,
        lumens_row=None,
        body_row=row,
    )


def ballasts_of_led_tubes(body: Body) -> int:
    """Ballasts in one body with LED tubes: as counted, else as many as such lamps mostly have where one was seen or must be.

    Tubes on mains or on a driver of their own mostly leave the old ballast in the body; where nobody saw one none is counted,
    and the card says to look.
    """
    ballast, count = body.of_kind("ballast").get("ballast", NOT_SEEN), body.of_kind("ballast").get("ballast_count")
    needs_one = body.of_kind("lamps").get("fitted") == "led-tube-on-the-ballast"
    if count or ballast == "none" or not body.rows or body.is_fed_by_neighbour:
        return int(count or 0)
    if ballast == NOT_SEEN and not needs_one:
        return 0
    is_choke = ballast == "magnetic" and mains_of(body) == 50
    return body.lamps_each if is_choke else energy.ballasts_assumed(body.lamps_each)


def _is_choke(row: Row | None) -> bool:
    """Whether a ballast is one of the chokes of 230 V, of which each lamp has one of its own (common practice)."""
    return row is not None and row["ballast"] == "magnetic" and row.get("mains_hz") == [50]


def _taken_for_none(body: Body) -> Iterator[str]:
    """What nobody said and what is then reckoned as if it were none, or one, or good."""
    if "dark_lamps" not in body.of_group("count"):
        yield "dark lamps"
    if body.rows and "lamps_end_to_end" not in body.of_kind("lamps"):
        yield "lamps end to end"
    if body.of_group("duty").get("control_now", NOT_SEEN) == NOT_SEEN:
        yield "control now"
    housing = body.of_kind("housing")
    if _is_cold(body):
        yield "lamps as in a warm room"
    if housing.get("optic") != "none" and housing.get("optic_state", NOT_SEEN) == NOT_SEEN:
        yield "state of optic"


@dataclass(frozen=True)
class _Lamps:
    lumens_row: Row | None
    ballast_row: Row | None
    assumed: tuple[str, ...]
    missing: tuple[str, ...]


def _lamps(body: Body) -> _Lamps:
    """Rows of the tables for the lamps and the ballast of a body."""
    lamps = body.of_kind("lamps")
    cap = lamps.get("cap", NOT_SEEN)
    wanted = {"diameter": lamps.get("diameter", NOT_SEEN), "nominal_ft": lamps.get("nominal_ft", NOT_SEEN)}
    if NOT_SEEN in wanted.values() or not body.rows:
        return _Lamps(None, None, (), ("lamps",))
    hertz = mains_of(body)
    alike = [
        row
        for row in body.tables["lumens"]["rows"]
        if all(row[name] == value for name, value in wanted.items()) and cap in (row["cap"], NOT_SEEN)
    ]
    watts, assumed = lamps.get("lamp_w"), ["cap"] if cap == NOT_SEEN else []
    if watts is None and lamp_watts_doubt(lamps, _ballast_seen(body), hertz):
        return _Lamps(None, None, tuple(assumed), ("lamp watts",))
    if watts is None:
        usual = next((row for row in _of_world(alike, hertz) if row.get("usual")), None)
        watts = usual["lamp_w"] if usual else None
        assumed.append("lamp watts")
    lumens_row = next(iter(_of_world([row for row in alike if row["lamp_w"] == watts], hertz)), None)
    ballast_row, more = _ballast_row(body, wanted, watts)
    missing = () if lumens_row else ("lumens of these lamps",)
    return _Lamps(lumens_row, ballast_row, (*assumed, *more), missing)


def mains_of(body: Body) -> Hertz | None:
    """The mains a body hangs on [Hz]; None where nobody has seen enough to tell."""
    return mains_hz(body.of_group("supply"), body.of_kind("ballast"), body.settings)


def _of_world(rows: Sequence[Row], hertz: Hertz | None) -> list[Row]:
    """Rows that hold on such mains, in their order; where the mains are not known, all of them if they agree on the world, else none."""
    if hertz is not None:
        return [row for row in rows if hertz in row.get("mains_hz", (50, 60))]
    common = set.intersection(*(set(row.get("mains_hz", (50, 60))) for row in rows)) if rows else set()
    return list(rows) if common else []


def _ballast_row(body: Body, lamp: Mapping[str, str], lamp_w: float | None) -> tuple[Row | None, tuple[str, ...]]:
    seen = _ballast_seen(body)
    assumed: list[str] = []
    ballast = seen.split(" ")[0]
    if seen in (NOT_SEEN, "none"):
        ballast = ASSUMED_BALLAST[lamp["diameter"]]
        assumed.append("ballast")
    rows = [
        row
        for row in body.tables["ballasts"]["rows"]
        if row["diameter"] == lamp["diameter"]
        and row["nominal_ft"] == lamp["nominal_ft"]
        and row["lamp_w"] == lamp_w
        and row["ballast"] == ballast
    ]
    rows = _of_world(rows, mains_of(body))
    classed = _of_class(rows, body.of_kind("ballast").get("energy_class", NOT_SEEN))
    if classed is not None:
        return classed, tuple(assumed)
    year = year_written(body.of_kind("ballast").get("made", ""))
    old = [row for row in rows if "made_before" in row and year is not None and year < row["made_before"]]
    later = [row for row in rows if "made_before" not in row]
    if len(rows) > 1 and not old:
        assumed.append("ballast generation")
    return next(iter(old or later), None), tuple(assumed)


def _of_class(rows: Sequence[Row], energy_class: str) -> Row | None:
    """The row of the energy class that was read on the ballast; class D, which no rule limited, as class C; A1 as A2, which it draws undimmed."""
    wanted = {"D": ("D", "C"), "A1": ("A1", "A2")}.get(energy_class, (energy_class,))
    return next((row for each in wanted for row in rows if row.get("energy_class") == each), None)


def _ballast_seen(body: Body) -> str:
    """The ballast that lights the body's lamps: its own, or the neighbour's from which it is fed."""
    if body.is_fed_by_neighbour and body.partner is not None:
        return str((body.partner.kind["facets"].get("ballast") or {}).get("ballast", NOT_SEEN))
    return str(body.of_kind("ballast").get("ballast", NOT_SEEN))


def _watts_each(body: Body, row: Row | None, ballasts: int) -> float | None:
    """Watts of one fixture; half of the pair's where one ballast lights two bodies."""
    if row is None:
        return None
    watts = energy.watts_from_table(row, *lamps_on(body, ballasts))
    return watts / 2 if watts is not None and shares_ballast(body) else watts


def shares_ballast(body: Body) -> bool:
    """Whether one ballast lights this body and its neighbour."""
    return body.feeds_neighbour or body.is_fed_by_neighbour


def lamps_on(body: Body, ballasts: int) -> tuple[int, int]:
    """Lamps, and the ballasts that light them: of the pair where a ballast lights two bodies."""
    return (2 * body.lamps_each, max(ballasts, 1)) if shares_ballast(body) else (body.lamps_each, ballasts)


def _body_share(body: Body) -> tuple[float | None, tuple[str, ...], tuple[str, ...]]:
    row = body.body_row
    if row is None:
        return None, (), ("body",)
    assumed = () if row["optic"] == body.of_kind("housing").get("optic") else ("optic",)
    return row["tubes_share"], assumed, ()


def optic_share(body: Body) -> float:
    """What the optic still passes of what a good one does."""
    state = body.of_kind("housing").get("optic_state", NOT_SEEN)
    return float(body.tables["bodies"]["state_share"].get(state, 1.0))


def room_of(body: Body) -> Room | None:
    """The room for the lumen method; None where its size is not known."""
    size, surfaces, assumed = body.of_room("size"), body.of_room("surfaces"), []
    if not all(side in size for side in ("length_ticks", "width_ticks", "height_ticks")):
        return None
    length, width, height = (size[side] / TICKS_PER_M for side in ("length_ticks", "width_ticks", "height_ticks"))
    plane = size.get("work_plane_ticks")
    if plane is None:
        assumed.append("work plane")
    space = body.of_room("identity").get("space_type")
    plane_m = (0.0 if space in ON_THE_FLOOR else WORK_PLANE_M) if plane is None else plane / TICKS_PER_M
    shares = []
    for name, taken in ASSUMED_PCT.items():
        if name not in surfaces and "reflectances" not in assumed:
            assumed.append("reflectances")
        shares.append(surfaces.get(name, taken) / 100)
    cavity = height - plane_m
    if cavity <= 0:
        return None
    ratio = light.room_cavity_ratio(length, width, cavity)
    return Room(length * width, ratio, light.utilisation(length, width, cavity, *shares), tuple(assumed))
