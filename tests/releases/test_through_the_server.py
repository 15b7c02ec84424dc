"""Releases of the demo building on a real server: frozen, superseded, withdrawn, compared, and what each of them orders."""

from __future__ import annotations

import csv
from collections import Counter
from dataclasses import dataclass
from io import StringIO
from typing import Any
from uuid import uuid4

import pytest
from tests.open_points.complete_site import Hand
from tests.support.releasing import release_seen
from tests.support.server import Client, Server

Json = Any


@dataclass
class Site:
    """A manager at the demo building, with a hand that saves facets."""

    hand: Hand

    @property
    def client(self) -> Client:
        return self.hand.client

    def call(self, method: str, path: str, body: Json = None) -> Any:
        return self.client.call(method, f"/api/sites/{self.hand.site}/{path}", body)

    def release(self, note: str = "") -> Json:
        status, answer = release_seen(self.client, self.hand.site, note)
        assert status == 201, answer
        return answer

    def records(self, type_name: str, name: str | None = None) -> list[Json]:
        client = self.client if name is None else Client(self.client.url, name)
        records = client.get(f"/api/sites/{self.hand.site}/pull?since=0&limit=5000")["records"]
        return [each for each in records if each["type"] == type_name]

    def plan_of(self, number: str, mark: str) -> Json:
        groups = self.client.get(f"/api/sites/{self.hand.site}/plan")["groups"]
        return next(each for each in groups if each["room_name"].startswith(f"{number} ") and each["mark"] == mark)

    def lay_over(self, record: str, facet: str, **fields: Json) -> None:
        """Change some fields of a facet."""
        state = self.hand.state(record)
        self.hand.save(record, state["type"], **{facet: {**state["facets"].get(facet, {}).get("value", {}), **fields}})

    def conversions(self, group: str) -> list[Json]:
        found = [
            {"id": each["id"], **{name: held["value"] for name, held in each["facets"].items()}}
            for each in self.records("conversion")
            if each["parent"] == group
        ]
        return sorted(found, key=lambda each: each["identity"]["number"])

    def sums(self, number: int) -> list[Json]:
        release = next(
            each["id"] for each in self.records("release") if each["facets"]["identity"]["value"]["number"] == number
        )
        return [
            each["facets"]["identity"]["value"] for each in self.records("release_sums") if each["parent"] == release
        ]

    def whole(self, number: int) -> Json:
        return next(each["figures"] for each in self.sums(number) if "group" not in each)

    def order(self, query: str = "") -> list[list[str]]:
        content = self.client.get(f"/api/sites/{self.hand.site}/order.csv{query}")
        return list(csv.reader(StringIO(content.decode("utf-8-sig"))))


@dataclass
class Moment(Site):
    """The demo building as it was when something had been done: its records are those of then, whatever is changed since."""

    pulled: dict[str, list[Json]]

    @classmethod
    def of(cls, site: Site) -> Moment:
        """The site now, as the manager and each of the others reads it."""
        path = f"/api/sites/{site.hand.site}/pull?since=0&limit=5000"
        names = ("manager", "surveyor", "crew")
        return cls(site.hand, {name: Client(site.client.url, name).get(path)["records"] for name in names})

    def records(self, type_name: str, name: str | None = None) -> list[Json]:
        return [each for each in self.pulled[name or "manager"] if each["type"] == type_name]


def ordered(lines: list[list[str]]) -> dict[str, int]:
    """Item -> number to order, of a table."""
    head = next(place for place, line in enumerate(lines) if line[:1] == ["Item"])
    column = lines[head].index("Order")
    rows = lines[head + 1 : lines.index([], head)]
    return {line[0]: int(line[column]) for line in rows}


def sold_singly(site: Site) -> None:
    """Nobody has said who sells the items, in which packs, or cheaper by number: what is needed is what is ordered."""
    for each in site.records("catalogue_item"):
        site.hand.save(each["id"], "catalogue_item", supply={})
    for each in site.records("price"):
        price = each["facets"]["identity"]["value"]
        site.hand.save(
            each["id"],
            "price",
            identity={name: value for name, value in price.items() if not name.startswith(("from_", "each_"))},
        )


@pytest.fixture(scope="module")
def site(server: Server) -> Site:
    client = Client(server.url, "manager")
    found = Site(Hand(client, client.site_id()))
    sold_singly(found)
    return found


@dataclass
class Released:
    """A release of all that is ready, and what was so right after it: tests read it, whatever others change by then."""

    made: Json
    then: Moment
    waste: Json
    order: list[list[str]]
    again: tuple[int, Json]
    since_before: tuple[int, Json]
    till_today: tuple[int, Json]


def released(site: Site, note: str = "") -> Released:
    made = site.release(note)
    waste = site.client.get(f"/api/sites/{site.hand.site}/plan")["totals"]["waste"]
    again, number = site.call("POST", "releases", {}), made["number"]
    since_before, till_today = (
        site.call("GET", f"releases/differences?{which}")
        for which in (f"from={number - 1}&to={number}", f"from={number}&to=today")
    )
    return Released(made, Moment.of(site), waste, site.order(), again, since_before, till_today)


@pytest.fixture(scope="module")
def both(site: Site) -> tuple[Released, Released]:
    """Two releases, one after the other; between them six fixtures more in one group, and another circuit in another."""
    status, problem = site.call("GET", "order.csv")
    assert (status, problem["code"]) == (404, "order-no-release")
    first = released(site, "first floor first")
    counted, moved = released_groups(first.made, first.then)[:2]
    count = site.hand.state(counted)["facets"]["count"]["value"]["count"]
    site.lay_over(counted, "count", count=count + 6)
    site.lay_over(moved, "supply", circuit="22")
    second = released(site)
    second.made |= {"counted": counted, "moved": moved}
    return first, second


@pytest.fixture(scope="module")
def first(both: tuple[Released, Released]) -> Released:
    return both[0]


@pytest.fixture(scope="module")
def second(both: tuple[Released, Released]) -> Json:
    return both[1].made


@pytest.fixture(scope="module")
def after_second(both: tuple[Released, Released]) -> Released:
    return both[1]


def released_groups(first: Json, site: Site) -> list[str]:
    """Groups that were released by themselves: without a partner and without emergency duty."""
    duty = {
        each["id"]: each["facets"].get("duty", {}).get("value", {}).get("emergency") for each in site.records("group")
    }
    facts = {each["parent"]: each["facets"]["identity"]["value"]["facts"] for each in site.records("conversion")}
    return [id for id in first["released"] if duty[id] == "none" and "partner" not in facts[id]]


def test_a_release_freezes_facts_catalogue_versions_and_rules(first: Released) -> None:
    site = first.then
    (release,) = site.records("release")
    identity = release["facets"]["identity"]["value"]
    seqs = {each["id"]: each["seq"] for each in site.records("catalogue_item")}
    assert identity["rules_version"]
    assert identity["items"]
    for item, frozen in identity["items"].items():
        assert 0 < frozen["seq"] <= seqs[item]
    group = released_groups(first.made, site)[0]
    (conversion,) = site.conversions(group)
    facts = conversion["identity"]["facts"]
    surveyed = next(each["facets"] for each in site.records("group") if each["id"] == group)
    assert facts["group"]["count"]["count"] == surveyed["count"]["value"]["count"]
    assert facts["group"]["supply"]["circuit"] == surveyed["supply"]["value"]["circuit"]
    assert set(facts["bars"]) | set(facts["drivers"]) <= set(identity["items"])


def test_parts_prices_and_money_are_frozen_where_crews_do_not_read(first: Released) -> None:
    site = first.then
    groups = [each for each in site.sums(1) if "group" in each]
    assert {each["group"] for each in groups} == set(first.made["released"])
    prices = {each["parent"]: each for each in site.records("price")}
    whole = site.whole(1)
    assert whole["prices"]
    for item, price in whole["prices"].items():
        assert price["each"] == prices[item]["facets"]["identity"]["value"]["each"]
        assert price["seq"] == prices[item]["facets"]["identity"]["seq"]
    total = sum(each["figures"]["money"]["cost"] for each in groups)
    together = sum(step["by"] for step in whole["steps"] if step["what"] in ("hire", "goods"))
    assert whole["alone"]["cost"] == pytest.approx(total, abs=0.01)
    assert whole["money"]["cost"] == pytest.approx(total + together, abs=0.01)
    assert site.records("release_sums", "surveyor")
    assert site.records("release_sums", "crew") == []


def test_the_first_order_is_what_the_plan_came_to(first: Released) -> None:
    lines = first.then.whole(1)["order"]
    assert lines
    for line in lines:
        assert line["order"] == line["need"] == line["fitted"] + line["spare"] + line["for_misfits"]
        assert (line["before"], line["over"]) == (0, 0)


def test_what_the_cards_take_out_is_the_waste_that_the_plan_counts(first: Released) -> None:
    """A crew's containers are counted from its cards: lamps by kind and length, ballasts by what they may hold, batteries."""
    site = first.then
    counts = {each["id"]: each["facets"]["count"]["value"]["count"] for each in site.records("group")}
    lamps, ballasts, batteries = Counter[str](), Counter[str](), Counter[str]()
    for each in site.records("conversion", "crew"):
        card, fixtures = each["facets"]["identity"]["value"]["frozen"], counts[each["parent"]]
        lamps[card["remove"]["lamp"]] += card["remove"]["lamps"] * fixtures
        ballasts[card["remove"]["pcb"]] += card["remove"]["ballasts"] * fixtures
        if card["emergency"]["duty"] == "battery-in-fixture":
            batteries[card["emergency"]["old_battery"]] += len(card["emergency"]["positions"])
    told = first.waste
    assert sum(lamps.values()) > 0
    assert dict(lamps) == told["lamps"]
    assert {name: ballasts[name] for name in told["ballasts"]} == told["ballasts"]
    assert dict(batteries) == told["batteries"]


def test_an_order_names_its_release_its_date_and_its_floors(first: Released) -> None:
    site, lines = first.then, [line[0] for line in first.order[:4]]
    made_at = site.records("release")[0]["facets"]["identity"]["value"]["made_at"]
    assert lines[0] == "Order of release 1"
    assert made_at in lines[1]
    assert all(floor in lines[2] for floor in site.whole(1)["floors"])
    assert lines[3] == "first floor first"


def test_nothing_is_released_anew_while_nothing_changed(first: Released) -> None:
    status, problem = first.again
    assert (status, problem["code"]) == (409, "release-nothing-ready")


def test_a_changed_count_and_circuit_are_released_anew_and_supersede(after_second: Released) -> None:
    second = after_second.made
    assert set(second["released"]) == {second["counted"], second["moved"]}
    before, now = after_second.then.conversions(second["counted"])
    assert (
        now["identity"]["facts"]["group"]["count"]["count"]
        == before["identity"]["facts"]["group"]["count"]["count"] + 6
    )
    assert now["identity"]["number"] == 2


def test_a_second_release_orders_only_what_the_first_did_not(after_second: Released) -> None:
    """The first ordered for n fixtures with spares; the second, for n + 6 with spares: the difference."""
    site, second = after_second.then, after_second.made
    first_lines, lines = ({line["item"]: line for line in site.whole(number)["order"]} for number in (1, 2))
    assert lines.keys() == first_lines.keys()
    for item, line in lines.items():
        assert line["before"] == first_lines[item]["order"]
        assert line["order"] == max(line["need"] - line["before"], 0)
    figures = next(each["figures"] for each in site.sums(2) if each.get("group") == second["counted"])
    before = next(each["figures"] for each in site.sums(1) if each.get("group") == second["counted"])
    more = {part["code"]: part["count"] for part in figures["parts"]}
    for part in before["parts"]:
        more[part["code"]] -= part["count"]
    asked = ordered(after_second.order)
    assert any(more.values())
    for code, extra in more.items():
        assert extra <= asked[code] <= extra + 1 + extra // 10, (code, extra, asked[code])
    assert all(number == 0 for code, number in asked.items() if code not in more)


def spares_more(before: Json, then: Json) -> float:
    """What the second of two releases that follow each other needs more of spares [currency]."""
    spares = {line["item"]: line["need"] - line["fitted"] for line in before["order"]}
    return float(
        sum((line["need"] - line["fitted"] - spares.get(line["item"], 0)) * line["price"] for line in then["order"])
    )


def test_differences_between_two_releases_tell_groups_items_and_money(site: Site, after_second: Released) -> None:
    second = after_second.made
    status, told = after_second.since_before
    assert status == 200, told
    groups = {each["group"]: each for each in told["groups"]}
    assert set(groups) == {second["counted"]}, "another circuit alone changes neither what is fitted nor what it costs"
    fields = {each["name"]: (each["from"], each["to"]) for each in groups[second["counted"]]["fields"]}
    assert fields["fixtures"][1] - fields["fixtures"][0] == 6
    assert told["to"]["fixtures"] - told["from"]["fixtures"] == 6
    asked = {code: number for code, number in ordered(after_second.order).items() if number}
    assert {each["code"]: each["more"] for each in told["items"]} == asked
    cost = next(each for each in told["money"] if each["name"] == "cost")
    group = groups[second["counted"]]
    alone = group["cost_to"] - group["cost_from"]
    assert cost["more"] == pytest.approx(alone + spares_more(site.whole(1), site.whole(2)), abs=0.02)


def test_nothing_differs_from_today_right_after_a_release_of_all(after_second: Released) -> None:
    status, told = after_second.till_today
    assert (status, told["groups"], told["items"]) == (200, [], [])


def test_a_release_that_is_not_there_is_named(site: Site, second: Json) -> None:
    for path in (
        "releases/differences?from=999&to=today",
        "releases/differences?from=1&to=no",
        "order.csv?release=999",
    ):
        status, problem = site.call("GET", path)
        assert (status, problem["code"]) == (404, "release-unknown"), path


def test_a_group_that_is_no_longer_ready_is_told_with_its_standing(site: Site, second: Json) -> None:
    """Two feeds: it is left out of the third release, and what was released of it stops; put right again afterwards."""
    group = released_groups(second, site)[0]
    other = next(id for id in site_ready(site) if id != group and kind_of(site, id) != kind_of(site, group))
    kind = kind_of(site, group)
    site.lay_over(kind, "wiring", feeds="two")
    site.lay_over(other, "supply", circuit="31")
    told = site.release()
    out = {each["group"]: each for each in told["out"]}
    assert out[group]["standing"] == "stop"
    assert [change["fact"] for change in out[group]["changes"]] == ["kind.wiring.feeds"]
    assert (out[group]["changes"][0]["before"], out[group]["changes"][0]["now"]) == ("one", "two")
    assert out[group]["changes"][0]["by"] == site.hand.person
    site.lay_over(kind, "wiring", feeds="one")


def kind_of(site: Site, group: str) -> str:
    return str(site.hand.state(group)["facets"]["identity"]["value"]["kind"])


def site_ready(site: Site) -> list[str]:
    groups = site.client.get(f"/api/sites/{site.hand.site}/plan")["groups"]
    facts = {each["parent"]: each["facets"]["identity"]["value"]["facts"] for each in site.records("conversion")}
    return [
        each["group"] for each in groups if each["state"] == "ready" and "partner" not in facts.get(each["group"], {})
    ]


def test_a_pair_on_one_ballast_is_released_together_or_not_at_all(site: Site, second: Json) -> None:
    feeding, fed = site.plan_of("N01", "K6")["group"], site.plan_of("N01", "K7")["group"]
    before = len(site.conversions(feeding)), len(site.conversions(fed))
    site.lay_over(fed, "supply", circuit="14")
    told = site.release()
    assert {feeding, fed} <= set(told["released"])
    assert (len(site.conversions(feeding)), len(site.conversions(fed))) == (before[0] + 1, before[1] + 1)
    site.lay_over(feeding, "supply", circuit="15")
    site.lay_over(fed, "decision", decision="leave-as-is", reason="kept for the museum")
    elsewhere = next(id for id in site_ready(site) if id not in (feeding, fed))
    site.lay_over(elsewhere, "supply", circuit="33")
    told = site.release()
    assert not {feeding, fed} & set(told["released"])
    assert next(each for each in told["out"] if each["group"] == fed)["standing"] == "stop"


def test_withdrawn_is_released_anew_and_its_order_is_told_as_of_a_withdrawn_release(site: Site, second: Json) -> None:
    conversion = site.conversions(second["moved"])[-1]
    site.hand.save(conversion["id"], "conversion", withdrawn={"reason": "owner wants it later"})
    told = site.release()
    assert told["released"] == [second["moved"]]
    number = told["number"]
    site.hand.save(told["release"], "release", withdrawn={"reason": "wrong day"})
    again = site.release()
    assert again["released"] == [second["moved"]]
    assert again["number"] == number + 1
    first_release = next(
        each["id"] for each in site.records("release") if each["facets"]["identity"]["value"]["number"] == 1
    )
    site.hand.save(first_release, "release", withdrawn={"reason": "wrong catalogue"})
    last = site.release()
    lines = site.whole(last["number"])["order"]
    assert all(line["of_withdrawn"] <= line["before"] for line in lines)
    assert any(line["of_withdrawn"] for line in lines)
    assert site.order("?release=1")[-1]
    assert any("THIS RELEASE IS WITHDRAWN: wrong catalogue" in line[0] for line in site.order("?release=1") if line)


def test_what_was_done_before_is_listed_apart(site: Site, second: Json) -> None:
    group, conversion = second["counted"], site.conversions(second["counted"])[-1]
    site.hand.make(
        "installation",
        group,
        {"position": 2, "outcome": "done", "conversion": conversion["id"], "noted_at": "2026-04-01T08:00:00Z"},
    )
    site.lay_over(group, "supply", circuit="41")
    told = site.release()
    here = (group, conversion["identity"]["number"])
    (noted,) = [each for each in told["done"] if (each["group"], each["release"]) == here]
    assert 2 in noted["positions"]
    done = sum(len(each["positions"]) for each in told["done"])
    assert any(f"Already done before this release: {done}" in line[0] for line in site.order() if line)


def done_told(site: Site, group: str, spec: int, checks: list[str], **more: Json) -> Json:
    """The server's answer to a 'done' on fixture 4, from a phone of some spec."""
    value = {"parent": group, "position": 4, "outcome": "done", "noted_at": "2026-04-02T08:00:00Z"} | more
    operation = site.hand.operation(
        str(uuid4()), "installation", "identity", value | ({"checks": checks} if checks else {}), spec=spec
    )
    body = {"device": site.hand.device, "epoch": "0000000a", "operations": [operation]}
    status, answer = site.call("POST", "push", body)
    assert status == 200, answer
    return answer["answers"][0]


CHECKS = ["leads-removed-or-capped", "sockets-proved-dead", "earth-checked", "label-on"]


def test_done_without_the_ticks_of_its_card_is_refused_and_names_them(site: Site, second: Json) -> None:
    group = second["counted"]
    conversion = site.conversions(group)[-1]["id"]
    answer = done_told(site, group, 3, ["earth-checked", "label-on"], conversion=conversion)
    assert (answer["result"], answer["code"]) == ("refused", "done-without-ticks")
    assert answer["facts"]["right"] == ["leads-removed-or-capped", "sockets-proved-dead"]
    assert done_told(site, group, 3, [], conversion=conversion)["facts"]["right"] == CHECKS
    assert done_told(site, group, 3, [])["code"] == "done-without-ticks"
    assert done_told(site, group, 3, CHECKS, conversion=conversion)["result"] == "applied"


def test_the_ticks_of_an_emergency_fixture_are_wanted_there_and_at_its_neighbours_are_not(
    site: Site, first: Released
) -> None:
    every = [
        each
        for each in first.then.records("conversion")
        if each["facets"]["identity"]["value"]["frozen"].get("checks_at")
    ]
    assert every
    frozen = every[0]["facets"]["identity"]["value"]["frozen"]
    (here,) = {tuple(each["positions"]) for each in frozen["checks_at"]}
    wanted = [each["check"] for each in frozen["checks_at"]]
    about = {"conversion": every[0]["id"]}
    refused = done_told(site, every[0]["parent"], 3, frozen["checks"], **about, position=here[0])
    assert (refused["code"], refused["facts"]["right"]) == ("done-without-ticks", wanted)
    other = next(position for position in range(1, 4000) if position not in here)
    assert done_told(site, every[0]["parent"], 3, frozen["checks"], **about, position=other)["result"] == "applied"


def test_what_an_older_phone_still_sends_without_ticks_is_taken(site: Site, second: Json) -> None:
    conversion = site.conversions(second["counted"])[-1]["id"]
    assert done_told(site, second["counted"], 2, [], conversion=conversion)["result"] == "applied"


def test_what_is_not_done_after_all_is_no_longer_listed_as_done(site: Site, second: Json) -> None:
    group = second["counted"]
    conversion = site.conversions(group)[-1]
    told = {"position": 3, "conversion": conversion["id"]}
    kept = {"position": 5, "conversion": conversion["id"], "outcome": "done", "noted_at": "2026-04-01T08:00:00Z"}
    site.hand.make("installation", group, kept)
    site.hand.make("installation", group, {**told, "outcome": "done", "noted_at": "2031-04-01T08:00:00Z"})
    site.hand.make(
        "installation",
        group,
        {
            **told, "outcome": "not-done-after-all", "reason": "wrong-fixture", "noted_at": "2026-04-01T08:00:00Z",
        },
    )  # fmt: skip
    site.lay_over(group, "supply", circuit="43")
    done = [each for each in site.release()["done"] if each["group"] == group]
    assert any(5 in each["positions"] for each in done)
    assert not [each for each in done if 3 in each["positions"]]


@pytest.mark.parametrize("name", ["surveyor", "crew"])
def test_only_managers_withdraw_and_answer(site: Site, second: Json, name: str) -> None:
    client = Client(site.client.url, name)
    hand = Hand(client, client.site_id())
    conversion = site.conversions(second["moved"])[-1]
    for facet, value in (("withdrawn", {"reason": "no"}), ("answer", {"changes": "0", "answer": "go on"})):
        operation = hand.operation(conversion["id"], "conversion", facet, value)
        body = {"device": hand.device, "epoch": "0000000a", "operations": [operation]}
        status, answer = client.call("POST", f"/api/sites/{hand.site}/push", body)
        assert (status, answer["answers"][0]["code"]) == (200, "no-right")


def test_a_release_orders_whole_packs_and_holds_the_limit_of_a_rebate(site: Site, second: Json) -> None:
    """Packs of 50, and 10 for one application: what is bought are whole packs, and releases after it tell 10 of rebate."""
    (money,) = site.records("money")
    site.lay_over(money["id"], "identity", rebate_cap_application=10)
    count = site.hand.state(second["counted"])["facets"]["count"]["value"]["count"]
    parts = next(each for each in site.sums(2) if each.get("group") == second["counted"])["figures"]["parts"]
    for part in parts:
        site.lay_over(part["item"], "supply", pack_size=50, lead_days=21)
    site.lay_over(second["counted"], "count", count=count + 60)
    number = site.release()["number"]
    whole = site.whole(number)
    bought = [line for line in whole["order"] if line["packs"] and line["item"] in {part["item"] for part in parts}]
    assert bought
    for line in bought:
        assert (line["pack_size"], line["order"] % 50, line["lead_days"]) == (50, 0, 21)
        assert line["before"] + line["order"] == line["need"] + line["left_over"]
        assert line["sum"] == pytest.approx(line["price"] * line["order"], abs=0.01)
    assert (whole["money"]["rebate"], whole["basis"]["most"]) == (10, 10)
    _, told = site.call("GET", f"releases/differences?from={number}&to=today")
    rebate = next(each for each in told["money"] if each["name"] == "rebate")
    assert (rebate["from"], rebate["to"]) == (10, 10)
    _, told = site.call("GET", f"releases/differences?from={number - 1}&to={number}")
    rebate = next(each for each in told["money"] if each["name"] == "rebate")
    assert rebate["from"] > 10, "the release before was made before there was a limit"
    assert rebate["to"] == 10
