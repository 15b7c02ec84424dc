"""A European and an American building, invented, planned end to end: surveyed through push, explained by the command, released by a manager."""

from __future__ import annotations

import json
from typing import Any, NamedTuple

import pytest
from tests.open_points.complete_site import BAR, FOUR_FOOT_TICKS, KIND, Hand
from tests.planning.some_body import DRIVER, ROOM
from tests.support.commands import spanwalk
from tests.support.server import Client, Server

MONEY = {
    "currency": "EUR", "tariff_per_kwh": 0.25, "discount_pct": 4, "escalation_pct": 0, "study_years": 12, "labour_per_h": 55,
}  # fmt: skip


class SpecThree(Hand):
    """A person whose phone knows the fields of today."""

    def operation(self, *told: Any, **more: Any) -> dict[str, Any]:
        return super().operation(*told, **{"spec": 3} | more)


class Building(NamedTuple):
    hand: SpecThree
    group: str
    number: str


def building(
    server: Server, name: str, number: str, settings: dict[str, Any], kind: dict[str, Any], volts: str
) -> Building:
    client = Client(server.url, "owner")
    status, made = client.call("POST", "/api/sites", {"name": name})
    assert status == 201, made
    hand = SpecThree(client, made["id"])
    common = {"units": "millimetres", "coldest_c": 10, "hottest_c": 38, "light_ceiling_pct": 300, "keep_light_pct": 60}
    hand.save(hand.site, "site", settings=common | settings)
    hand.make("money", hand.site, MONEY)
    for code, what, said, each in (("BAR-4", "bar", BAR, 14), ("DRIVER", "driver", DRIVER, 18)):
        item = hand.make("catalogue_item", hand.site, {"item": what, "code": code, "offered": True}, **{what: said})
        hand.make("price", item, {"each": each, "fit_minutes": 5})
    floor = hand.make("floor", hand.site, {"name": "Ground", "order": 0})
    facets = {name: said for name, said in ROOM.items() if name != "identity"}
    identity = ROOM["identity"] | {"number": number}
    room = hand.make("room", floor, identity, progress={"progress": "surveyed"}, **facets)
    kind_id = hand.make("kind", hand.site, {"mark": "K1", "alike": "yes"}, **KIND | kind)
    supply = {"volts": volts, "how_known": "panel-schedule", "panel": "LP-1", "circuit": "1", "shared_neutral": "no"}
    duty = {"emergency": "none", "control_now": "switch", "control_wanted": "none", "dimming": "none"}
    group = hand.make(
        "group", room, {"kind": kind_id}, count={"count": 2, "dark_lamps": 0, "sure": "yes"}, supply=supply, duty=duty
    )
    for position in (1, 2):
        for row in (1, 2):
            hand.read(group, position, row, FOUR_FOOT_TICKS)
    return Building(hand, group, number)


CHOKES = {
    "ballast": "magnetic", "ballast_count": 2, "leaking": "no", "volts_mark": "230", "energy_class": "C", "capacitor": "seen",
    "capacitor_made": "1984", "pcb_mark": "not-seen",
}  # fmt: skip


@pytest.fixture(scope="module")
def european(server: Server) -> Building:
    settings = {"supply_volts": "230", "region": "european-union-or-uk", "light_standard": "en-12464-1-2021"}
    kind = {"lamps": KIND["lamps"] | {"lamp_w": 36}, "ballast": CHOKES}
    return building(server, "The Ropewalk, invented", "R01", settings, kind, "230")


@pytest.fixture(scope="module")
def american(server: Server) -> Building:
    settings = {"supply_volts": "277", "region": "united-states-or-canada", "power_density_code": "2021-space-by-space"}
    return building(server, "The Ice House, invented", "I01", settings, {}, "277")


def explained(server: Server, number: str) -> str:
    told = spanwalk("explain", f"{number} K1", "--data", str(server.data), env=server.env)
    assert told.returncode == 0, told.stderr
    return told.stdout


def plan_of(some: Building) -> Any:
    return some.hand.client.get(f"/api/sites/{some.hand.site}/groups/{some.group}/plan")


def test_a_european_group_on_chokes_is_ready_with_the_watts_of_its_class(server: Server, european: Building) -> None:
    """2 × 45 W by the first phase of Directive 2000/55/EC; what was 'light cannot be judged' before."""
    plan = plan_of(european)
    assert (plan["state"], plan["now"]["watts_each"]) == ("ready", 90)
    assert (plan["waste"]["suspicion"], plan["waste"]["rule"], plan["waste"]["starters"]) == (
        "suspect",
        "capacitor-and-date",
        4,
    )
    assert "plan.caution.capacitor" in plan["cautions"]
    told = explained(server, european.number)
    assert "Lighting energy of the room" in told
    assert "Directive 2000/55/EC" in told


def test_an_american_group_is_ready_with_its_code_by_name_and_what_of_an_alteration_counts(
    server: Server, american: Building
) -> None:
    plan = plan_of(american)
    assert (plan["state"], plan["now"]["watts_each"], plan["waste"]["rule"]) == ("ready", 59, "mark-and-date")
    told = explained(server, american.number)
    assert "International Energy Conservation Code (IECC) 2021" in told
    assert "an alteration of 10 % or more of the luminaires" in told
    assert "plan.caution.capacitor" not in plan["cautions"]


def test_nothing_is_released_on_a_figure_from_memory_that_the_manager_was_not_shown(
    european: Building, american: Building
) -> None:
    """What stands frozen in the release's sums was all on the desk's plan before, group by group and together."""
    for some in (european, american):
        site = f"/api/sites/{some.hand.site}"
        shown = some.hand.client.get(f"{site}/plan")["totals"]["from_memory"]
        group = plan_of(some)["from_memory"]
        names = [" | ".join(each["facts"][name] for name in ("what", "row", "source")) for each in shown]
        names.sort()
        assert refused(some, names[1:]) == (422, "release-from-memory", names[:1])
        assert refused(some, []) == (422, "release-from-memory", names)
        body = {"note": "", "from_memory_seen": names}
        status, made = some.hand.client.call("POST", f"{site}/releases", body)
        assert status == 201, made
        pulled = some.hand.client.get(f"{site}/pull?since=0&limit=5000")["records"]
        sums = [each["facets"]["identity"]["value"] for each in pulled if each["type"] == "release_sums"]
        frozen = [said for each in sums for said in _whole(each).get("from_memory", [])]
        assert group
        assert texts(frozen) == texts(shown) == texts(group)
        (release,) = [each["facets"]["identity"]["value"] for each in pulled if each["type"] == "release"]
        assert sorted(release["from_memory_seen"]) == names


def refused(some: Building, seen: list[str]) -> tuple[int, str, list[str]]:
    path = f"/api/sites/{some.hand.site}/releases"
    status, problem = some.hand.client.call("POST", path, {"note": "", "from_memory_seen": seen})
    assert str(len(problem["figures"])) in problem["detail"]
    return status, problem["code"], sorted(problem["figures"])


def texts(told: list[Any]) -> set[str]:
    return {json.dumps(each, sort_keys=True) for each in told}


def _whole(sums: dict[str, Any]) -> dict[str, Any]:
    return next((value for value in sums.values() if isinstance(value, dict) and "from_memory" in value), {})


def test_a_row_of_the_sites_own_is_used_there_offered_elsewhere_and_used_there_only_once_taken(
    server: Server, european: Building, american: Building
) -> None:
    lamp = {
        "diameter": "T8", "nominal_ft": "4-ft", "cap": "G13", "lamp_w": 51, "mains": "both", "initial_lm": 4000, "mean_share": 0.9,
    }  # fmt: skip
    about = {"table": "lamp", "source": "sheet of the lamp, 2009", "how_known": "read", "offered": True}
    made = european.hand.make("own_row", european.hand.site, about, lamp=lamp)
    here = european.hand.client.get(f"/api/sites/{european.hand.site}/figures")
    there = american.hand.client.get(f"/api/sites/{american.hand.site}/figures")
    assert (here["rows_not_used"], [each["record"] for each in here["offered"]]) == ([], [])
    (offered,) = [each for each in there["offered"] if each["record"] == made]
    assert (offered["site"], offered["facets"]["identity"]["source"]) == (
        "The Ropewalk, invented",
        "sheet of the lamp, 2009",
    )
    american.hand.make(
        "own_row",
        american.hand.site,
        offered["facets"]["identity"] | {"offered": False},
        lamp=offered["facets"]["lamp"],
    )
    again = american.hand.client.get(f"/api/sites/{american.hand.site}/figures")
    assert made not in [each["record"] for each in again["offered"]]


def test_a_row_that_cannot_be_used_is_an_open_point_for_the_manager(american: Building) -> None:
    lamp = {
        "diameter": "T8", "nominal_ft": "4-ft", "cap": "G13", "lamp_w": 32, "mains": "60-hz", "initial_lm": 5000, "mean_share": 0.9,
    }  # fmt: skip
    made = american.hand.make(
        "own_row", american.hand.site, {"table": "lamp", "source": "a guess", "how_known": "from-memory"}, lamp=lamp
    )
    points = [each for each in american.hand.points() if each["rule"] == "figure-not-used"]
    assert [each["record"] for each in points] == [made]
