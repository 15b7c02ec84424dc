"""Loose readings judged without a site: options of the command `spanwalk fit` made into records, and those judged."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import cast

from spanwalk.records import spec
from spanwalk.reference import tables
from spanwalk.rules.fit.by_lamp import read_of_kind
from spanwalk.rules.judging.degree import degree_of
from spanwalk.rules.judging.judging import judge_group
from spanwalk.rules.measuring.lengths import LengthProblem, LengthUnclear, parse_length
from spanwalk.rules.measuring.reading_sense import GAUGE_CAPS, lamp_row, loose_band
from spanwalk.rules.record_types import CatalogueItemView, CavityReadingView, GroupView, KindView, RoomView, SiteView
from spanwalk.rules.record_view import Facet, Record
from spanwalk.rules.survey import lamp_name
from spanwalk.services.refusals import WrongInput
from spanwalk.services.text.explaining import both_units, length
from spanwalk.services.text.fit_lines import fit_lines
from spanwalk.words import choice_text, say

Options = Mapping[str, str | None]
LOOSE = ("lamp", "readings", "count", "bar", "coldest", "hottest")
TAPES = {
    "inches": {"instrument": "us-tape", "graduation": "1-16-in", "from_hook": True},
    "millimetres": {"instrument": "tape-class-ii", "graduation": "1-mm", "from_hook": True},
}
"""The usual tape of each unit, since nobody described it (common practice)."""
BAR: Facet = {
    "tolerance_ticks": 160,
    "end_gap_ticks": 640,
    "joint_ticks": 320,
    "cover": "none",
    "rise_k": 15,
    "width_ticks": 6400,
    "height_ticks": 3840,
}
"""What a bar has that nobody described: 0.5 mm longer, 2 mm at each end, 1 mm between two, 15 K (common practice)."""
MOST_COUNT = 20_000
COLDEST, HOTTEST = (-40, 40), (0, 90)


def refuse_loose(options: Options) -> None:
    """Raise WrongInput where a group was named and loose numbers too."""
    for name in LOOSE:
        if options[name] is not None:
            raise WrongInput("fit-lines.both", option=f"--{name}", value=options["group"])


def fit_of_loose(options: Options) -> str:
    """Judge loose readings for bars of some lengths.

    Parameters
    ----------
    options : mapping
        `lamp`, `sitting`, `readings`, `count`, `bar`, `units`, `coldest`, `hottest` as typed, or None.

    Returns
    -------
    str
        Lines to read: as for a group, with what was assumed.

    Raises
    ------
    WrongInput
        An option is missing or cannot be used; the facts name it, its value and what would be right.
    """
    if all(options[name] is None for name in LOOSE):
        raise WrongInput("fit-lines.option-missing", option="group", right=say("fit-lines.right-group"))
    lamp = _lamp(options)
    units = cast("str", options["units"])
    readings = [
        _reading(at, ticks, typed, units)
        for at, (ticks, typed) in enumerate(_lengths(options, "readings", "cavity_reading"), start=1)
    ]
    bars = [_bar(ticks) for ticks in dict.fromkeys(ticks for ticks, _ in _lengths(options, "bar", "catalogue_item"))]
    lamps = {
        **lamp,
        "fitted": "fluorescent" if options["sitting"] else "not-seen",
        "rows": 1,
        "lamps_end_to_end": 1,
    }
    kind = cast("KindView", _record("kind", {"lamps": lamps}))
    group = cast("GroupView", _record("group", {"count": {"count": _count(options, len(readings))}}))
    room = cast("RoomView", _record("room", {"surroundings": _temperatures(options)}))
    told = judge_group(group, kind, room, cast("SiteView", _record("site", {})), readings, [], bars, tables())
    names = {
        bar["id"]: say("fit-lines.loose-bar", {"length_ticks": both_units(bar["facets"]["bar"]["length_ticks"], units)})
        for bar in bars
    }
    named = " ".join(
        choice_text(lamp[part])
        for part in ("diameter", "nominal_ft", "cap")
        if part in lamp and lamp[part] not in GAUGE_CAPS
    )
    title = say("fit-lines.loose-title", {"lamp": named, "n": len(readings)})
    degree = degree_of(group, told, read_of_kind([(group, kind, readings, told["questions"])]))
    lines = [*fit_lines(title, told, readings, names, kind, bars, units, degree), *_assumed(units)]
    return "\n".join(lines)


def _assumed(units: str) -> Iterator[str]:
    bar = {name: length(value, units) if name.endswith("_ticks") else value for name, value in BAR.items()}
    for said in (say("fit-lines.assumed-tape", TAPES[units]), say("fit-lines.assumed-bar", bar)):
        yield say("fit-lines.assumed", {"said": said})


def _record(type_name: str, facets: Mapping[str, Facet], id: str = "") -> Record:
    return {
        "id": id or type_name,
        "type": type_name,
        "parent": None,
        "removed": False,
        "facets": facets,
        "conflicts": [],
    }


def _reading(at: int, ticks: int, typed: str, units: str) -> CavityReadingView:
    identity = {"position": at, "row": 1, "cavity": 1, "length_ticks": ticks, "as_entered": typed, **TAPES[units]}
    return cast("CavityReadingView", _record("cavity_reading", {"identity": identity}, f"reading {at:05}"))


def _bar(ticks: int) -> CatalogueItemView:
    facets = {
        "identity": {"item": "bar", "code": str(ticks)},
        "bar": {**BAR, "length_ticks": ticks, "lit_ticks": ticks},
    }
    return cast("CatalogueItemView", _record("catalogue_item", facets, f"bar {ticks}"))


def _lamp(options: Options) -> dict[str, str]:
    """`T8 4 ft`, `T8-4ft`, `t12 1.5ft`; `U-bend 2 ft`, `T12 8 ft single pin`: diameter, nominal length and cap of a lamp."""
    sizes = tables()["lamps"]["sizes"]
    right = say("fit-lines.right-lamp", {"lamps": [lamp_name(row["diameter"], row["nominal_ft"]) for row in sizes]})
    typed = _given(options, "lamp", right)
    cap = next((each for each in _choices("cap") if choice_text(each).lower() in typed.lower()), None)
    size = typed if cap is None else re.sub(re.escape(choice_text(cap)), " ", typed, flags=re.IGNORECASE)
    found = re.fullmatch(r"(T\d+)?[\s-]*([\d.]+)\s*(?:ft)?", size.strip(), re.IGNORECASE)
    lamp = {"nominal_ft": f"{found[2]}-ft"} if found else {}
    lamp |= {"diameter": found[1].upper()} if found and found[1] else {}
    lamp |= {"cap": cap} if cap else {}
    row = lamp_row(lamp, tables())
    if row is None and not _is_loose(lamp):
        raise WrongInput("fit-lines.option-wrong", option="--lamp", value=typed, right=right)
    return lamp if row is None else {**lamp, "cap": row["cap"]}


def _is_loose(lamp: Mapping[str, str]) -> bool:
    """Whether a lamp is one that there is, and whose length is no more than a hint: by its cap, or its size."""
    named = all(value in _choices(name) for name, value in lamp.items())
    return named and ("cap" in lamp or "diameter" in lamp) and loose_band(lamp, tables()) is not None


def _choices(field: str) -> list[str]:
    """What the record of a kind may say of its lamps, but for 'not-seen'."""
    return [each for each in spec().types["kind"].facets["lamps"].fields[field].choices or () if each != "not-seen"]


def _lengths(options: Options, name: str, type_name: str) -> list[tuple[int, str]]:
    """Each length of an option [1/320 mm] with how it was typed, within what the record's field may be."""
    typed = _given(options, name, say("fit-lines.right-lengths"))
    parts = [part.strip() for part in re.split(r";|,\s", typed) if part.strip()]
    if not parts:
        raise WrongInput(
            "fit-lines.option-wrong", option=f"--{name}", value=typed, right=say("fit-lines.right-lengths")
        )
    return [(_length(f"--{name}", part, cast("str", options["units"]), *_range(type_name)), part) for part in parts]


def _range(type_name: str) -> tuple[int, int]:
    """Least and most of a record's length."""
    facet_name = "bar" if type_name == "catalogue_item" else "identity"
    field = spec().types[type_name].facets[facet_name].fields["length_ticks"]
    return int(field.min or 0), int(field.max or 0)


def _length(option: str, typed: str, units: str, least: int, most: int) -> int:
    try:
        ticks = parse_length(typed, units).ticks
    except LengthUnclear as unclear:
        if unclear.code != "length.millimetres-meant":
            raise _wrong_length(option, unclear) from None
        ticks = unclear.ticks
    except LengthProblem as problem:
        raise _wrong_length(option, problem) from None
    if not least <= ticks <= most:
        right = say(
            "fit-lines.right-length", {"least_ticks": both_units(least, units), "most_ticks": both_units(most, units)}
        )
        raise WrongInput("fit-lines.option-wrong", option=option, value=typed, right=right)
    return ticks


def _wrong_length(option: str, problem: LengthProblem) -> WrongInput:
    facts = {name: length(int(value)) if name.endswith("_ticks") else value for name, value in problem.facts.items()}
    return WrongInput("fit-lines.option-length", option=option, sentence=say(problem.code, facts))


def _count(options: Options, least: int) -> int:
    right = say("fit-lines.right-count", {"least": least, "most": MOST_COUNT})
    typed = _given(options, "count", right)
    if not re.fullmatch(r"\d{1,6}", typed.strip()) or not least <= int(typed) <= MOST_COUNT:
        raise WrongInput("fit-lines.option-wrong", option="--count", value=typed, right=right)
    return int(typed)


def _temperatures(options: Options) -> dict[str, float]:
    """What was given; both or neither are used, as for a room."""
    found = {}
    for name, (least, most) in (("coldest", COLDEST), ("hottest", HOTTEST)):
        typed = options[name]
        if typed is not None:
            right = say("fit-lines.right-temperature", {"least": least, "most": most})
            if not re.fullmatch(r"-?\d{1,3}(\.\d{1,2})?", typed.strip()) or not least <= float(typed) <= most:
                raise WrongInput("fit-lines.option-wrong", option=f"--{name}", value=typed, right=right)
            found[f"{name}_c"] = float(typed)
    usual = tables()["expansion"]["assumed"]
    cold, hot = (found.get(f"{name}_c", usual[f"{name}_c"]) for name in ("coldest", "hottest"))
    if cold >= hot:
        name = "coldest" if "coldest_c" in found else "hottest"
        right = say("fit-lines.right-temperature", {"least": COLDEST[0], "most": HOTTEST[1]})
        raise WrongInput("fit-lines.option-wrong", option=f"--{name}", value=options[name], right=right)
    return found


def _given(options: Options, name: str, right: str) -> str:
    if options[name] is None:
        raise WrongInput("fit-lines.option-missing", option=f"--{name}", right=right)
    return str(options[name])


__all__ = ["fit_of_loose", "refuse_loose"]
