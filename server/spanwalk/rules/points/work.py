"""Open points of the crew's work: problems, what was fitted otherwise, what no release has, parts that are short. Twin: pwa/rules/points/work.js."""

from __future__ import annotations

from collections.abc import Iterator

from spanwalk.rules.installing.last_word import place_of
from spanwalk.rules.installing.noted import in_force, noted_in
from spanwalk.rules.installing.outcomes import (
    DONE_AGAIN,
    TO_DO,
    UNANSWERED,
    WAITS,
    difference_state,
    newest_outcomes,
    passed_over,
    problem_state,
)
from spanwalk.rules.points.found import Found, Seen, of_group
from spanwalk.rules.record_types import GroupView, InstallationView, PickingView
from spanwalk.rules.record_view import Record
from spanwalk.rules.since_release.work import further_fixtures
from spanwalk.rules.survey import facet


def problem_open(seen: Seen) -> Iterator[Found]:
    """Fixtures whose newest word is a problem to which the manager has still to say or do something, or hid one from them."""
    for group, position, installation in (*_noted(seen, "problem"), *_passed_over(seen)):
        state = problem_state(seen.survey, installation)
        if state in WAITS:
            identity = facet(installation, "identity")
            said = identity.get("problem") or identity.get("reason", "other")
            yield _of_fixture(seen, group, installation, position, said=said, state=state)


def problem_to_do(seen: Seen) -> Iterator[Found]:
    """Fixtures whose problem was answered, and on which the crew goes on."""
    for group, position, installation in _noted(seen, "problem"):
        if problem_state(seen.survey, installation) == TO_DO:
            yield _of_fixture(seen, group, installation, position)


def difference_open(seen: Seen) -> Iterator[Found]:
    """Fixtures that were fitted otherwise than released, and nobody has accepted or sent it back."""
    for group, position, installation in _noted(seen, "done"):
        if difference_state(seen.survey, installation) in WAITS:
            yield _of_fixture(seen, group, installation, position)


def sent_back(seen: Seen) -> Iterator[Found]:
    """Fixtures that the crew does again."""
    for group, position, installation in _noted(seen, "done"):
        if difference_state(seen.survey, installation) == DONE_AGAIN:
            yield _of_fixture(seen, group, installation, position)


def not_in_release(seen: Seen) -> Iterator[Found]:
    """Groups with fixtures that were counted after their release and are not done: nothing was released or ordered for them."""
    conversions = in_force(seen.survey)
    for group in seen.survey.groups_to_convert():
        said = facet(conversions.get(group["id"]), "identity")
        further = further_fixtures(group, said.get("facts") or {})
        if further:
            done = noted_in(seen.survey, group, None)
            left = [each for each in further if done[each].done is None]
            if left:
                yield of_group(seen, group, positions=", ".join(map(str, left)), release=said.get("number", 0))


def picked_short(seen: Seen) -> Iterator[Found]:
    """Parts of which there were too few when a room was picked for; what was said last of each counts."""
    newest: dict[tuple[str, str, str, str], PickingView] = {}
    for each in sorted(seen.survey.of_type("picking"), key=lambda each: (place_of(each), each["id"])):
        said = facet(each, "identity")
        newest[(each["parent"], said.get("release", ""), said.get("sort", ""), said.get("item", ""))] = each
    for (_, _, sort, item), each in sorted(newest.items()):
        if short := facet(each, "identity").get("short", 0):
            yield Found(each["id"], seen.survey.room_of(each), {"sort": sort, "item": item, "short": short})


def _noted(seen: Seen, outcome: str) -> Iterator[tuple[GroupView, int, InstallationView]]:
    """Each fixture on which this was noted last."""
    for group in seen.survey.of_type("group"):
        for position, installation in sorted(newest_outcomes(seen.survey, group).items()):
            if facet(installation, "identity").get("outcome") == outcome:
                yield group, position, installation


def _passed_over(seen: Seen) -> Iterator[tuple[GroupView, int, InstallationView]]:
    """Each problem that nobody answered and after which only other people noted something."""
    for group in seen.survey.of_type("group"):
        for installation in passed_over(seen.survey.children(group, "installation")):
            if problem_state(seen.survey, installation) == UNANSWERED:
                yield group, facet(installation, "identity").get("position", 0), installation


def _of_fixture(seen: Seen, group: GroupView, about: Record, position: int, **facts: object) -> Found:
    found = of_group(seen, group, position=position, **facts)
    return found._replace(record=about["id"])
