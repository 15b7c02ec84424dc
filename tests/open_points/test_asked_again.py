"""What is open is found once and kept: rows read, groups judged and answers taken from before are counted, not timed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random
from typing import Any

import pytest
from sqlalchemy import event, select
from tests.planning.invented_site import invented_site
from tests.planning.stored_site import store, store_changes
from tests.planning.test_planning_again import counted, pushed
from tests.support.installation import DEVICES, Installation, installed

from spanwalk.reference import tables
from spanwalk.rules.judging import judging
from spanwalk.rules.judging.judged import judge_groups
from spanwalk.rules.points.open_points import open_points
from spanwalk.rules.survey import Survey
from spanwalk.services.planning import completeness, kept_answers, plans
from spanwalk.services.planning import inputs as plan_inputs
from spanwalk.services.planning.room_light import lights_off
from spanwalk.services.planning.totals import rooms_of_mixed_looks
from spanwalk.services.privacy import anonymising
from spanwalk.services.sync.state import site_records
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import KeptAnswer, db

GROUPS = 40
Json = Any
Records = list[dict[str, Any]]


@pytest.fixture(autouse=True)
def _starts_from_nothing() -> Iterator[None]:
    _start_again()
    yield
    _start_again()


def _start_again() -> None:
    """As a server that has just started: what processes keep in memory is gone."""
    for kept in (completeness._judged, plans._kept):
        kept.clear()


@pytest.fixture
def site(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[Installation, Records]]:
    monkeypatch.setattr(completeness, "KEPT_FROM_POINTS", 10)
    records = invented_site(GROUPS, in_a_room=10)
    with installed(tmp_path / "data") as installation:
        store(installation, records)
        yield installation, records


@pytest.fixture
def judged(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Ids of the groups that are judged, by plans or by themselves."""
    found = counted(monkeypatch, plan_inputs, "judge_group", lambda group, *_: str(group["id"]))
    monkeypatch.setattr(judging, "judge_group", plan_inputs.judge_group)
    return found


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Sites whose open points are really found."""
    return counted(monkeypatch, completeness, "_judge", lambda _, site, *__: str(site))


@pytest.fixture
def again(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Sites of which only those points are found that changes touch."""
    return counted(monkeypatch, completeness, "found_again", lambda _, site, *__: str(site))


def asked(installation: Installation, query: str = "") -> Json:
    answer = installation.call("manager", "GET", "/api/sites/{site}/completeness" + query)
    assert answer.status_code == 200, answer.text
    return answer.json


class RowsRead:
    """Rows of records that the database hands out, counted at the driver."""

    def __init__(self, installation: Installation) -> None:
        self.rows = 0
        with installation.app.app_context():
            self.engine = db.engine

    def __enter__(self) -> RowsRead:
        event.listen(self.engine, "after_cursor_execute", self._note)
        return self

    def __exit__(self, *_: object) -> None:
        event.remove(self.engine, "after_cursor_execute", self._note)

    def _note(self, connection: Any, _cursor: Any, statement: str, parameters: Any, *_: object) -> None:
        if "FROM record " in statement and "facets" in statement:
            raw = connection.connection.driver_connection
            self.rows += len(raw.execute(statement, parameters).fetchall())


def test_each_row_is_read_once_and_each_group_judged_once(
    site: tuple[Installation, Records], judged: list[str]
) -> None:
    """Money, figures and rows of its own are looked at by themselves too: a handful of rows, however large the site is."""
    installation, records = site
    installation.client("manager")
    with RowsRead(installation) as read:
        told = asked(installation)
    assert len(told["open_points"]) > 10
    assert len(records) <= read.rows <= len(records) + 10
    survey = Survey(records)
    assert len(judged) == len(set(judged)) == len(survey.groups_to_convert())


def test_asked_again_no_row_is_read_and_nothing_judged(site: tuple[Installation, Records], judged: list[str]) -> None:
    installation, _ = site
    first = asked(installation)
    judged.clear()
    with RowsRead(installation) as read:
        again = asked(installation)
    assert (again, judged) == (first, [])
    assert read.rows <= 10


def test_a_change_of_one_group_is_judged_in_that_group_alone(
    site: tuple[Installation, Records], judged: list[str]
) -> None:
    installation, records = site
    asked(installation)
    judged.clear()
    group = next(each for each in records if each["type"] == "group" and each in Survey(records).groups_to_convert())
    pushed(installation, records, group, "count", count=77)
    told = asked(installation)
    assert judged == [group["id"]]
    _start_again()
    with installation.app.app_context(), writing() as session:
        kept_answers.forget_answers(session)
    assert told == asked(installation)


def test_a_phone_that_is_heard_of_again_changes_nothing_one_that_holds_work_does(
    site: tuple[Installation, Records], made: list[str], again: list[str]
) -> None:
    installation, _ = site
    asked(installation)
    device = DEVICES["surveyor"]

    def heard_of(unsent: int) -> None:
        query = f"since=0&limit=1&device={device}&unsent={unsent}&unsent_photos=0"
        assert installation.call("surveyor", "GET", "/api/sites/{site}/pull?" + query).status_code == 200

    made.clear()
    heard_of(0)
    asked(installation)
    assert (made, again) == ([], [])
    heard_of(3)
    (point,) = (each for each in asked(installation)["open_points"] if each["rule"] == "unsent-work")
    assert (point["facts"]["operations"], made, again) == (3, [], [installation.site])


# -- kept for a server that starts again


def test_a_server_that_starts_again_takes_what_was_found_before(
    site: tuple[Installation, Records], judged: list[str]
) -> None:
    installation, _ = site
    first = asked(installation)
    judged.clear()
    _start_again()
    with RowsRead(installation) as read:
        again = asked(installation)
    assert (again, judged) == (first, [])
    assert read.rows <= 10


def test_once_a_record_or_a_photo_has_changed_the_rest_is_taken_from_before(
    site: tuple[Installation, Records], made: list[str], again: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    installation, records = site
    asked(installation)
    made.clear()
    group = next(each for each in records if each["type"] == "group")
    pushed(installation, records, group, "count", count=77)
    _start_again()
    told = asked(installation)["open_points"]
    assert (made, again) == ([], [installation.site])
    assert told == afresh(installation)
    monkeypatch.setattr(completeness, "photos_arrived", lambda *_: ["f" * 64])
    _start_again()
    assert asked(installation)["open_points"] == told
    assert (made, again) == ([], [installation.site] * 2)


def test_nothing_is_taken_from_before_once_the_program_or_what_all_hangs_on_has_changed(
    site: tuple[Installation, Records], made: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    installation, records = site
    asked(installation)

    def anew() -> bool:
        made.clear()
        _start_again()
        asked(installation)
        return bool(made)

    assert not anew()
    price = next(each for each in records if each["type"] == "price")
    store_changes(installation, [price])
    assert not anew()
    price["facets"]["identity"]["each"] += 1
    store_changes(installation, [price])
    assert anew()
    assert not anew()
    monkeypatch.setattr(kept_answers, "program_fingerprint", lambda: "another")
    assert anew()
    assert not anew()
    monkeypatch.setattr(completeness, "incarnation", lambda _: "another")
    assert anew()


def test_of_plans_too_only_those_are_made_again_that_changed_since_a_server_kept_them(
    site: tuple[Installation, Records], judged: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    installation, records = site
    monkeypatch.setattr(plans, "KEPT_FROM_MADE", 10)
    asked(installation)
    assert _kept(installation) == ["ground", "plans", "points"]
    group = next(each for each in Survey(records).groups_to_convert())
    pushed(installation, records, group, "count", count=77)
    judged.clear()
    _start_again()
    with installation.app.app_context(), reading() as session:
        found = plans.site_plan(session, installation.site)
    assert judged == [group["id"]]
    assert found.plans[group["id"]]["fixtures"] == 77


def test_within_a_writing_transaction_nothing_is_kept_and_nobody_waits(
    site: tuple[Installation, Records], monkeypatch: pytest.MonkeyPatch
) -> None:
    installation, _ = site
    monkeypatch.setattr(plans, "KEPT_FROM_MADE", 10)
    with installation.app.app_context(), writing() as session:
        assert completeness.judged_site(session, installation.site).points
    assert _kept(installation) == []


def test_a_small_site_is_not_kept(site: tuple[Installation, Records], monkeypatch: pytest.MonkeyPatch) -> None:
    installation, _ = site
    monkeypatch.setattr(completeness, "KEPT_FROM_POINTS", 100_000)
    asked(installation)
    assert _kept(installation) == []


def test_who_is_taken_out_of_everything_stands_in_no_kept_answer(
    site: tuple[Installation, Records], monkeypatch: pytest.MonkeyPatch
) -> None:
    installation, _ = site
    asked(installation)
    assert _kept(installation) == ["ground", "points"]
    person = installation.people["crew"]
    with installation.app.app_context(), writing() as session:
        session.execute(_left(person))
        anonymising.anonymise(session, person, installation.people["owner"])
    assert _kept(installation) == []


def _left(person: str) -> Any:
    from sqlalchemy import update

    from spanwalk.storage.tables import LEFT, Person

    return update(Person).where(Person.id == person).values(state=LEFT)


def _kept(installation: Installation) -> list[str]:
    with installation.app.app_context(), reading() as session:
        return sorted(session.execute(select(KeptAnswer.what)).scalars())


# -- equal to what is found afresh

CHANGED: dict[str, Callable[[Json], dict[str, Any]]] = {
    "count": lambda said: {"count": said["count"] % 7 + 1 + 7 * (said["count"] < 8)},
    "duty": lambda said: {"dimming": "0-10-v" if said["dimming"] == "none" else "none"},
    "supply": lambda said: {"volts": "not-seen" if said["volts"] == "277" else "277"},
}
"""Facet -> something else than it says."""


def afresh(installation: Installation) -> list[Json]:
    """Open points found without anything kept: all rows read, whole judgements."""
    with installation.app.app_context(), reading() as session:
        records = site_records(session, installation.site)
        found = plans.make_plans(records)
        survey = Survey(records)
        not_ready = [
            {"group": id, "because": plan["blockers"]} for id, plan in found.plans.items() if plan["state"] != "ready"
        ]
        facts: Any = {
            "photos_arrived": [],
            "devices": [],
            "judgements": judge_groups(survey, tables()),
            "not_ready": not_ready,
            "lights_off": lights_off(found),
            "looks_mixed": rooms_of_mixed_looks(found),
        }
        return list(open_points(records, facts, tables()))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_after_any_changes_it_is_what_is_found_afresh(tmp_path: Path, seed: int) -> None:
    random, records = Random(seed), invented_site(24, seed, in_a_room=6)
    with installed(tmp_path / "data") as installation:
        store(installation, records)
        assert asked(installation)["open_points"] == afresh(installation)
        groups = [each for each in records if each["type"] == "group"]
        for group, facet in zip(random.sample(groups, 6), sorted(CHANGED) * 2, strict=True):
            pushed(installation, records, group, facet, **CHANGED[facet](group["facets"][facet]))
            assert asked(installation)["open_points"] == afresh(installation)
