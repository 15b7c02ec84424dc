"""What is open when a building is handed over, room by room, as sentences: nothing of it is left to be found out later."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from spanwalk.rules.outcomes import UNANSWERED, difference_state, problem_state
from spanwalk.rules.record_types import GroupView, InstallationView
from spanwalk.rules.survey import Survey, facet
from spanwalk.rules.ticks import missing_checks
from spanwalk.services.handover.fixtures import Noted
from spanwalk.services.handover.told import DONE, NOT_NOTED, FixtureTold, LightTold, OpenTold
from spanwalk.services.releases.emergency_tests import Line
from spanwalk.words import choice_text, say

NOT_DONE, PROBLEM, DIFFERS, TICKS, NO_LABEL, TEST, LIGHT = (
    "not-done",
    "problem",
    "differs",
    "ticks",
    "no-label",
    "test",
    "light",
)
Lines = Iterator[tuple[str, str]]


def open_in_group(
    survey: Survey, group: GroupView, mark: str, noted: Mapping[int, Noted], fixtures: Sequence[FixtureTold]
) -> Lines:
    """What is open in a group, as what sort and a sentence: fixtures not done, problems, differences, ticks and labels that lack."""
    yield from _not_done(mark, fixtures)
    for position, here in noted.items():
        facts = {"mark": mark, "position": position}
        if here.last is not None and facet(here.last, "identity").get("outcome") == PROBLEM:
            yield PROBLEM, say("handover-report.open.problem", facts | _problem(survey, here.last))
        if here.done is not None:
            yield from _of_done(survey, here, facts)
    unlabelled = [each.position for each in fixtures if each.state == DONE and not each.code]
    if unlabelled:
        yield NO_LABEL, say("handover-report.open.no-label", {"mark": mark, "positions": ranges(unlabelled)})


def _not_done(mark: str, fixtures: Sequence[FixtureTold]) -> Lines:
    by_state: dict[str, list[int]] = {}
    for each in fixtures:
        if each.state not in (DONE, PROBLEM):
            by_state.setdefault(each.state, []).append(each.position)
    for state, positions in by_state.items():
        facts = {"mark": mark, "n": len(positions), "positions": ranges(positions), "all": len(fixtures)}
        code = "nothing-noted" if state == NOT_NOTED else "not-done"
        yield NOT_DONE, say(f"handover-report.open.{code}", facts | {"state": state})


def _problem(survey: Survey, installation: InstallationView) -> dict[str, str]:
    said = facet(installation, "identity")
    told = [choice_text(str(said["reason"])) if said.get("reason") else "", str(said.get("problem") or "")]
    state = problem_state(survey, installation)
    code = "unanswered" if state == UNANSWERED else "answered"
    return {
        "what": ": ".join(each for each in told if each) or say("handover-report.open.no-words"),
        "answer": say(f"handover-report.open.{code}", {"answer": choice_text(state)}),
    }


def _of_done(survey: Survey, here: Noted, facts: Mapping[str, object]) -> Lines:
    assert here.done is not None
    state = difference_state(survey, here.done)
    if state in (UNANSWERED, "sent-back"):
        yield DIFFERS, say(f"handover-report.open.differs-{state}", facts)
    missing = missing_checks(here.card, int(str(facts["position"])), facet(here.done, "identity").get("checks") or ())
    if missing:
        yield TICKS, say("handover-report.open.ticks", {**facts, "checks": missing})


def open_tests(lines: Iterable[Line]) -> Iterator[OpenTold]:
    """Emergency fixtures whose newest test did not pass, a sentence each."""
    for line in lines:
        if line["newest"] and line["state"] != "passed":
            facts = {"mark": line["mark"], "position": line["position"], "state": line["state"]}
            text = say("handover-report.open.test", facts)
            yield OpenTold(line["floor_name"], line["room_name"], TEST, text)


def open_light(light: Sequence[LightTold], any_done: bool) -> Lines:
    """That light was read before and not after, in a room in which something is done."""
    whens = {each.when for each in light}
    if any_done and "before" in whens and "after" not in whens:
        yield LIGHT, say("handover-report.open.light")


def ranges(numbers: Sequence[int]) -> str:
    """Numbers in short.

    >>> ranges([1, 2, 3, 7, 9, 10])
    '1–3, 7, 9, 10'
    """
    runs: list[list[int]] = []
    for each in sorted(numbers):
        if runs and each == runs[-1][-1] + 1:
            runs[-1].append(each)
        else:
            runs.append([each])
    told = [[f"{run[0]}–{run[-1]}"] if len(run) > 2 else [str(each) for each in run] for run in runs]
    return ", ".join(text for run in told for text in run)
