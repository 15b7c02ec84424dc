"""The recycler pack: lamps by kind and length class, ballasts by suspicion, batteries by what is in them, and who collected."""

from __future__ import annotations

import re
from collections import Counter

from spanwalk.rules.survey import facet
from spanwalk.services.files.sheets_out import OutTable
from spanwalk.services.proof.gathering import Proof
from spanwalk.services.proof.rebate import attachments_table
from spanwalk.services.proof.tables import Pack, Row, table
from spanwalk.words import choice_text, say

FEET = re.compile(r"(\d+(?:\.\d+)?) ft$")
CLASS_FT = 4.0
"""Up to here a lamp is of the shorter class: common practice of those who collect lamps, no source."""
SORTS = ("lamps-out", "ballasts-out", "batteries-out")


def recycler_pack(proof: Proof) -> Pack:
    """The pack."""
    return Pack(
        "recycler",
        say("proof.recycler"),
        (say("desk.waste-caution"), *(say(f"proof.recycler.note.{code}") for code in ("basis", "class", "broken"))),
        (
            _lamps(proof),
            table("ballasts", ("suspicion", "number"), _ballasts(proof)),
            table("batteries", ("battery", "number"), _batteries(proof)),
            _containers(proof),
            _collected(proof),
            _balance(proof),
            attachments_table(proof),
        ),
    )


def length_class(lamp: str) -> str:
    """The class of length of a lamp by its name: ``up-to-4-ft``, ``over-4-ft``, ``not-known``.

    >>> length_class("T8 4 ft"), length_class("T12 8 ft"), length_class("T5 not-seen")
    ('up-to-4-ft', 'over-4-ft', 'not-known')
    """
    found = FEET.search(lamp)
    if found is None:
        return "not-known"
    return "up-to-4-ft" if float(found[1]) <= CLASS_FT else "over-4-ft"


def _lamps(proof: Proof) -> OutTable:
    rows: list[Row] = [
        [lamp, say(f"proof.class.{length_class(lamp)}"), number] for lamp, number in proof.report.waste.lamps.items()
    ]
    by_class: Counter[str] = Counter()
    for lamp, number in proof.report.waste.lamps.items():
        by_class[length_class(lamp)] += number
    rows += [[say("proof.together"), say(f"proof.class.{name}"), number] for name, number in sorted(by_class.items())]
    return table("lamps", ("lamp", "length-class", "number"), rows)


def _ballasts(proof: Proof) -> list[Row]:
    told = proof.report.waste.ballasts.items()
    return [[say(f"files.waste.{name.replace(' ', '-')}"), number] for name, number in told]


def _batteries(proof: Proof) -> list[Row]:
    return [[choice_text(name), number] for name, number in proof.report.waste.batteries.items()]


def _containers(proof: Proof) -> OutTable:
    rows: list[Row] = [
        [each.room_name, each.what, each.item, each.number, each.day] for each in proof.report.containers
    ]
    return table("containers", ("room", "what", "container", "meant-for", "day"), rows)


def _collected(proof: Proof) -> OutTable:
    names = {each["id"]: facet(each, "identity").get("name") for each in proof.attachments}
    rows: list[Row] = []
    for each in proof.collected:
        said = facet(each, "identity")
        row: Row = [said["collected_on"], said["collected_by"], choice_text(said["sort"]), said.get("container")]
        row += [said.get("containers"), said.get("number"), said.get("broken")]
        rows.append([*row, names.get(str(said.get("certificate"))), said.get("note")])
    heads = (
        "collected-on",
        "collected-by",
        "what",
        "container",
        "containers",
        "number",
        "broken",
        "certificate",
        "note",
    )
    return table("collected", heads, rows)


def _balance(proof: Proof) -> OutTable:
    """What was taken out against what was collected, by sort; what is left is somewhere on the site."""
    waste = proof.report.waste
    out = {
        "lamps-out": sum(waste.lamps.values()),
        "ballasts-out": sum(waste.ballasts.values()),
        "batteries-out": sum(waste.batteries.values()),
    }
    rows: list[Row] = []
    for sort in SORTS:
        here = [facet(each, "identity") for each in proof.collected if facet(each, "identity").get("sort") == sort]
        collected = sum(int(each.get("number") or 0) for each in here)
        broken = sum(int(each.get("broken") or 0) for each in here)
        rows.append([choice_text(sort), out[sort], collected, broken, out[sort] - collected])
    return table("balance", ("what", "taken-out", "collected", "broken", "left"), rows)
