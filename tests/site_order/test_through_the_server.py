"""The best order asked of a real server: lines while it is looked for, one search at a time, and nothing taken unseen."""

from __future__ import annotations

import http.client
import json
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from tests.support.commands import spanwalk
from tests.support.releasing import release_seen
from tests.support.server import Client, Server

Json = Any
WAIT_S = 30.0
BRIEF_S = 8
"""Long enough for an answer that is better than none, where nothing hangs on its being the best [s]."""


@pytest.fixture(scope="module")
def manager(server: Server) -> Client:
    return Client(server.url, "manager")


def asked(client: Client, **body: Json) -> http.client.HTTPResponse:
    connection = http.client.HTTPConnection(urlsplit(client.url).netloc, timeout=120)
    headers = {"Cookie": client.cookie, "Sec-Fetch-Site": "same-origin", "Content-Type": "application/json"}
    connection.request("POST", f"/api/sites/{client.site_id()}/best-order", json.dumps(body), headers)
    return connection.getresponse()


def lines(answer: http.client.HTTPResponse) -> Iterator[Json]:
    while line := answer.readline():
        yield json.loads(line)


def test_steps_come_while_it_is_looked_for_and_the_last_holds_the_answer(manager: Client) -> None:
    answer = asked(manager, each_item=40, seconds=20)
    told = list(lines(answer))
    assert (answer.status, answer.headers["Content-Type"]) == (200, "application/x-ndjson")
    assert [told[0]["step"], told[-1]["step"]] == ["gather", "answer"]
    last = told[-1]["answer"]
    assert (last["found"], last["proved"]) == (True, True)
    assert last["saved"] > 0
    assert last["head"] == manager.get(f"/api/sites/{manager.site_id()}/plan")["head"]


def test_what_was_found_on_the_way_can_be_looked_at_after_the_search_was_stopped(manager: Client) -> None:
    decided: list[Json] = []
    answer = asked(manager, each_item=40, seconds=30)
    for line in lines(answer):
        decided = line.get("decided", decided)
        if decided:
            break
    answer.close()
    body = {"decided": decided, "each_item": 40}
    status, told = manager.call("POST", f"/api/sites/{manager.site_id()}/best-order/difference", body)
    assert status == 200
    assert {each["group"] for each in told["changes"]} == {each["group"] for each in decided}


def test_who_stops_listening_ends_the_search(manager: Client) -> None:
    first = asked(manager, seconds=300, budget=20_000, same_look=True)
    assert next(lines(first))["step"] == "gather"
    first.close()
    end = time.monotonic() + WAIT_S
    while True:
        last = [*lines(asked(manager, seconds=5))][-1]
        if last["step"] == "answer":
            break
        assert last["code"] == "site-order.busy"
        assert time.monotonic() < end, "the search went on"
        time.sleep(1)


def test_a_group_that_is_not_there_is_refused(manager: Client) -> None:
    body = {"decided": [{"group": "00000000-0000-4000-8000-000000000000", "decision": "leave-as-is"}]}
    status, told = manager.call("POST", f"/api/sites/{manager.site_id()}/best-order/difference", body)
    assert (status, told["code"]) == (404, "plan-group-unknown")


@pytest.mark.parametrize(
    "body", [{"each_item": -1}, {"budget": "much"}, {"seconds": 0}, {"same_look": 1}, {"items": ["x"]}, {"scope": 3}]
)
def test_rules_that_are_none_are_refused_by_their_name(manager: Client, body: Json) -> None:
    status, told = manager.call("POST", f"/api/sites/{manager.site_id()}/best-order", body)
    assert (status, told["code"]) == (422, "body-field-wrong")
    assert next(iter(body)) in told["detail"]


@pytest.mark.parametrize(
    "body",
    [{"tariff_per_kwh": 11}, {"hours_pct": "much"}, {"light_policy": "bright"}, {"without": [3]}, {"budget": -1}],
)
def test_figures_of_what_if_that_are_none_are_refused_by_their_name(manager: Client, body: Json) -> None:
    status, told = manager.call("POST", f"/api/sites/{manager.site_id()}/what-if", body)
    assert (status, told["code"]) == (422, "body-field-wrong")
    assert next(iter(body)) in told["detail"]


def test_what_if_by_command_prints_today_beside_it_and_writes_nothing(server: Server, manager: Client) -> None:
    site = manager.site_id()
    head = manager.get(f"/api/sites/{site}/plan")["head"]
    shown = run(server.data, site, "--tariff", "0.3", command="what-if")
    assert shown.returncode == 0, shown.stderr
    _, told = manager.call("POST", f"/api/sites/{site}/what-if", {"tariff_per_kwh": 0.3})
    assert f"today {told['today']['npv']}, then {told['then']['npv']}" in shown.stdout
    wrong = run(server.data, site, "--tariff", "30", command="what-if")
    assert (wrong.returncode, "--tariff 30.0: give a number from 0 to 10" in wrong.stderr) == (1, True)
    assert manager.get(f"/api/sites/{site}/plan")["head"] == head


def test_a_walk_asked_for_with_risks_that_contradict_is_refused(manager: Client) -> None:
    status, told = manager.call("GET", f"/api/sites/{manager.site_id()}/walk?good_pct=10&bad_pct=5")
    assert (status, told["code"]) == (409, "walk.good-not-less")
    lots = manager.get(f"/api/sites/{manager.site_id()}/walk?bad_pct=20")["lots"]
    usual = manager.get(f"/api/sites/{manager.site_id()}/walk")["lots"]
    assert sum(lot["sample"] for lot in lots) < sum(lot["sample"] for lot in usual)


def test_what_was_released_is_neither_changed_nor_proposed_to_be(fresh_server: Server) -> None:
    manager = Client(fresh_server.url, "manager")
    site = manager.site_id()
    _, made = release_seen(manager, site)
    assert made["released"]
    floors = manager.get(f"/api/sites/{site}/plan")["floors"]
    assert sum(each["released"] for each in floors) == len(made["released"]) == sum(each["ready"] for each in floors)
    last = [*lines(asked(manager, each_item=40, seconds=BRIEF_S))][-1]["answer"]
    assert {each["group"] for each in last["changes"]} & set(made["released"]) == set()
    assert last["fixed"]["released"] == len(made["released"])
    wanted = [{"group": id, "decision": "leave-as-is"} for id in made["released"]]
    _, told = manager.call(
        "POST", f"/api/sites/{site}/best-order/difference", {"decided": wanted, "keep_decided": False}
    )
    assert (told["changes"], told["fixed"]) == ([], {"released": len(made["released"])})
    shown = run(fresh_server.data, site, "--each-item", "40", "--decide-anew", "--seconds", str(BRIEF_S))
    assert f"{len(made['released'])} released" in shown.stdout


def run(folder: Path, *arguments: str, command: str = "best-order") -> subprocess.CompletedProcess[str]:
    return spanwalk(command, *arguments, "--data", str(folder))


def test_by_command_it_is_printed_and_taken_only_when_that_is_said(server: Server, manager: Client) -> None:
    site = manager.site_id()
    head = manager.get(f"/api/sites/{site}/plan")["head"]
    brief = ("--each-item", "40", "--seconds", str(BRIEF_S))
    shown = run(server.data, site, *brief)
    assert shown.returncode == 0, shown.stderr
    assert "different items" in shown.stdout
    assert manager.get(f"/api/sites/{site}/plan")["head"] == head
    refused = run(server.data, site, "--take", "crew")
    assert (refused.returncode, "no manager or owner" in refused.stderr) == (1, True)
    taken = run(server.data, site, *brief, "--take", "manager", "--reason", "Fewer items")
    assert taken.returncode == 0, taken.stderr
    plan = manager.get(f"/api/sites/{site}/plan")
    assert plan["head"] > head
    pulled = manager.get(f"/api/sites/{site}/pull?since={head}&limit=1000")["records"]
    decisions = [record["facets"]["decision"]["value"] for record in pulled]
    assert decisions
    assert {(each["how_chosen"], each["reason"]) for each in decisions} == {("best-order", "Fewer items")}
