"""Work in the background lets requests go first, and gets on with it beside a server that never rests; pieces are counted, not timed."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.planning.invented_site import invented_site
from tests.planning.stored_site import store
from tests.planning.test_planning_again import counted
from tests.support.installation import Installation, installed
from werkzeug.test import Client

from spanwalk.services.background import standing_back
from spanwalk.services.background.standing_back import MOST_S, TIMES_MOST, Answering, StandingBack
from spanwalk.services.planning import completeness
from spanwalk.services.planning import plans as planning
from spanwalk.services.planning.planner import BackgroundPlanner
from spanwalk.services.planning.plans import site_plan
from spanwalk.storage.database import reading
from spanwalk.web.server import serving
from spanwalk.web.server.connections import Channel, Parser

GROUPS = 12
WITHIN_S = 120.0


@pytest.mark.parametrize(("worked_s", "waits_s"), [(0.002, 0.002 * TIMES_MOST), (0.0, 0.0), (30.0, MOST_S)])
def test_it_waits_so_many_times_as_long_as_it_worked_at_most(worked_s: float, waits_s: float) -> None:
    waited: list[float] = []
    now = [100.0]
    work = StandingBack(waited.append, lambda: now[0])
    for _ in range(3):
        now[0] += worked_s
        work.between()
    assert waited == pytest.approx([waits_s] * 3)


def test_it_waits_for_the_last_of_several_requests_and_not_longer() -> None:
    answering, went_on = Answering(), threading.Event()

    def work() -> None:
        answering.wait_for_none(WITHIN_S)
        went_on.set()

    with answering.one():
        with answering.one():
            thread = threading.Thread(target=work)
            thread.start()
            assert not went_on.wait(0.05)
        assert not went_on.wait(0.05)
    assert went_on.wait(WITHIN_S)
    thread.join()
    answering.wait_for_none(WITHIN_S)


def test_a_request_that_fails_is_not_waited_for() -> None:
    answering = Answering()
    with pytest.raises(RuntimeError), answering.one():
        raise RuntimeError
    answering.wait_for_none(WITHIN_S)
    assert answering._now == 0


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Installation]:
    for kept in (completeness._judged, planning._kept):
        kept.clear()
    with installed(tmp_path / "data") as installation:
        store(installation, invented_site(GROUPS))
        yield installation


class Counted(Answering):
    """Says before each group how long it may be waited, and waits for nobody."""

    def __init__(self) -> None:
        super().__init__()
        self.waits = 0

    def wait_for_none(self, most_s: float) -> None:
        self.waits += 1


@pytest.fixture
def answering(monkeypatch: pytest.MonkeyPatch) -> Counted:
    found = Counted()
    monkeypatch.setattr(standing_back, "ANSWERING", found)
    return found


def test_the_planner_asks_before_each_group_whether_it_is_to_wait(
    site: Installation, answering: Counted, monkeypatch: pytest.MonkeyPatch
) -> None:
    planned = counted(monkeypatch, planning, "plan_weighed", lambda body, *_: str(body.group["id"]))
    planner = BackgroundPlanner(site.app)
    planner.soon(site.site)
    assert planner.idle(WITHIN_S)
    assert len(planned) == GROUPS
    assert answering.waits == GROUPS


def test_who_plans_while_somebody_waits_for_it_stands_back_for_nobody(site: Installation, answering: Counted) -> None:
    with site.app.app_context(), reading() as session:
        assert len(site_plan(session, site.site).plans) == GROUPS
    assert answering.waits == 0


def test_a_served_request_is_waited_for_until_its_answer_is_made(
    site: Installation, answering: Counted, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(serving, "ANSWERING", answering)
    for name in ("gate", "trusted"):
        monkeypatch.setattr(Channel if name == "trusted" else Parser, name, None)
    seen: list[int] = []
    site.app.before_request(lambda: seen.append(answering._now))
    listening = serving._listening(site.app, "127.0.0.1", 0)
    try:
        answer = Client(listening.application).get("/api/session/if-any", environ_base={"REMOTE_ADDR": "127.0.0.1"})
    finally:
        listening.close()
    assert answer.status_code == 204
    assert (seen, answering._now) == ([1], 0)
