"""How sure is what is said of a group: the degree of its verdict, and what holds it back? Twin: pwa/rules/judging/degree.js.

A verdict says what the terms come to; its degree says whether anybody may act on it. From the best: 'fits', 'by-trial' (a
trial bar lay in), 'by-lamp', 'so-far' (it fits, and something stands open), 'tight', 'cannot-tell', 'too-long', 'never' (not by
this method, whatever is read). Only the first three could be released, as far as the length, the room and the body go; the
plan looks at driver, supply and light.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

from spanwalk.rules import constants
from spanwalk.rules.fit.by_lamp import LEAST_FIXTURES, ReadOfKind, is_by_lamp, needs_witness
from spanwalk.rules.fit.cavity import Sample, by_gauge, measure_more
from spanwalk.rules.fit.not_converted import NEVER
from spanwalk.rules.fit.prediction import ONE_IN
from spanwalk.rules.fit.sampling import Place, counting, is_gauge, is_inside, place_of
from spanwalk.rules.judging.judgement_types import Degree, Fit, Judgement, NextStep, ToSettle
from spanwalk.rules.record_types import CavityReadingView, GroupView, KindView
from spanwalk.rules.record_view import Table
from spanwalk.rules.said import Said
from spanwalk.rules.survey import facet

DEGREES = constants.DEGREES
"""From the best to the worst."""
NEXT_STEP_FROM = constants.NEXT_STEP_FROM
"""Cavities read from which a stronger step than one more reading is offered: two give a spread (common practice)."""
ALONE_TICKS = constants.ALONE_TICKS
"""A sound socket pair has 0 to 3 mm of play (see `points.readings`): cavities further apart want a second look [1/320 mm]."""
SHOWS = "it-is-what-the-tape-shows"
NOT_BY_METHOD = "plan.not."
"""Start of the codes of what stands against converting a body at all: see `not_converted`."""


def held_by(
    group: GroupView,
    kind: KindView,
    readings: Sequence[CavityReadingView],
    questions: Mapping[str, Sequence[Said]],
) -> list[Said]:
    """What in the readings holds back a 'fits', whichever bar it is.

    Parameters
    ----------
    group, kind : view records
        The group and its kind.
    readings : sequence of view records
        All readings of the group that are not removed; lengths [1/320 mm].
    questions : mapping
        What is asked about each reading, by its id: see `sampling.questions_of`.

    Returns
    -------
    list of dict
        `held.question` with how many readings wait for an answer and where the first is; `held.alone` with the cavity
        that stands more than 3 mm from every other of the group, the shortest first, until it is confirmed or read again.
    """
    return [*_unanswered(readings, questions), *_alone(group, kind, readings)]


def _unanswered(readings: Sequence[CavityReadingView], questions: Mapping[str, Sequence[Said]]) -> Iterator[Said]:
    """Readings with a question that nobody has answered."""
    asked = [place_of(each) for each in counting(readings) if each["id"] in questions and not _is_confirmed(each)]
    if asked:
        position, row, cavity = min(asked)
        facts = {"n": len(asked), "position": position, "row": row, "cavity": cavity}
        yield {"code": "held.question", "facts": facts}


def _alone(group: GroupView, kind: KindView, readings: Sequence[CavityReadingView]) -> Iterator[Said]:
    """The shortest cavity that stands alone; one that was confirmed, or read twice, is what it is."""
    found: dict[Place, list[CavityReadingView]] = {}
    for each in counting(readings):
        if not is_gauge(each) and is_inside(place_of(each), group, kind):
            found.setdefault(place_of(each), []).append(each)
    lengths = {place: _mean_ticks(own) for place, own in found.items()}
    doubtful = [place for place, own in found.items() if len(own) == 1 and not _is_confirmed(own[0])]
    for place in sorted(doubtful, key=lambda each: (lengths[each], each)):
        apart = min((abs(lengths[place] - other) for at, other in lengths.items() if at != place), default=0)
        if apart > ALONE_TICKS:
            position, row, cavity = place
            facts = {"position": position, "row": row, "cavity": cavity, "length_ticks": lengths[place]}
            yield {"code": "held.alone", "facts": {**facts, "apart_ticks": apart}}
            return


def _mean_ticks(readings: Sequence[CavityReadingView]) -> int:
    return sum(facet(each, "identity")["length_ticks"] for each in readings) // len(readings)


def _is_confirmed(reading: CavityReadingView) -> bool:
    return facet(reading, "confirmed").get("answer") == SHOWS


def to_settle(
    fit: Fit, sample: Sample, read: Mapping[Place, int], tried: Collection[Place], factors: Table
) -> ToSettle:
    """What it would take to settle a row of bars that is tight.

    By tape: the readings after which the prediction limit reaches what the bars need, if they read like those so far. By a
    gauge: the cavities that a go gauge of that length has to pass, until the limit for those left reaches it. By trial bars:
    those that read too short, and as many more as leave no other cavity that could refuse at 95 % (hypergeometric).

    Parameters
    ----------
    fit : mapping
        The verdict.
    sample : Sample
        The group's cavities [1/320 mm].
    read : mapping
        Trusted length of each cavity that was read with a tape [1/320 mm], by place.
    tried : collection
        Places in which this row of bars was tried.
    factors : mapping
        `prediction.json`.

    Returns
    -------
    dict
        `by_tape`, `by_gauge` and `by_trial` as numbers of cavities, null where that way does not settle it, and
        `needed_ticks` that a gauge has to have.
    """
    needed = fit["terms"]["needed_ticks"]
    return {
        "by_tape": measure_more(sample, needed, factors),
        "by_gauge": by_gauge(sample, needed, factors),
        "by_trial": _by_trial(sample.population, read, needed, tried),
        "needed_ticks": needed,
    }


def _by_trial(
    population: int | None, read: Mapping[Place, int], needed_ticks: int, tried: Collection[Place]
) -> int | None:
    """Cavities to try until none of the others could refuse; those that read too short are among them.

    One short cavity of N is missed by t blind trials with probability (N - t) / N: no more than one in twenty from N - N/20 on.
    """
    if population is None:
        return None
    long_enough = {place for place, ticks in read.items() if ticks >= needed_ticks}
    short = len(read.keys() - long_enough - set(tried))
    goes = min(len(long_enough | set(tried)), population)
    return max(population - population // ONE_IN - goes, short, 0)


def degree_of(group: GroupView, told: Judgement, read: ReadOfKind) -> Degree:
    """How sure the verdict on the best row of bars of a group is.

    Parameters
    ----------
    group : view record
        The group.
    told : mapping
        What `judging.judge_group` says of it.
    read : ReadOfKind
        What was read of its kind: see `by_lamp.read_of_kind`.

    Returns
    -------
    dict
        `degree`, one of `DEGREES`; `releasable`; `held_by` as codes and facts; `n` cavities read `of` all, or null where
        nobody counted; `next`, the strongest next step, or null.
    """
    best = told["best"]
    fit = None if best is None else told["fits"][best]
    wanted = {"fixtures": read.fixtures, "wanted": LEAST_FIXTURES} if needs_witness(group, fit, read) else None
    held = _held(told, fit, wanted)
    degree = _degree(fit, held)
    return {
        "degree": degree,
        "releasable": degree in DEGREES[: DEGREES.index("so-far")],
        "held_by": held,
        "n": told["trusted"]["n"],
        "of": told["trusted"]["population"],
        "next": _next(told, degree, read if wanted else None),
    }


def _held(told: Judgement, fit: Fit | None, wanted: Mapping[str, int] | None) -> list[Said]:
    """Everything that stands between the verdict and a release; that it is not by this method is said whatever was read.

    Where nothing can change that, it is said alone: what is open about readings then asks for nothing.
    """
    against = _against(told)
    if never := [each for each in against if each["code"] in NEVER]:
        return never
    if fit is None:
        return [*against, *told["trusted"]["reasons"]]
    if fit["unsuited"]:
        return [*against, *fit["unsuited"]]
    witness: list[Said] = [{"code": "held.witness", "facts": dict(wanted)}] if wanted else []
    return [*told["held_by"], *fit["unsure"], *witness]


def _against(told: Judgement) -> list[Said]:
    return [each for each in told["held_by"] if each["code"].startswith(NOT_BY_METHOD)]


def _degree(fit: Fit | None, held: Sequence[Said]) -> str:
    if any(each["code"] in NEVER for each in held):
        return "never"
    if fit is None:
        return "cannot-tell"
    if fit["verdict"] == "too long":
        return "too-long"
    if fit["unsuited"]:
        return "cannot-tell"
    if fit["verdict"] != "fits":
        return fit["verdict"].replace(" ", "-")
    if held:
        return "so-far"
    trial = fit.get("trial")
    if fit["basis"] == "trial" or (trial is not None and trial["tried"] > 0):
        return "by-trial"
    return "by-lamp" if is_by_lamp(fit) else "fits"


def _next(told: Judgement, degree: str, witness: ReadOfKind | None) -> NextStep | None:
    """The strongest next step: for a tight row from the second reading on, for a fit by the lamp while it wants a witness."""
    best = told["best"]
    if best is None or _against(told):
        return None
    bars = told["fits"][best]["bars"]
    settle = told["to_settle"]
    if degree == "tight" and settle is not None and told["trusted"]["n"] >= NEXT_STEP_FROM:
        return {"bars": bars, "by_lamp": False, **settle}
    if degree == "so-far" and witness is not None:
        needed = told["fits"][best]["terms"]["needed_ticks"]
        ways: ToSettle = {"by_tape": _more(witness), "by_gauge": None, "by_trial": 1, "needed_ticks": needed}
        return {"bars": bars, "by_lamp": True, **ways}
    return None


def _more(read: ReadOfKind) -> int:
    """Fixtures of the kind to read until a fit by the lamp has its witnesses; every cavity that is left where those are fewer."""
    more = LEAST_FIXTURES - read.fixtures
    return more if read.population is None else min(more, max(read.population - read.cavities, 1))


__all__ = ["DEGREES", "degree_of", "held_by", "to_settle"]
