"""The bars that were released, judged by all that is read by now. Twin: pwa/rules/since_release/fit_again.js."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import cast

from spanwalk.rules.fit.cavity import Spread
from spanwalk.rules.judging.judging import judge_group
from spanwalk.rules.record_types import CatalogueItemBar, CatalogueItemView
from spanwalk.rules.record_view import Record
from spanwalk.rules.since_release.seen import LOOK, STOP, Change, Seen, change, said_by
from spanwalk.rules.survey import facet, has

NO_PARENT = cast("str", None)


def fit(seen: Seen) -> Iterator[Change]:
    """The bars that were released, judged by all that is read by now; a reading that raises a question is to be looked at."""
    frozen, children = seen.facts.get("fit"), seen.survey.children
    readings, trials = children(seen.group, "cavity_reading"), children(seen.group, "trial_bar")
    if not frozen or not has(seen.kind, "lamps") or _is_as_released(seen, [*readings, *trials]):
        return
    judged = judge_group(
        seen.group, seen.kind, seen.room, seen.site, readings, _spread(seen), _bars(seen), seen.tables, trials
    )
    wanted = sorted(seen.facts["bars"])
    fit = next((each for each in judged["fits"] if sorted(each["bars"]) == wanted), None)
    verdict = "too long" if fit is None else fit["verdict"]
    said = _newest([*readings, *trials])
    if verdict not in ("fits", frozen["verdict"]):
        yield change("fit", LOOK if verdict == "tight" else STOP, frozen["verdict"], verdict, said)
    new = sorted(each for each in judged["questions"] if each not in seen.facts.get("questions", []))
    for reading in new:
        record = seen.survey.by_id[reading]
        yield change("questioned", LOOK, None, facet(record, "identity").get("as_entered"), said_by(record, "identity"))


def _is_as_released(seen: Seen, read: Sequence[Record]) -> bool:
    """Whether nothing that a judgement hangs on was written after the release, so that it need not be made again.

    Known only where each facet tells its sequence; one that was not sent yet tells none.
    """
    items = [seen.survey.by_id[each] for each in seen.facts["bars"] if each in seen.survey.by_id]
    records = [record for _, record in seen.records()] + [*read, *items]
    told = all(set(record["facets"]) <= set(record.get("seqs", {})) for record in records)
    newest = max((seq for record in records for seq in record.get("seqs", {}).values()), default=0)
    return told and newest <= seen.head and len(read) == seen.facts.get("readings")


def _spread(seen: Seen) -> Spread:
    spread = seen.facts.get("spread", {})
    return Spread(int(spread.get("squares_ticks2", 0)), int(spread.get("degrees", 0)))


def _bars(seen: Seen) -> list[CatalogueItemView]:
    """The bars that were released, as the catalogue has them now, offered or not."""
    found: list[CatalogueItemView] = []
    for item_id in dict.fromkeys(seen.facts["bars"]):
        code = seen.released.get(item_id, {}).get("code", "")
        found.append(
            {
                "id": item_id,
                "type": "catalogue_item",
                "parent": NO_PARENT,
                "removed": False,
                "facets": {
                    "identity": {"item": "bar", "code": code},
                    "bar": cast("CatalogueItemBar", seen.item(item_id)),
                },
                "conflicts": [],
            }
        )
    return found


def _newest(records: Iterable[Record]) -> Change:
    """The newest word among records, by the time of its phone."""
    said = [said_by(record, name) for record in records for name in record["facets"]]
    nothing: Change = {}
    return max((each for each in said if "at" in each), key=lambda each: each["at"], default=nothing)
