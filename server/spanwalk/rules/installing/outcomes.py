"""What was noted last on each fixture, and what a manager said to it. Twin: pwa/rules/installing/outcomes.js."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeVar, cast

from spanwalk.rules import constants
from spanwalk.rules.installing.as_fitted import fitted_items
from spanwalk.rules.installing.last_word import last_words, place_of
from spanwalk.rules.record_types import (
    ConversionView,
    DifferenceAnswerView,
    GroupView,
    InstallationView,
    ProblemAnswerView,
    ProblemReplyView,
)
from spanwalk.rules.record_view import Record
from spanwalk.rules.since_release.seen import Change
from spanwalk.rules.since_release.standing import fingerprint_of, newest_of
from spanwalk.rules.survey import Survey, facet

UNANSWERED = constants.UNANSWERED
AS_RELEASED = constants.AS_RELEASED
RELEASED_SINCE = constants.RELEASED_SINCE
NEW_RELEASE = constants.NEW_RELEASE
TO_DO = constants.TO_DO
DONE_AGAIN = constants.DONE_AGAIN
PROBLEM = "problem"
WAITS = constants.WAITS
"""Answers after which the manager has still to say or do something."""

Told = TypeVar("Told", bound=Record)


def newest(records: Iterable[Told]) -> Told | None:
    """The one that the server took last, whatever the phones' clocks say; None of none."""
    return max(records, key=lambda each: (place_of(each), each["id"]), default=None)


def newest_outcomes(survey: Survey, group: GroupView) -> dict[int, InstallationView]:
    """Position -> what was noted last on the fixture there."""
    return last_words(survey.children(group, "installation"))


def last_of_all(installations: Iterable[InstallationView]) -> list[InstallationView]:
    """What was noted last on each fixture of a site.

    Parameters
    ----------
    installations : iterable of view records
        All that was noted on the site.
    """
    groups: dict[str, list[InstallationView]] = {}
    for each in installations:
        groups.setdefault(each["parent"], []).append(each)
    return [each for some in groups.values() for each in last_words(some).values()]


def passed_over(installations: Iterable[InstallationView]) -> list[InstallationView]:
    """Problems after which only other people noted something on the fixture: they may not have known of it.

    A phone without a signal sends 'done' hours after another one's 'the ballast leaks', and would close it unseen. Whoever
    said what was wrong closes it by a word of their own; else a manager answers it. Of records that do not tell by whom they
    are nothing is known.

    Parameters
    ----------
    installations : iterable of view records
        What was noted, with whose word it is.

    Returns
    -------
    list of view records
        In the order in which the server took them.

    Examples
    --------
    >>> noted = [
    ...     {"id": id, "parent": "g", "facets": {"identity": {"position": 1, "outcome": outcome}}, "seqs": {"identity": seq}, "by": {"identity": by}}
    ...     for id, outcome, seq, by in (("a", "problem", 4, "ann"), ("b", "done", 9, "bo"))
    ... ]
    >>> [each["id"] for each in passed_over(noted)]
    ['a']
    """
    later: dict[tuple[str, int], set[str]] = {}
    found: list[InstallationView] = []
    for each in sorted(installations, key=lambda each: (place_of(each), each["id"]), reverse=True):
        said = facet(each, "identity")
        since = later.setdefault((each["parent"], said.get("position", 0)), set())
        by = each.get("by", {}).get("identity")
        if said.get("outcome") == PROBLEM and by is not None and since and by not in since:
            found.append(each)
        since.add(str(by))
    return found[::-1]


def problem_state(survey: Survey, installation: InstallationView) -> str:
    """How far the talk about a problem is: the manager's newest answer, or that there is none.

    A word of the crew after the answer asks again. 'A new release comes' is kept once a newer release is out.

    Parameters
    ----------
    survey : Survey
        The records as they are now.
    installation : view record
        One whose outcome is a problem.

    Returns
    -------
    str
        ``unanswered``, ``do-it-so``, ``skip``, ``wait``, ``new-release``, or ``released-since``.
    """
    answers = survey.children(installation, "problem_answer")
    words: list[Record] = [
        *cast("list[Record]", answers),
        *cast("list[Record]", survey.children(installation, "problem_reply")),
    ]
    last = newest(words)
    if last is None or last["type"] != "problem_answer" or not facet(cast("ProblemAnswerView", last), "identity"):
        return UNANSWERED
    said = str(facet(cast("ProblemAnswerView", last), "identity")["answer"])
    return RELEASED_SINCE if said == NEW_RELEASE and _is_released_since(survey, installation) else said


def _is_released_since(survey: Survey, installation: InstallationView) -> bool:
    group = cast("GroupView | None", survey.by_id.get(installation["parent"]))
    latest: ConversionView | None = newest_of(survey, group) if group is not None else None
    return latest is not None and latest["id"] != facet(installation, "identity").get("conversion")


def differs(installation: InstallationView) -> bool:
    """Whether a fixture is done and was fitted otherwise than released; what says nothing of it does not."""
    done = facet(installation, "identity").get("outcome") == "done"
    return done and facet(installation, "as_fitted").get("as_released") is False


def difference_state(survey: Survey, installation: InstallationView) -> str:
    """What a manager said to what was fitted otherwise: ``as-released``, ``unanswered``, ``accepted`` or ``sent-back``.

    An answer holds for what was said when it was given: what the crew corrects afterwards is unanswered again.

    Parameters
    ----------
    survey : Survey
        The records as they are now.
    installation : view record
        What was noted on a fixture.
    """
    if not differs(installation):
        return AS_RELEASED
    now = fitted_fingerprint(installation)
    answers = [
        each
        for each in survey.children(installation, "difference_answer")
        if facet(each, "identity").get("answers") == now
    ]
    last: DifferenceAnswerView | None = newest(answers)
    return str(facet(last, "identity")["answer"]) if last is not None else UNANSWERED


def fitted_fingerprint(installation: InstallationView) -> str:
    """What names a set of fitted items: 16 hexadecimal digits over item, number, rows, setting and serials of each.

    Examples
    --------
    >>> fitted_fingerprint({"facets": {"as_fitted": {"items": [{"kind": "bar", "code": "B", "number": 2}]}}})
    '381031e08cdfe2e7'
    """
    lines: list[Change] = [
        {
            "fact": "fitted",
            "weight": "",
            "about": f"{place}|{each['kind']}|{each['code']}",
            "before": [each["number"], each.get("setting_ma")],
            "now": [each.get("rows"), each.get("serials")],
        }
        for place, each in enumerate(fitted_items(installation, []) or [])
    ]
    return fingerprint_of(lines) if lines else constants.NOTHING_SAID


def words_on(survey: Survey, installation: InstallationView) -> list[ProblemAnswerView | ProblemReplyView]:
    """Answers and words on a problem, the oldest first."""
    said: list[ProblemAnswerView | ProblemReplyView] = [
        *survey.children(installation, "problem_answer"),
        *survey.children(installation, "problem_reply"),
    ]
    return sorted(said, key=lambda each: (place_of(each), each["id"]))
