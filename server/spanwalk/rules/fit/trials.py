"""What does a trial bar prove: a row of bars from the catalogue, put into one cavity by hand? Twin: pwa/rules/fit/trials.js.

What a trial says, and what it does not:

- Of its own cavity a bar that goes in says what a go gauge of the bar's least length says. Pushed in without a gap to be
  seen, it may have spread the holders: their spring-back is taken off. A gap that was seen is added, less 1 mm.
- Of another cavity it says nothing by itself. One trial in one cavity of forty is no proof for forty: beside it stands how
  many of the others could still refuse the bar at 95 %, without a distribution (`prediction.could_be_shorter`). That
  holds for cavities chosen blindly, so those that read too short have to be tried themselves first.
- 'Tight' is settled, and becomes 'fits', when that number is 0 (all cavities tried or long enough by their reading, or
  nineteen in twenty of them), and every trial left room for the tolerance of the bars to come and for warmth. The gap wanted
  at the ends is there to get a bar in by hand, which the trial itself shows.
- Short of that a manager may accept the number as it stands: by a decision for this arrangement, with a reason.
- A bar that did not go in refuses its own row, and every row no shorter, for the whole group, until the pair is set aside or
  the trial voided.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import cast

from spanwalk.rules import constants
from spanwalk.rules.fit.bar_rows import Item, bar_of, ids, nominal_ticks
from spanwalk.rules.fit.prediction import could_be_shorter
from spanwalk.rules.fit.sampling import Place
from spanwalk.rules.judging.judgement_types import Fit, FitTerms, TrialTold, TriedRow
from spanwalk.rules.record_types import CavityReadingIdentity, CavityReadingView, GroupView, TrialBarView
from spanwalk.rules.said import Said
from spanwalk.rules.survey import facet, has

WENT_IN = constants.WENT_IN
GAP_READ_TICKS = constants.GAP_READ_TICKS
"""What a gap is trusted by, held against a rule: 1 mm (common practice, no source)."""
WITH_THIS = constants.WITH_THIS


@dataclass(frozen=True)
class Trial:
    """One trial that counts.

    `least_ticks` is what the cavity measures at least if the bars went in, `most_ticks` what the bars measure at most,
    `nominal_ticks` what they are sold as, joints in it [1/320 mm].
    """

    place: Place
    bars: tuple[str, ...]
    went_in: bool
    nominal_ticks: int
    least_ticks: int
    most_ticks: int


def trials_that_count(
    records: Iterable[TrialBarView], readings: Iterable[CavityReadingView], back_ticks: int, items: Sequence[Item]
) -> list[Trial]:
    """Trials of a group, by id: neither voided, nor in a cavity that was set aside, nor of a bar that is no longer known.

    Parameters
    ----------
    records : iterable of view records
        `trial_bar` records of the group that are not removed; gaps [1/320 mm].
    readings : iterable of view records
        Its cavity readings.
    back_ticks : int
        How far the holders yield [1/320 mm].
    items : sequence of view records
        Catalogue items with a `bar` facet.
    """
    aside = {place_of(each) for each in readings if has(each, "set_aside") and not has(each, "voided")}
    by_id = {item["id"]: item for item in items}
    counted = [each for each in records if not has(each, "voided") and place_of(each) not in aside]
    found = [_trial(each, by_id, back_ticks) for each in sorted(counted, key=lambda record: str(record["id"]))]
    return [each for each in found if each is not None]


def _trial(record: TrialBarView, by_id: Mapping[str, Item], back_ticks: int) -> Trial | None:
    said = facet(record, "identity")
    wanted = [said["bar"]] * said.get("number", 1) + [said.get("then_bar")] * (
        said.get("then_number", 1) if "then_bar" in said else 0
    )
    row = [by_id[each] for each in cast("list[str]", wanted) if each in by_id]
    if len(row) < len(wanted):
        return None
    length, tolerance, gap = (
        nominal_ticks(row),
        sum(bar_of(item)["tolerance_ticks"] for item in row),
        said.get("gap_ticks", 0),
    )
    room = max(gap - GAP_READ_TICKS, 0) if gap > 0 else -back_ticks
    return Trial(
        place_of(record),
        tuple(ids(row)),
        said["went_in"] == WENT_IN,
        length,
        length - tolerance + room,
        length + tolerance,
    )


def place_of(record: CavityReadingView | TrialBarView) -> Place:
    """Fixture, row and cavity of a reading or a trial."""
    identity = facet(record, "identity")
    return identity["position"], identity["row"], identity["cavity"]


def as_gauges(trials: Iterable[Trial]) -> list[CavityReadingView]:
    """Trials as the readings of a gauge: what went in proves its least length, what did not stops at its greatest."""
    return [_gauge(trial, f"trial-{at:04}") for at, trial in enumerate(trials)]


def _gauge(trial: Trial, id_: str) -> CavityReadingView:
    position, row, cavity = trial.place
    length, instrument = (trial.least_ticks, "gauge-goes") if trial.went_in else (trial.most_ticks, "gauge-does-not-go")
    identity: CavityReadingIdentity = {
        "position": position,
        "row": row,
        "cavity": cavity,
        "length_ticks": length,
        "instrument": instrument,
    }
    return {
        "id": id_,
        "type": "cavity_reading",
        "parent": cast("str", None),
        "removed": False,
        "facets": {"identity": identity},
        "conflicts": [],
    }


def with_trials(
    fit: TriedRow,
    row: Sequence[Item],
    trials: Sequence[Trial],
    read: Mapping[Place, int],
    population: int | None,
    asked: bool = False,
) -> TriedRow:
    """A verdict with what trials say of it.

    Parameters
    ----------
    fit : dict
        What `fit.fit_row` gives for the row.
    row : sequence of view records
        Its bars.
    trials : sequence of Trial
        Those of the group's own cavities that count [1/320 mm].
    read : mapping
        Trusted length of each cavity that was read with a tape [1/320 mm], by place.
    population : int or None
        Cavities of the group.
    asked : bool
        Whether a reading of the group waits for a confirmation: then nothing settles it yet.

    Returns
    -------
    dict
        The verdict: 'too long' where the bars, or shorter ones, did not go in; 'fits' where trials settle a tight one; else
        as before. Where this very row was tried, `trial`: `tried` cavities, `left` ones neither tried nor long enough by
        their reading, `could_refuse` of them at 95 % or null, `close` trials without room for tolerance and warmth, `next`
        the place to try it next or null, `settles`.
    """
    refused = min(
        (each for each in trials if not each.went_in and each.nominal_ticks <= nominal_ticks(row)),
        key=lambda each: each.place,
        default=None,
    )
    if refused is not None:
        position, in_row, cavity = refused.place
        reason: Said = {"code": "fit.trial-refused", "facts": {"position": position, "row": in_row, "cavity": cavity}}
        return {**fit, "verdict": "too long", "reasons": [reason], "refused": True}
    own = [each for each in trials if each.bars == tuple(ids(row))]
    if not own:
        return fit
    trial = _told(fit["terms"], own, read, population)
    if asked:
        return {**fit, "trial": {**trial, "settles": False}}
    settled = fit["verdict"] in ("tight", "cannot tell") and fit["clearance_ticks"] is not None and trial["settles"]
    return {
        **fit,
        "verdict": "fits" if settled else fit["verdict"],
        "reasons": [*fit["reasons"], _reason(trial)],
        "trial": trial,
    }


def _told(terms: FitTerms, own: Sequence[Trial], read: Mapping[Place, int], population: int | None) -> TrialTold:
    """What trials of one row of bars come to."""
    snug = terms["needed_ticks"] - terms["end_gaps_ticks"]
    tried = {each.place for each in own}
    roomy = {each.place for each in own if each.least_ticks >= snug}
    long_enough = {place for place, ticks in read.items() if ticks >= terms["needed_ticks"]}
    short = sorted((ticks, place) for place, ticks in read.items() if place not in tried | long_enough)
    goes = len(tried | long_enough)
    refuse = None if short or population is None else could_be_shorter(population, min(goes, population))
    close = len(tried - roomy - long_enough)
    return {
        "tried": len(tried),
        "left": None if population is None else max(population - goes, 0),
        "could_refuse": refuse,
        "close": close,
        "next": list(short[0][1]) if short else None,
        "settles": refuse == 0 and close == 0,
    }


def _reason(trial: TrialTold) -> Said:
    """What the trials come to, as a code and facts."""
    facts = {"tried": trial["tried"], "left": trial["left"], "d": trial["could_refuse"], "close": trial["close"]}
    if trial["settles"]:
        return {"code": "fit.trial-settles", "facts": facts}
    if trial["next"]:
        position, row, cavity = trial["next"]
        return {"code": "fit.trial-next", "facts": {**facts, "position": position, "row": row, "cavity": cavity}}
    if trial["could_refuse"] is None:
        return {"code": "fit.trial-uncounted", "facts": facts}
    return {"code": "fit.trial-close" if trial["close"] else "fit.trial-goes", "facts": facts}


def is_accepted(group: GroupView, fit: Fit | None) -> bool:
    """Whether a manager has accepted a tight row of bars on its trial: decided for an arrangement, with a reason.

    Parameters
    ----------
    group : view record
        The group.
    fit : mapping or None
        The verdict on the row; one without a trial, or one whose cavities that read shortest were not tried, cannot be accepted.
    """
    decision = facet(group, "decision")
    decided = (
        decision.get("decision") == WITH_THIS and decision.get("accepts_trial") is True and bool(decision.get("reason"))
    )
    trial = None if fit is None else fit.get("trial")
    return decided and trial is not None and trial["could_refuse"] is not None


__all__ = ["Trial", "as_gauges", "is_accepted", "place_of", "trials_that_count", "with_trials"]
