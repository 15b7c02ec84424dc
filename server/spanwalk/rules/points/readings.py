"""Open points of readings and of what they come to. Twin: pwa/rules/points/readings.js.

Of bodies that are never by this method nothing is asked here: that they are is a point of the plan (`planned`).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import cast

from spanwalk.rules import constants
from spanwalk.rules.fit.by_lamp import LEAST_FIXTURES, ReadOfKind, needs_witness, read_of_kind
from spanwalk.rules.fit.not_converted import is_never
from spanwalk.rules.fit.trials import is_accepted
from spanwalk.rules.judging.judgement_types import Judgement
from spanwalk.rules.measuring.reading_sense import OUT_OF_BAND
from spanwalk.rules.points.found import Found, Seen, of_group
from spanwalk.rules.record_types import CavityReadingView, GroupView, KindView
from spanwalk.rules.record_view import Facet
from spanwalk.rules.said import Facts, Said
from spanwalk.rules.survey import facet, has, mark_of

ALONE_TICKS = constants.ALONE_TICKS
"""A reading stands alone when every other is more than 3 mm away [1/320 mm]: a sound socket pair has
0 to 3 mm of play (inference from the lamp's length; common practice)."""
OTHERS_LEAST = constants.OTHERS_LEAST
"""With fewer other readings nobody can say which one is wild (common practice)."""


def _to_read(seen: Seen) -> Iterator[GroupView]:
    """Groups whose cavities are worth reading: those to be converted, without bodies that are never by this method."""
    return (group for group in seen.survey.groups_to_convert() if not is_never(seen.survey.kind_of(group)))


def no_reading(seen: Seen) -> Iterator[Found]:
    """Groups to be converted without one reading that counts."""
    for group in _to_read(seen):
        if not seen.survey.readings_of(group):
            yield of_group(seen, group)


def too_few_readings(seen: Seen) -> Iterator[Found]:
    """Groups that have readings, but more are needed before anything can be said to fit."""
    for group, judged in _judged(seen):
        if (
            judged.get("measure_more")
            and _best(judged) != "fits"
            and not _held_by_cluster(judged)
            and not _is_accepted(group, judged)
        ):
            yield of_group(seen, group, more=judged["measure_more"], readings=len(seen.survey.readings_of(group)))


def two_clusters(seen: Seen) -> Iterator[Found]:
    """Groups whose readings fall into two clusters, as two makes would: split it, or read again."""
    for group, judged in _judged(seen):
        if _held_by_cluster(judged):
            gap = judged["trusted"].get("terms", {}).get("gap_ticks")
            yield of_group(seen, group, **({} if gap is None else {"gap_ticks": gap}))


def tight_not_settled(seen: Seen) -> Iterator[Found]:
    """Groups in which the best that can be had is tight: more readings, a shorter bar or a trial bar settle it.

    A trial bar settles it by itself only where it makes 'fits' of the verdict (see `trials`); short of that the manager
    accepts what is left open.
    """
    for group, judged in _judged(seen):
        if (
            _best(judged) == "tight"
            and not judged.get("measure_more")
            and not _held_by_cluster(judged)
            and not _is_accepted(group, judged)
        ):
            yield of_group(seen, group, clearance_ticks=judged["fits"][cast("int", judged["best"])]["clearance_ticks"])


def fits_by_lamp(seen: Seen) -> Iterator[Found]:
    """Groups whose best row fits by the lamp alone, as long as too little of the kind was read and nobody tried or accepted it."""
    of_kind = dict(seen.read)
    by_kind = _by_kind(seen)
    for group, judged in _judged(seen):
        kind = str(facet(group, "identity")["kind"])
        best = judged.get("best")
        fit = None if best is None else judged["fits"][best]
        if kind not in of_kind:
            of_kind[kind] = _read_of_kind(seen, kind, by_kind[kind])
        if needs_witness(group, fit, of_kind[kind]):
            yield of_group(seen, group, fixtures=of_kind[kind].fixtures, wanted=LEAST_FIXTURES)


def _by_kind(seen: Seen) -> dict[str, list[GroupView]]:
    """Groups to be converted by kind, put together once: a site of many kinds would else be walked for each of them."""
    found: dict[str, list[GroupView]] = defaultdict(list)
    for group in _to_read(seen):
        found[str(facet(group, "identity").get("kind", ""))].append(group)
    return found


def _read_of_kind(seen: Seen, kind: str, groups: Sequence[GroupView]) -> ReadOfKind:
    return read_of_kind(
        (
            each,
            cast("KindView", seen.survey.by_id[kind]),
            seen.survey.children(each, "cavity_reading"),
            seen.judgements.get(each["id"], {}).get("questions", {}),
        )
        for each in groups
    )


def reading_matches_another(seen: Seen) -> Iterator[Found]:
    """Readings that are not what the lamp would leave, as long as nobody has confirmed them."""
    for group, judged in _judged(seen):
        for reading in seen.survey.readings_of(group):
            asked = judged.get("questions", {}).get(reading["id"])
            if asked and not _is_confirmed(reading) and not _is_alone(seen, group, reading, asked):
                yield _of_reading(seen, group, reading, code=asked[0]["code"])


def outlier(seen: Seen) -> Iterator[Found]:
    """Readings more than 3 mm from every other of their kind, or of their group, as long as nobody has confirmed them."""
    for group in _to_read(seen):
        judged = seen.judgements.get(group["id"], {})
        held = [each["facts"] for each in judged.get("held_by", []) if each["code"] == "held.alone"]
        for reading in seen.survey.readings_of(group):
            asked = judged.get("questions", {}).get(reading["id"], [])
            alone = not asked and any(_is_at(reading, each) for each in held)
            if not _is_confirmed(reading) and (alone or _is_alone(seen, group, reading, asked)):
                yield _of_reading(seen, group, reading)


def _is_at(reading: CavityReadingView, place: Facts) -> bool:
    """Whether a reading is of a cavity that was named by fixture, row and cavity."""
    identity = facet(reading, "identity")
    return all(identity[name] == place[name] for name in ("position", "row", "cavity"))


def beyond_rows(seen: Seen) -> Iterator[Found]:
    """Readings of a row, or of a cavity in a row, that the kind has not: they say nothing of the cavities there are."""
    for group in _to_read(seen):
        lamps = facet(seen.survey.kind_of(group), "lamps")
        if "rows" in lamps:
            rows, cavities = lamps["rows"], lamps.get("lamps_end_to_end", 1)
            for reading in seen.survey.readings_of(group):
                identity = facet(reading, "identity")
                if identity["row"] > rows or identity["cavity"] > cavities:
                    where = {"row": identity["row"], "cavity": identity["cavity"], "rows": rows, "cavities": cavities}
                    yield _of_reading(seen, group, reading, **where)


def set_aside(seen: Seen) -> Iterator[Found]:
    """Socket pairs whose reading was set aside: they are mended, or get a spare."""
    for group in _to_read(seen):
        for reading in seen.survey.children(group, "cavity_reading"):
            if has(reading, "set_aside") and not has(reading, "voided"):
                yield _of_reading(seen, group, reading, reason=facet(reading, "set_aside").get("reason", ""))


def lot_refused(seen: Seen) -> Iterator[Found]:
    """Kinds with readings of a lot that was refused, until they are read again or a manager lets them stand."""
    yield from _of_kinds(seen, "lot-refused")


def repeats_spread(seen: Seen) -> Iterator[Found]:
    """Kinds whose repeats spread by more than was assumed, as long as nobody has said by how much."""
    yield from _of_kinds(seen, "repeats-spread")


def _of_kinds(seen: Seen, why: str) -> Iterator[Found]:
    used = {str(facet(group, "identity").get("kind", "")) for group in seen.survey.groups_to_convert()}
    held = {each["kind"]: each["facts"] for each in seen.kinds_held if each["why"] == why}
    for kind in seen.survey.of_type("kind"):
        if kind["id"] in held and kind["id"] in used:
            yield Found(kind["id"], None, {"kind": mark_of(kind)} | held[kind["id"]])


def verdict_differs(seen: Seen) -> Iterator[Found]:
    """Groups in which the surveyor saw another verdict, on the same readings, than the rules give here and now.

    A reading keeps the verdict that was shown (`verdict`) and of how many readings (`n`) and trial bars (`trials`) it was
    made; only one that was made of as many as there are now is compared.
    """
    for group, judged in _judged(seen):
        readings = seen.survey.readings_of(group)
        trials = len(seen.survey.trials_of(group))
        for reading in readings:
            shown = facet(reading, "identity").get("verdict_seen") or {}
            same = shown.get("n") == len(readings) and shown.get("trials", 0) == trials
            differs = same and shown.get("verdict") != _best(judged)
            if differs and not _is_confirmed(reading):
                yield _of_reading(seen, group, reading, shown=shown.get("verdict"), now=_best(judged))
                break


def _judged(seen: Seen) -> Iterator[tuple[GroupView, Judgement]]:
    """Groups that have a reading, with what the rules say of them."""
    for group in _to_read(seen):
        judged = seen.judgements.get(group["id"])
        if judged is not None and seen.survey.readings_of(group):
            yield group, judged


def _best(judged: Facet) -> str:
    best = judged.get("best")
    return "cannot tell" if best is None else str(judged["fits"][best]["verdict"])


def _is_accepted(group: GroupView, judged: Facet) -> bool:
    best = judged.get("best")
    return is_accepted(group, None if best is None else judged["fits"][best])


def _held_by_cluster(judged: Facet) -> bool:
    return bool(judged.get("trusted", {}).get("status") == "two clusters")


def _is_confirmed(reading: CavityReadingView) -> bool:
    return facet(reading, "confirmed").get("answer") == "it-is-what-the-tape-shows"


def _is_alone(seen: Seen, group: GroupView, reading: CavityReadingView, asked: Sequence[Said]) -> bool:
    """Whether no other reading of the kind is near; one that is another lamp's length is not wild but a question."""
    if any(question["code"] not in OUT_OF_BAND for question in asked):
        return False
    at = facet(reading, "identity")["length_ticks"]
    lengths = seen.lengths[facet(group, "identity")["kind"]]
    near = bisect_right(lengths, at + ALONE_TICKS) - bisect_left(lengths, at - ALONE_TICKS)
    return len(lengths) > OTHERS_LEAST and near == 1


def _of_reading(seen: Seen, group: GroupView, reading: CavityReadingView, **facts: object) -> Found:
    identity = facet(reading, "identity")
    about = {"as_entered": identity.get("as_entered", ""), "position": identity.get("position")}
    return Found(
        reading["id"], seen.survey.room_of(group), {"kind": mark_of(seen.survey.kind_of(group))} | about | facts
    )
