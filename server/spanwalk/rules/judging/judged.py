"""What the readings of each group come to, for all groups of a site. Twin: pwa/rules/judging/judged.js."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal, cast

from spanwalk.rules.fit.by_lamp import read_of_kind
from spanwalk.rules.fit.cavity import Spread, pooled, without
from spanwalk.rules.fit.sampling import spread_of_group
from spanwalk.rules.judging.degree import degree_of
from spanwalk.rules.judging.judgement_types import Degree, Fit, Judgement, Trusted
from spanwalk.rules.record_types import (
    CatalogueItemView,
    CavityReadingView,
    GroupView,
    KindView,
    RoomView,
    TrialBarView,
)
from spanwalk.rules.record_view import Tables
from spanwalk.rules.survey import Survey, has

Judge = Callable[..., Judgement]
GAP: tuple[Literal["gap_ticks"], ...] = ("gap_ticks",)
OF_FIT: tuple[Literal["verdict", "clearance_ticks", "basis", "trial"], ...] = (
    "verdict",
    "clearance_ticks",
    "basis",
    "trial",
)
"""What open points look at of a row of bars."""


@dataclass(frozen=True)
class ToJudge:
    """A group that is to be converted, with all that its judgement hangs on beside the site and its bars.

    `elsewhere` is the spread within the other groups of its kind.
    """

    group: GroupView
    kind: KindView
    room: RoomView
    readings: list[CavityReadingView]
    elsewhere: Spread
    trials: list[TrialBarView]


def to_judge(survey: Survey, tables: Tables, known: Mapping[str, Spread] | None = None) -> Iterator[ToJudge]:
    """Every group that is to be converted and has a kind and a room, by kind.

    The spread within the groups of a kind is pooled once and each group's own taken out, so that the work grows with
    the groups and not with their square.

    Parameters
    ----------
    survey : Survey
        The site's records.
    tables : mapping
        Reference tables.
    known : mapping, optional
        Kind id -> spread of all its groups, of kinds of which the survey has not every group.
    """
    for kind, theirs in _by_kind(survey).values():
        spreads = [spread_of_group(*each, tables) for each in theirs]
        of_kind = (known or {}).get(kind["id"]) or pooled(spreads)
        for (group, _, own), spread in zip(theirs, spreads, strict=True):
            room = survey.room_of(group)
            if room is not None:
                yield ToJudge(group, kind, room, own, without(of_kind, spread), survey.children(group, "trial_bar"))


def judge_groups(
    survey: Survey, tables: Tables, judge: Judge | None = None, judged: Mapping[str, Judgement] | None = None
) -> dict[str, Judgement]:
    """Judge every group that is to be converted and has a kind and a room.

    Parameters
    ----------
    survey : Survey
        The site's records.
    tables : mapping
        Reference tables.
    judge : callable, optional
        Instead of `judging.judge_group`.
    judged : mapping, optional
        Judgements that are at hand already, by group id: only the groups that it lacks are judged.

    Returns
    -------
    dict
        Judgements by group id.
    """
    from spanwalk.rules.judging.judging import judge_group

    judge, bars, known = judge or judge_group, bars_offered(survey), judged or {}
    if all(group["id"] in known for kind, theirs in _by_kind(survey).values() for group, _, _ in theirs):
        return dict(known)
    return {
        each.group["id"]: known[each.group["id"]]
        if each.group["id"] in known
        else judge(
            each.group, each.kind, each.room, survey.site(), each.readings, each.elsewhere, bars, tables, each.trials
        )
        for each in to_judge(survey, tables)
    }


def in_short(judged: Judgement) -> Judgement:
    """What open points look at of a judgement: of the rows of bars the best alone, of the cavity whether readings fall apart.

    A whole judgement has some forty rows; a site of 20,000 groups cannot keep them all at hand.

    Parameters
    ----------
    judged : mapping
        What `judging.judge_group` says.
    """
    best, trusted = judged.get("best"), judged.get("trusted")
    gap = {} if trusted is None else {name: trusted["terms"][name] for name in GAP if name in trusted["terms"]}
    return {
        "trusted": cast("Trusted", {"status": "" if trusted is None else trusted["status"], "terms": gap}),
        "questions": judged.get("questions", {}),
        "fits": [] if best is None else [_fit_in_short(judged["fits"][best])],
        "best": None if best is None else 0,
        "measure_more": judged.get("measure_more"),
        "held_by": judged.get("held_by", []),
    }


def _fit_in_short(fit: Fit) -> Fit:
    return cast("Fit", {name: fit[name] for name in OF_FIT if name in fit})


def degrees(survey: Survey, judgements: Mapping[str, Judgement]) -> dict[str, Degree]:
    """How sure the verdict on each judged group is: see `degree.degree_of`.

    Parameters
    ----------
    survey : Survey
        The site's records.
    judgements : mapping
        What `judge_groups` says, by group id.

    Returns
    -------
    dict
        Degrees by group id.
    """
    found: dict[str, Degree] = {}
    for kind, theirs in _by_kind(survey).values():
        told = [(group, own, judgements.get(group["id"])) for group, _, own in theirs]
        read = read_of_kind((group, kind, own, judged["questions"] if judged else {}) for group, own, judged in told)
        found |= {group["id"]: degree_of(group, judged, read) for group, _, judged in told if judged}
    return found


def bars_offered(survey: Survey) -> list[CatalogueItemView]:
    """Catalogue items with a `bar` facet."""
    return [item for item in survey.of_type("catalogue_item") if has(item, "bar")]


def _by_kind(survey: Survey) -> dict[str, tuple[KindView, list[tuple[GroupView, KindView, list[CavityReadingView]]]]]:
    """Kind id -> the kind and its groups with their readings, voided and set-aside ones too."""
    found: dict[str, tuple[KindView, list[tuple[GroupView, KindView, list[CavityReadingView]]]]] = {}
    for group in survey.groups_to_convert():
        kind = survey.kind_of(group)
        if kind is not None:
            groups = found.setdefault(kind["id"], (kind, []))[1]
            groups.append((group, kind, survey.children(group, "cavity_reading")))
    return found


__all__ = ["Judge", "ToJudge", "bars_offered", "degrees", "in_short", "judge_groups", "to_judge"]
