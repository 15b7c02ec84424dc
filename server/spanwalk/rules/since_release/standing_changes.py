"""What has changed since a conversion was released, and what of it stops the work? Twin: pwa/rules/since_release/standing_changes.js.

The facts that a release froze are held against the records as they are now. Most fields are compared as they stand: the
table `standing` says what a change of each means. The others are judged: volts against the driver's range, the
room's air against what each item bears, readings against the bars that were released.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import cast

from spanwalk.rules.record_types import ConversionView, GroupView, KindView, RoomView
from spanwalk.rules.record_view import Record, Tables
from spanwalk.rules.since_release.as_they_stand import conflicts, fields, items
from spanwalk.rules.since_release.ballast import ballast
from spanwalk.rules.since_release.control import dimmer
from spanwalk.rules.since_release.fit_again import fit
from spanwalk.rules.since_release.housing import material, room_for_bar, space
from spanwalk.rules.since_release.seen import LOOK, STOP, Change, Seen, change, said_by
from spanwalk.rules.since_release.surroundings import moisture, temperatures, volts, volts_on_label
from spanwalk.rules.since_release.work import (
    decision,
    emergency_positions,
    emergency_time,
    not_in_release,
    position,
    progress,
)
from spanwalk.rules.survey import Survey, facet

NEVER = (
    ("kind", "wiring", "feeds", ("two", "more")),
    ("kind", "ballast", "leaking", ("yes",)),
    (
        "kind",
        "lamps",
        "fitted",
        ("led-tube-on-the-ballast", "led-tube-on-mains", "led-tube-on-own-driver", "built-in-led", "none"),
    ),
    ("room", "surroundings", "hazardous", ("yes",)),
    ("group", "decision", "decision", ("leave-as-is", "defer")),
)
"""What no release was ever made with: it stops a conversion of which no facts were frozen."""
NOTHING: Record = {"id": "", "type": "", "parent": None, "removed": True, "facets": {}, "conflicts": []}


def changes_of(survey: Survey, conversion: ConversionView, tables: Tables, position: int | None = None) -> list[Change]:
    """Everything that is otherwise than when a conversion was released; what stops the work first.

    Parameters
    ----------
    survey : Survey
        The records as they are now.
    conversion : view record
        The conversion, with the `facts` that its release froze.
    tables : mapping
        Reference tables, `standing` among them.
    position : int, optional
        One fixture of its group, which changes at other positions do not stop; None: all of them.

    Returns
    -------
    list of Change
        Empty where nothing changed that matters.
    """
    identity = facet(conversion, "identity")
    group = cast("GroupView", survey.by_id.get(conversion["parent"], NOTHING))
    kind = survey.kind_of(group) or cast("KindView", NOTHING)
    room = survey.room_of(group) or cast("RoomView", NOTHING)
    release = facet(survey.by_id.get(identity["release"]), "identity")
    around = (group, kind, room, survey.site())
    seen = Seen(
        survey,
        identity.get("facts") or {},
        release.get("items", {}),
        *around,
        tables,
        position,
        release.get("head", -1),
    )
    looked_for = LOOKED_FOR if seen.facts else LOOKED_FOR_WITHOUT_FACTS
    found = [change for look_for in looked_for for change in look_for(seen)]
    return sorted(found, key=lambda change: change["weight"] != STOP)


def _never(seen: Seen) -> Iterator[Change]:
    """A conversion of which no facts were frozen: what can be told of it is what it was surely not released with."""
    yield change("nothing-frozen", LOOK, None, None)
    for name, facet_name, field, values in NEVER:
        now = seen.now(name, facet_name, field)
        if now in values:
            yield change(f"{name}.{facet_name}.{field}", STOP, None, now, said_by(getattr(seen, name), facet_name))


LOOKED_FOR = (
    fields, volts, volts_on_label, ballast, dimmer, moisture, temperatures, space, material, room_for_bar, emergency_time,
    emergency_positions, position, not_in_release, decision, progress, fit, items, conflicts,
)  # fmt: skip

LOOKED_FOR_WITHOUT_FACTS = (_never, position)
