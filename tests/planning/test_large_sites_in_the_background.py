"""A large site is planned in the background: who asks is told how far it is, and nobody begins again; groups are counted, not timed."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import insert, select
from tests.planning.invented_site import invented_site
from tests.planning.stored_site import store
from tests.planning.test_planning_again import counted, plan_of, pushed
from tests.support.installation import Installation, installed

from spanwalk.services.clock import later
from spanwalk.services.planning import completeness, kept_answers, under_way
from spanwalk.services.planning import plans as planning
from spanwalk.services.planning.planner import BackgroundPlanner, Watch, are_many_unplanned
from spanwalk.services.planning.plans import PLANNER, site_plan
from spanwalk.services.planning.under_way import Growing, claimed, give_back_claims
from spanwalk.storage import json_text
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import KeptAnswer

Json = Any
GROUPS, AT_ONCE, PART = 24, 5, 4
WITHIN_S = 120.0


def start_again() -> None:
    """As a server that has just started: what a process keeps in memory is gone."""
    for kept in (completeness._judged, planning._kept):
        kept.clear()


@pytest.fixture
def records() -> list[Json]:
    return invented_site(GROUPS)


@pytest.fixture
def site(tmp_path: Path, records: list[Json], monkeypatch: pytest.MonkeyPatch) -> Iterator[Installation]:
    """A site of which more groups are to be planned than anybody is to wait for."""
    for name, value in (("AT_ONCE_MOST", AT_ONCE), ("KEPT_FROM_MADE", 1)):
        monkeypatch.setattr(planning, name, value)
    monkeypatch.setattr("spanwalk.services.planning.planner.AT_ONCE_MOST", AT_ONCE)
    monkeypatch.setattr(under_way, "PART_GROUPS", PART)
    start_again()
    with installed(tmp_path / "data") as installation:
        store(installation, records)
        yield installation
    start_again()


@pytest.fixture
def planned(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Ids of the groups that are really planned."""
    return counted(monkeypatch, planning, "plan_weighed", lambda body, *_: str(body.group["id"]))


class NotYet:
    """A planner that is told of sites and begins with none."""

    def __init__(self) -> None:
        self.told: list[str] = []

    def soon(self, site_id: str, in_s: float = 0.0) -> None:
        self.told.append(site_id)

    def is_at_work(self, site_id: str) -> bool:
        return False

    def has_failed(self, site_id: str) -> bool:
        return False


def rows(installation: Installation, start: str) -> list[str]:
    with installation.app.app_context(), reading() as session:
        query = select(KeptAnswer.what).where(KeptAnswer.what.startswith(start)).order_by(KeptAnswer.what)
        return list(session.execute(query).scalars())


@pytest.mark.parametrize("path", ["/plan", "/plan/groups", "/completeness", "/open-points?by=floor"])
def test_who_asks_for_a_plan_that_is_not_made_is_told_so_and_it_is_begun_once(site: Installation, path: str) -> None:
    planner = site.app.extensions[PLANNER] = NotYet()
    answer = site.call("manager", "GET", "/api/sites/{site}" + path)
    assert (answer.status_code, answer.json["code"]) == (503, "plan.being-read")
    assert answer.json["groups"] == GROUPS
    assert str(GROUPS) in answer.json["detail"]
    assert answer.headers["Retry-After"] == "2"
    assert planner.told == [site.site]


def test_what_is_made_in_the_background_is_what_is_made_while_somebody_waits(
    site: Installation, planned: list[str]
) -> None:
    expected = plan_of(site)
    open_then = site.call("manager", "GET", "/api/sites/{site}/completeness").json
    start_again()
    with site.app.app_context(), writing() as session:
        kept_answers.forget_answers(session)
    planned.clear()
    planner = site.app.extensions[PLANNER] = BackgroundPlanner(site.app)
    assert site.call("manager", "GET", "/api/sites/{site}/plan").status_code == 503
    assert planner.idle(WITHIN_S)
    assert plan_of(site) == expected
    assert site.call("manager", "GET", "/api/sites/{site}/completeness").json == open_then
    assert len(planned) == len(set(planned)) == GROUPS
    assert rows(site, "under-way") == rows(site, "plans-part-") == []


def test_who_asks_for_a_plan_that_cannot_be_made_is_told_so_and_not_to_wait(
    site: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise KeyError("a fault of the rules")

    planner = site.app.extensions[PLANNER] = BackgroundPlanner(site.app)
    with monkeypatch.context() as faulty:
        faulty.setattr(planning, "plan_weighed", broken)
        assert site.call("manager", "GET", "/api/sites/{site}/plan").json["code"] == "plan.being-read"
        assert planner.idle(WITHIN_S)
        for _ in range(2):
            answer = site.call("manager", "GET", "/api/sites/{site}/plan")
            assert (answer.status_code, answer.json["code"]) == (503, "plan.not-made")
    planner._failed.clear()  # a minute later
    assert site.call("manager", "GET", "/api/sites/{site}/plan").json["code"] == "plan.being-read"
    assert planner.idle(WITHIN_S)
    assert site.call("manager", "GET", "/api/sites/{site}/plan").status_code == 200


def test_another_server_tells_how_far_it_is_and_begins_nothing(site: Installation, planned: list[str]) -> None:
    other = site.app.extensions[PLANNER] = BackgroundPlanner(site.app)
    floors = [{"floor_name": "Level 0", "groups": GROUPS, "planned": 7, "ready": 2}]
    with site.app.app_context(), writing() as session:
        body = {"at": later(0), "by": "another", "done": 7, "total": GROUPS, "floors": floors}
        values = {"site": site.site, "what": "under-way", "head": 0, "basis": "another"}
        session.execute(insert(KeptAnswer).values(**values, body=json_text.dumps(body).encode()))
    answer = site.call("manager", "GET", "/api/sites/{site}/plan")
    assert (answer.status_code, answer.json["code"]) == (503, "plan.being-made")
    assert {name: answer.json[name] for name in ("done", "total", "floors")} == {
        "done": 7,
        "total": GROUPS,
        "floors": floors,
    }
    with site.app.app_context(), claimed(site.site) as is_free:
        assert not is_free
    assert planned == []
    with site.app.app_context(), writing() as session:
        kept_answers.forget_answers(session)
    assert other.idle(WITHIN_S)
    assert set(planned) == set(plan_ids(site))


def plan_ids(installation: Installation) -> list[str]:
    with installation.app.app_context(), reading() as session:
        return list(site_plan(session, installation.site).plans)


def test_a_row_of_a_server_that_stopped_keeps_nobody_from_planning(site: Installation) -> None:
    with site.app.app_context(), writing() as session:
        body = {"at": later(-under_way.STOPPED_AFTER_S - 1), "by": "another", "done": 7, "total": 9, "floors": []}
        values = {"site": site.site, "what": "under-way", "head": 0, "basis": "another"}
        session.execute(insert(KeptAnswer).values(**values, body=json_text.dumps(body).encode()))
    with site.app.app_context():
        with reading() as session:
            assert under_way.under_way(session, site.site) is None
        with claimed(site.site) as is_free:
            assert is_free
    assert rows(site, "under-way") == []


def test_a_server_that_ends_takes_nothing_upon_itself_any_more_and_leaves_its_sites_to_the_next(
    site: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    with site.app.app_context():
        with monkeypatch.context() as ending:
            ending.setattr(under_way, "_ends", threading.Event())
            with claimed(site.site) as is_free:
                assert is_free
                give_back_claims()
                assert rows(site, "under-way") == []
            with claimed(site.site) as is_free:
                assert not is_free
        with claimed(site.site) as is_free:
            assert is_free


def test_a_server_that_stopped_over_a_plan_is_carried_on_from_what_it_kept(
    site: Installation, planned: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    before = len(planned)
    really = Growing.planned

    def stops(self: Growing, *given: Any) -> None:
        really(self, *given)
        if len(planned) == 2 * PART + 1:
            raise KeyboardInterrupt

    with site.app.app_context():
        with monkeypatch.context() as patch, reading() as session:
            patch.setattr(Growing, "planned", stops)
            with pytest.raises(KeyboardInterrupt):
                site_plan(session, site.site)
        assert rows(site, "plans-part-") == ["plans-part-00001", "plans-part-00002"]
        first = planned[before:]
        planned.clear()
        start_again()
        with reading() as session:
            found = site_plan(session, site.site)
        assert sorted(planned) == sorted(set(found.plans) - set(first[: 2 * PART]))
        assert rows(site, "plans-part-") == []
        start_again()
        with monkeypatch.context() as patch, reading() as session:
            patch.setattr(planning, "kept_answer", lambda *_: None)
            patch.setattr(planning, "keep_answer", lambda *_: None)
            whole = site_plan(session, site.site)
        assert whole.made == GROUPS
        assert (found.plans, found.judgements, found.fingerprints) == (
            whole.plans,
            whole.judgements,
            whole.fingerprints,
        )


def test_how_far_a_plan_is_is_told_floor_by_floor_as_it_grows(
    site: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[Json] = []
    really = under_way._write

    def write(site_id: str, now: under_way.UnderWay) -> bool:
        told.append(json_text.loads(json_text.dumps(now._asdict())))
        return really(site_id, now)

    monkeypatch.setattr(under_way, "_write", write)
    monkeypatch.setattr(under_way, "TOLD_AFTER_S", 0.0)
    monkeypatch.setattr(under_way, "TELL_EACH_S", 0.0)
    with site.app.app_context(), reading() as session:
        found = site_plan(session, site.site)
    assert [each["done"] for each in told] == [*range(1, GROUPS + 1)]
    assert {each["total"] for each in told} == {GROUPS}
    ready = sum(each["state"] == "ready" for each in found.plans.values())
    (floor,) = told[-1]["floors"]
    assert floor == {"floor_name": "Level 0", "groups": GROUPS, "planned": GROUPS, "ready": ready}
    assert rows(site, "under-way") == []


def test_a_small_change_of_a_large_site_is_planned_while_who_asks_waits(
    site: Installation, records: list[Json], planned: list[str]
) -> None:
    plan_of(site)
    planner = site.app.extensions[PLANNER] = NotYet()
    planned.clear()
    group = next(each for each in records if each["type"] == "group")
    pushed(site, records, group, "count", count=77)
    plan_of(site)
    assert (planned, planner.told) == ([group["id"]], [])


def test_a_site_is_planned_by_itself_once_many_groups_of_it_are_not_and_it_stands_still(site: Installation) -> None:
    found: list[str] = []
    watch = Watch(found.append)
    with site.app.app_context():
        watch.look()
        assert found == [site.site]
        watch.look()
        assert found == [site.site]
        with reading() as session:
            assert are_many_unplanned(session, site.site)
            site_plan(session, site.site)
        with reading() as session:
            assert not are_many_unplanned(session, site.site)


def test_a_site_that_comes_in_while_a_server_runs_is_planned_once_it_stands_still(
    site: Installation, records: list[Json]
) -> None:
    found: list[str] = []
    watch = Watch(found.append)
    with site.app.app_context():
        store(site, [each for each in records if each["type"] in ("site", "kind")])
        watch.look()
        assert found == []
        store(site, records)
        watch.look()
        assert found == []
        watch.look()
        assert found == [site.site]
