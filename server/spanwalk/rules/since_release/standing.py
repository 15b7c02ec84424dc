"""May a conversion that was released still be carried out? Twin: pwa/rules/since_release/standing.js.

Worked out from the facts that the release froze and the records as they are now, so that a phone can say it without a signal.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypedDict, cast

from spanwalk.rules import constants
from spanwalk.rules.installing.last_word import last_word
from spanwalk.rules.record_types import ConversionView, GroupView
from spanwalk.rules.record_view import Record, Tables
from spanwalk.rules.since_release.seen import LOOK, STOP, Change, said_by
from spanwalk.rules.since_release.standing_changes import changes_of
from spanwalk.rules.survey import Survey, facet, has, positions_of

IN_FORCE, WITHDRAWN, SUPERSEDED = constants.IN_FORCE, constants.WITHDRAWN, constants.SUPERSEDED
FNV_PRIME, FNV_OFFSETS = constants.FNV_PRIME, constants.FNV_OFFSETS
WORD = 0xFFFFFFFF


class Answer(TypedDict, total=False):
    """What a manager said to the changes."""

    answer: str
    by: str
    at: str


class Standing(TypedDict):
    """How a conversion stands.

    `standing` is `in force`, `look`, `stop`, `withdrawn` or `superseded`. `locked`: nothing may be noted as done under it.
    `changes` are what is otherwise than at the release; for `withdrawn` and `superseded` what did that, as `fact`.
    `fingerprint` is what a manager's answer names; empty where nothing changed. `answer` is what a manager said to just
    these changes, None where nobody did.
    """

    standing: str
    release: int
    locked: bool
    changes: list[Change]
    fingerprint: str
    answer: Answer | None


class Done(TypedDict):
    """What was done on a fixture: under which release, how that conversion stands, and whether that is a change since."""

    release: int
    standing: str
    changed: bool
    changes: list[Change]


def number_of(conversion: ConversionView | None) -> int:
    """Number of the release that a conversion is of; 0 where there is none."""
    return int(facet(conversion, "identity").get("number", 0))


def newest_of(survey: Survey, group: GroupView) -> ConversionView | None:
    """The conversion of a group's newest release, withdrawn or not."""
    return max(survey.children(group, "conversion"), key=number_of, default=None)


def standing_of(survey: Survey, conversion: ConversionView, tables: Tables, position: int | None = None) -> Standing:
    """How a conversion stands now.

    Parameters
    ----------
    survey : Survey
        The records as they are now: see `standing_changes.changes_of`.
    conversion : view record
        The conversion.
    tables : mapping
        Reference tables.
    position : int, optional
        One fixture of the group; None: the group as a whole, the strictest that holds for any of them.

    Returns
    -------
    Standing
        Superseded before withdrawn, withdrawn before what changed; a partner on the same ballast stops both.
    """
    group = cast("GroupView | None", survey.by_id.get(conversion["parent"]))
    newest = newest_of(survey, group) if group is not None else None
    if newest is not None and number_of(newest) > number_of(conversion):
        return _told(
            conversion,
            SUPERSEDED,
            [{"fact": "superseded", "weight": STOP, "before": number_of(conversion), "now": number_of(newest)}],
        )
    called_back = _withdrawn(survey, conversion)
    if called_back:
        return _told(conversion, WITHDRAWN, called_back)
    changes = [*changes_of(survey, conversion, tables, position), *_partner(survey, conversion, tables, position)]
    changes.sort(key=lambda change: change["weight"] != STOP)
    whole = (
        changes
        if position is None
        else [*changes_of(survey, conversion, tables), *_partner(survey, conversion, tables)]
    )
    fingerprint = fingerprint_of(whole)
    answer = _answer(conversion, fingerprint)
    if any(change["weight"] == STOP for change in changes):
        return _told(conversion, LOOK if answer else STOP, changes, fingerprint, answer)
    return _told(conversion, LOOK if changes else IN_FORCE, changes, fingerprint, answer)


def not_released(standing: Standing) -> list[int]:
    """Fixtures of a group that its release has not, and that nobody let go on: they are not to be converted, though others may be.

    Parameters
    ----------
    standing : Standing
        Of the group as a whole.
    """
    further = [each["now"] for each in standing["changes"] if each["fact"] == "not-in-release"]
    return cast("list[int]", further[0]) if further and standing["answer"] is None else []


def done_at(survey: Survey, group: GroupView, position: int, tables: Tables) -> Done | None:
    """What the newest word on a fixture is worth where it says that it is done; None where it does not.

    Parameters
    ----------
    survey : Survey
        The records as they are now.
    group : view record
        The group.
    position : int
        The fixture.
    tables : mapping
        Reference tables.
    """
    said = facet(last_word(survey.children(group, "installation"), position), "identity")
    conversion = cast("ConversionView | None", survey.by_id.get(said.get("conversion", "")))
    if said.get("outcome") != "done" or conversion is None:
        return None
    now = standing_of(survey, conversion, tables, position)
    changed = now["standing"] in (STOP, WITHDRAWN, SUPERSEDED)
    return {
        "release": number_of(conversion),
        "standing": now["standing"],
        "changed": changed,
        "changes": now["changes"],
    }


def _told(
    conversion: ConversionView,
    standing: str,
    changes: list[Change],
    fingerprint: str = "",
    answer: Answer | None = None,
) -> Standing:
    locked = standing in (STOP, WITHDRAWN, SUPERSEDED)
    return {
        "standing": standing,
        "release": number_of(conversion),
        "locked": locked,
        "changes": changes,
        "fingerprint": fingerprint,
        "answer": answer,
    }


def _withdrawn(survey: Survey, conversion: ConversionView) -> list[Change]:
    """What called a conversion back: a manager, or that its group is there no more."""
    release = survey.by_id.get(facet(conversion, "identity").get("release", ""))
    for fact, record in (("conversion.withdrawn", conversion), ("release.withdrawn", release)):
        if record is not None and has(record, "withdrawn"):
            said: Change = {
                "fact": fact,
                "weight": STOP,
                "before": None,
                "now": facet(record, "withdrawn").get("reason"),
            }
            return [{**said, **said_by(record, "withdrawn")}]
    return [] if survey.is_live(conversion) else [{"fact": "removed", "weight": STOP, "before": None, "now": None}]


def _partner(survey: Survey, conversion: ConversionView, tables: Tables, position: int | None = None) -> list[Change]:
    """A body on the same ballast that may not be converted, or is there no more: neither may this one be."""
    partner_id = facet(conversion, "identity").get("facts", {}).get("partner")
    if not partner_id:
        return []
    partner = cast("GroupView | None", survey.by_id.get(partner_id))
    theirs = newest_of(survey, partner) if partner is not None else None
    now = _own_standing(survey, theirs, tables)
    found: list[Change] = []
    if now != LOOK:
        found.append({"fact": "partner", "weight": STOP, "before": None, "now": now, "about": partner_id})
    alone = _without_partner(survey.by_id.get(conversion["parent"]), partner, position)
    if alone:
        weight = LOOK if position is None else STOP
        found.append({"fact": "partner-gone", "weight": weight, "before": None, "now": alone, "about": partner_id})
    return found


def _without_partner(group: Record | None, partner: GroupView | None, position: int | None) -> list[int]:
    """Fixtures of a group, or the one, whose partner on the same ballast is there no more."""
    if group is None or partner is None:
        return []
    here, there = positions_of(cast("GroupView", group)), set(positions_of(partner))
    return [each for each in here if each not in there and position in (None, each)]


def _own_standing(survey: Survey, conversion: ConversionView | None, tables: Tables) -> str:
    """How a partner's conversion stands by itself: one step, not back again."""
    if conversion is None:
        return "not released"
    if _withdrawn(survey, conversion):
        return WITHDRAWN
    changes = changes_of(survey, conversion, tables)
    stops = any(change["weight"] == STOP for change in changes)
    # Where its own partner stops it too, its answer names that as well: then each of the pair is answered for itself.
    answered = has(conversion, "answer") and facet(conversion, "answer").get("changes") == fingerprint_of(changes)
    return STOP if stops and not answered else LOOK


def _answer(conversion: ConversionView, fingerprint: str) -> Answer | None:
    """A manager's answer to just these changes."""
    said = facet(conversion, "answer")
    if not fingerprint or said.get("changes") != fingerprint:
        return None
    found: Answer = {"answer": said.get("answer", "")}
    by = said_by(conversion, "answer")
    if "by" in by:
        found["by"] = by["by"]
    if "at" in by:
        found["at"] = by["at"]
    return found


def fingerprint_of(changes: Sequence[Change]) -> str:
    """What names a set of changes: 16 hexadecimal digits, the same on both sides; empty where nothing changed.

    Two times FNV-1a of 32 bits over each change's fact, what it is about, and from what to what. Who said it is left out.

    Examples
    --------
    >>> fingerprint_of([])
    ''
    >>> fingerprint_of([{"fact": "kind.wiring.feeds", "weight": "stop", "before": "one", "now": "two"}])
    'b15645ec4395c915'

    References
    ----------
    .. [1] Fowler, Noll, Vo: hash FNV-1a, 32 bits, prime 16777619, offset 2166136261 (from memory).
    """
    lines = sorted(
        "|".join((each["fact"], each.get("about", ""), text_of(each["before"]), text_of(each["now"])))
        for each in changes
    )
    data = "\n".join(lines).encode()
    return "".join(f"{_fnv(data, offset):08x}" for offset in FNV_OFFSETS) if lines else ""


def text_of(value: object) -> str:
    """A value in a fingerprint.

    >>> text_of(None), text_of([1, 5.0]), text_of(True)
    ('', '1,5', 'yes')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ",".join(map(text_of, value))
    return str(int(value)) if isinstance(value, float) and value.is_integer() else str(value)


def _fnv(data: bytes, offset: int) -> int:
    found = offset
    for byte in data:
        found = (found ^ byte) * FNV_PRIME & WORD
    return found


__all__ = [
    "IN_FORCE",
    "LOOK",
    "STOP",
    "SUPERSEDED",
    "WITHDRAWN",
    "Done",
    "Standing",
    "done_at",
    "fingerprint_of",
    "newest_of",
    "not_released",
    "number_of",
    "standing_of",
    "text_of",
]
