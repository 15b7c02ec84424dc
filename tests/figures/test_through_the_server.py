"""A manager sets a figure for a site: through push as anything else, seen in plan, release, explanation and the command."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any
from uuid import UUID, uuid4, uuid5

import pytest
from tests.support import back_ends, demo_server
from tests.support.commands import spanwalk
from tests.support.releasing import release_seen
from tests.support.server import Client, Server

back_end = back_ends.on_both()
server = demo_server.on_both()
TYPE = "figure"
BARS_SHARE = {"table": "bodies", "row": "recessed-troffer · prismatic-lens", "figure": "bars_share"}
REASON = "photometric report of this very body"
SET = {"value": 0.8, "reason": REASON, "source": "lab sheet 12"}


class Hand:
    """One person's phone that sets figures."""

    def __init__(self, server: Server, name: str) -> None:
        self.client, self.device, self.count = Client(server.url, name), str(uuid4()), 0
        self.site = self.client.site_id()
        self.by = self.client.get("/api/session")["person"]["id"]

    def set(self, where: dict[str, str], value: dict[str, Any], seen: str | None = None) -> list[dict[str, Any]]:
        record = str(uuid5(UUID(self.site), "spanwalk:figure:" + "/".join(where.values())))
        identity = self._operation(record, "identity", {"parent": self.site, **where}, None)
        return self.push(identity, self._operation(record, "value", value, seen))

    def _operation(self, record: str, facet: str, to: dict[str, Any], seen: str | None) -> dict[str, Any]:
        self.count += 1
        made = {
            "id": f"{self.device}.00000001.{self.count}",
            "by": self.by,
            "record": record,
            "type": TYPE,
            "facet": facet,
        }
        return made | {
            "kind": "set",
            "seen": seen,
            "from": None,
            "to": to,
            "settles": [],
            "replaces": None,
            "device_time": "2026-03-01T09:00:00Z",
            "spec": 2,
        }

    def push(self, *operations: dict[str, Any]) -> list[dict[str, Any]]:
        body = {"device": self.device, "epoch": "00000001", "operations": list(operations)}
        status, answer = self.client.call("POST", f"/api/sites/{self.site}/push", body)
        assert status == 200, answer
        return list(answer["answers"])

    def get(self, what: str) -> Any:
        return self.client.get(f"/api/sites/{self.site}/{what}")


@pytest.fixture(scope="module")
def manager(server: Server) -> Hand:
    return Hand(server, "manager")


@pytest.fixture(scope="module")
def before(manager: Hand) -> Any:
    return manager.get("plan")


@pytest.fixture(scope="module")
def setting(manager: Hand, before: Any) -> list[dict[str, Any]]:
    return manager.set(BARS_SHARE, SET)


def test_every_figure_is_told_with_its_source_to_who_plans_and_not_to_the_crew(server: Server, manager: Hand) -> None:
    told = manager.get("figures")
    figures = [figure for table in told["tables"] for row in table["rows"] for figure in row["figures"]]
    assert len(figures) > 500
    assert all(figure["source"] and figure["how_known"] for figure in figures)
    crew = Client(server.url, "crew")
    status, answer = crew.call("GET", f"/api/sites/{manager.site}/figures")
    assert (status, answer["code"]) == (403, "role-not-enough")


def test_the_crew_does_not_read_what_a_site_set(server: Server, manager: Hand, setting: list[dict[str, Any]]) -> None:
    for name, sees in (("surveyor", True), ("crew", False)):
        pulled = Client(server.url, name).get(f"/api/sites/{manager.site}/pull?since=0&limit=2000")["records"]
        assert any(record["type"] == TYPE for record in pulled) == sees, name


def test_a_surveyor_may_not_set_a_figure(server: Server) -> None:
    answers = Hand(server, "surveyor").set(BARS_SHARE, {"value": 0.9, "reason": "brighter"})
    assert {answer["result"] for answer in answers} == {"refused"}


def test_a_figure_without_a_reason_is_refused(server: Server) -> None:
    answers = Hand(server, "owner").set(BARS_SHARE | {"figure": "tubes_share"}, {"value": 0.7})
    assert (answers[1]["result"], answers[1]["code"], answers[1]["facts"]["field"]) == (
        "refused",
        "field-missing",
        "reason",
    )


def own(group: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in group.items() if not name.endswith("_share")}


def test_the_plan_rests_on_it_and_says_so(manager: Hand, before: Any, setting: list[dict[str, Any]]) -> None:
    assert [answer["result"] for answer in setting] == ["applied", "applied"]
    after = manager.get("plan")
    was = {group["group"]: group for group in before["groups"]}
    touched = [group for group in after["groups"] if group["site_values"]]
    assert touched
    for group in after["groups"]:
        if group["site_values"]:
            (note,) = group["site_values"]
            assert (note["facts"]["by"], note["facts"]["on"], note["facts"]["reason"]) == (
                "manager",
                "2026-03-01",
                REASON,
            )
        else:
            # Its part of the job hangs on all groups; everything else is its own.
            assert own(group) == own(was[group["group"]])
    assert any(
        group["share_of_today_pct"] != was[group["group"]]["share_of_today_pct"]
        for group in touched
        if group["arrangement"]
    )


def test_what_is_ordered_says_on_which_figures_of_the_site_it_rests(
    manager: Hand, setting: list[dict[str, Any]]
) -> None:
    status, table = manager.client.call("GET", f"/api/sites/{manager.site}/quantities.csv")
    assert status == 200
    assert f"0.8 instead of 0.78, set for this site by manager on 2026-03-01: {REASON}" in table.decode()


def test_the_page_of_figures_shows_both(manager: Hand, setting: list[dict[str, Any]]) -> None:
    told = {
        (t["table"], r["row"], f["figure"]): f
        for t in manager.get("figures")["tables"]
        for r in t["rows"]
        for f in r["figures"]
    }
    found = told[tuple(BARS_SHARE.values())]
    assert (found["value"], found["own"]["value"], found["own"]["by"], found["own"]["source"]) == (
        0.78,
        0.8,
        "manager",
        "lab sheet 12",
    )


def test_the_command_tells_it_with_the_site_and_explain_tells_it_with_the_group(
    server: Server, manager: Hand, setting: list[dict[str, Any]]
) -> None:
    def command(*words: str) -> str:
        done = spanwalk(*words, "--data", str(server.data), env=server.env)
        assert done.returncode == 0, done.stderr
        return done.stdout

    said = f"Set for this site: 0.8, by manager on 2026-03-01: {REASON}"
    assert said in command("figure", "prismatic", "recessed", "bars", "--site", manager.site)
    assert said not in command("figure", "prismatic", "recessed", "bars")
    touched = next(group for group in manager.get("plan")["groups"] if group["site_values"])
    explained = command("explain", touched["group"])
    assert f"0.8 instead of 0.78, set for this site by manager on 2026-03-01: {REASON}" in explained


def test_two_managers_meet_in_one_record_as_a_conflict(
    server: Server, manager: Hand, setting: list[dict[str, Any]]
) -> None:
    answers = Hand(server, "owner").set(BARS_SHARE, {"value": 0.75, "reason": "my own report"})
    assert [answer["result"] for answer in answers] == ["same", "conflict"]
    point = next(
        p
        for p in manager.get("completeness")["open_points"]
        if p["rule"] == "conflict" and p["record"] == answers[1]["record"]["id"]
    )
    assert point["facts"]["values"] == 2
    touched = next(group for group in manager.get("plan")["groups"] if group["site_values"])
    assert touched["site_values"][0]["facts"]["value"] == "0.8"


def test_a_release_freezes_the_figures_it_rests_on(manager: Hand, setting: list[dict[str, Any]]) -> None:
    ready = [group for group in manager.get("plan")["groups"] if group["site_values"] and group["state"] == "ready"]
    assert ready
    status, answer = release_seen(manager.client, manager.site)
    assert status == 201, answer
    frozen = {}
    for record in manager.get("pull?since=0&limit=2000")["records"]:
        if record["type"] == "conversion":
            frozen[record["parent"]] = record["facets"]["identity"]["value"]["frozen"]
    assert all(frozen[group["group"]]["site_values"] == group["site_values"] for group in ready)
    assert not any(
        "site_values" in card for id, card in frozen.items() if id not in {group["group"] for group in ready}
    )


def test_a_figure_that_cannot_be_is_an_open_point_and_changes_nothing(
    manager: Hand, setting: list[dict[str, Any]]
) -> None:
    plan = manager.get("plan")["groups"]
    answers = manager.set(BARS_SHARE | {"figure": "dirt_share"}, {"value": 9, "reason": "typed in per cent"})
    assert {answer["result"] for answer in answers} == {"applied"}
    assert manager.get("plan")["groups"] == plan
    (point,) = (p for p in manager.get("completeness")["open_points"] if p["rule"] == "figure-not-used")
    assert point["who"] == ["manager", "owner"]
    assert point["facts"]["why"] == "Maintained over clean: 9 cannot be; it must lie between 0.4 and 1."


@pytest.fixture
def emptied(manager: Hand, setting: list[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    """The answer to emptying what was set; afterwards it is set again."""
    answer = manager.set(BARS_SHARE, {}, f"{manager.device}.00000001.2")[1]
    yield answer
    again = manager.set(BARS_SHARE, SET, f"{manager.device}.00000001.{manager.count}")[1]
    assert again["result"] == "applied", again


def test_emptied_the_tables_figure_counts_again(manager: Hand, before: Any, emptied: dict[str, Any]) -> None:
    assert emptied["result"] == "applied", emptied
    was = {group["group"]: group for group in before["groups"]}
    assert all(group == was[group["group"]] for group in manager.get("plan")["groups"])
