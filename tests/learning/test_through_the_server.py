"""From the closing of sites to the verdict of another: nothing is shared unless an owner says so, and it is told what changed."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select
from tests.support.installation import Installation, installed, new_id

from spanwalk.services.sites import delete_site
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import LearningNumber

LAMPS = {
    "fitted": "led-tube-on-mains",
    "diameter": "T8",
    "cap": "G13",
    "nominal_ft": "4-ft",
    "rows": 2,
    "lamps_end_to_end": 1,
}
BAR = {
    "length_ticks": 380_480,
    "tolerance_ticks": 320,
    "joint_ticks": 320,
    "end_gap_ticks": 480,
    "width_ticks": 7040,
    "height_ticks": 3840,
    "cover": "none",
    "lit_ticks": 374_080,
    "rise_k": 15,
    "lumens_per_w": 150,
    "rated_ma": 350,
    "most_ma": 700,
    "forward_v": 40,
    "l70_h": 50_000,
    "moisture": "dry",
    "fixing": ["magnets"],
}
READ = (383_460, 383_560, 383_860, 384_160, 384_160, 384_460, 384_760, 384_860)
SIDES = (-1, 0, 0, 0, 0, 0, 0, 1)
"""Of 24 cavities: tight by themselves, enough with the firm's numbers; see tests/vectors/judging.json."""


@pytest.fixture(scope="module")
def here(back_end: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Installation]:
    with closed_sites(back_end, tmp_path_factory.mktemp("installation") / "data") as made:
        yield made


@pytest.fixture
def apart(back_end: str, tmp_path: Path) -> Iterator[Installation]:
    """One of its own, of which sites are opened again and deleted."""
    with closed_sites(back_end, tmp_path / "data") as made:
        yield made


@contextmanager
def closed_sites(back_end: str, data: Path) -> Iterator[Installation]:
    """An installation with five closed sites that gave their numbers, one that did not, and the open test building."""
    with installed(data, back_end) as made:
        first = made.site
        for at in range(6):
            made.site = str(made.call("owner", "POST", "/api/sites", json={"name": f"Invented yard {at}"}).json["id"])
            survey(made, tuple(length - 16 * at * side for length, side in zip(READ, SIDES, strict=True)))
            if at < 5:
                choose(made, gives=True)
            close(made)
        made.site = first
        survey(made, READ)
        yield made


def push(here: Installation, *told: tuple[str, str, str, dict[str, Any]], by: str = "owner") -> list[dict[str, Any]]:
    made = [here.operation(by, record, kind, facet, to, spec=99) for record, kind, facet, to in told]
    return list(here.push(by, *made))


def survey(here: Installation, lengths: tuple[int, ...]) -> None:
    floor, room, kind, group, bar = (new_id() for _ in range(5))
    told: list[tuple[str, str, str, dict[str, Any]]] = [
        (floor, "floor", "identity", {"name": "Ground", "parent": here.site}),
        (room, "room", "identity", {"number": "1", "parent": floor}),
        (room, "room", "surroundings", {"coldest_c": 10, "hottest_c": 38}),
        (kind, "kind", "identity", {"mark": "K1", "parent": here.site, "alike": "yes"}),
        (kind, "kind", "lamps", LAMPS),
        (kind, "kind", "housing", {"body": "strip", "material": "steel"}),
        (group, "group", "identity", {"kind": kind, "parent": room}),
        (group, "group", "count", {"count": 12, "dark_lamps": 2}),
        (bar, "catalogue_item", "identity", {"item": "bar", "code": "TERN-4", "offered": True, "parent": here.site}),
        (bar, "catalogue_item", "bar", BAR),
    ]
    for at, length in enumerate(lengths, 1):
        said = {"position": at, "row": 1 + at % 2, "cavity": 1, "length_ticks": length, "as_entered": "-"}
        said |= {"instrument": "us-tape", "graduation": "1-16-in", "parent": group}
        told.append((new_id(), "cavity_reading", "identity", said))
    answers = push(here, *told)
    assert [each for each in answers if each["result"] != "applied"] == []


def choose(here: Installation, by: str = "owner", **said: bool) -> dict[str, Any]:
    pulled = here.pull("owner", "since=0&limit=5000")["records"]
    held = next(each for each in pulled if each["id"] == here.site)["facets"].get("learning")
    more = {"seen": held["op"], "from": held["value"]} if held else {}
    (answer,) = here.push(by, here.operation(by, here.site, "site", "learning", said, spec=99, **more))
    return dict(answer)


def close(here: Installation, archived: bool = True) -> None:
    body = {"archived": archived, "reason": "More to do"}
    answer = here.call("owner", "PUT", "/api/sites/{site}/archived", json=body)
    assert answer.status_code == 204, answer.text


def learning(here: Installation, method: str = "GET") -> Any:
    return here.call("owner", method, "/api/sites/{site}/learning")


def verdict(here: Installation) -> dict[str, Any]:
    (told,) = here.call("owner", "GET", "/api/sites/{site}/fits").json["groups"].values()
    return dict(told)


def rows(here: Installation) -> list[tuple[str, str]]:
    with here.app.app_context(), reading() as session:
        return [(row.site, row.key) for row in session.execute(select(LearningNumber)).scalars()]


def test_only_sites_whose_owner_said_so_leave_numbers_and_without_names(here: Installation) -> None:
    told = learning(here).json
    assert told["closed_sites"] == 5
    spread = next(row for row in told["rows"] if (row["of"], row["key"]) == ("spread", "T8/4-ft/strip"))
    assert (spread["sites"], spread["readings"]) == (5, 40)
    assert spread["readings_with"] < spread["readings_without"]
    dark = next(row for row in told["rows"] if (row["of"], row["key"]) == ("dark", "T8/4-ft/strip"))
    assert (dark["value"], dark["readings"]) == (pytest.approx(2 / 24), 120)
    assert "Invented" not in learning(here).text


def test_a_site_takes_numbers_only_when_its_owner_chose_it(here: Installation) -> None:
    before = verdict(here)
    refused = learning(here, "POST")
    assert (refused.status_code, refused.json["code"]) == (409, "learning-not-chosen")
    assert (before["verdict"], "firm" in before) == ("tight", False)
    assert choose(here, "manager", takes=True)["result"] == "refused"
    assert choose(here, takes=True)["result"] == "applied"
    assert "firm" not in verdict(here)
    assert learning(here, "POST").json == {"kinds": 2}
    after = verdict(here)
    assert after["verdict"] == "fits"
    assert after["firm"]["sites"] == 5
    assert after["firm"]["verdict_without"] == "tight"
    assert after["firm"]["readings_with"] < after["firm"]["readings_without"]
    assert learning(here).json["is_newer"] is False
    (plan,) = here.call("owner", "GET", "/api/sites/{site}/plan").json["groups"]
    why = here.call("owner", "GET", f"/api/sites/{{site}}/groups/{plan['group']}/plan").json["why"]
    assert "firm.counts-more" in [each["code"] for each in why]
    choose(here, takes=False)
    assert verdict(here) == before


def test_opening_a_site_again_forgets_its_numbers_and_so_does_deleting_it(apart: Installation) -> None:
    here = apart
    first, (one, other) = here.site, sorted({site for site, _ in rows(here)})[:2]
    here.site = one
    try:
        close(here, archived=False)
        assert one not in {site for site, _ in rows(here)}
        assert learning(here, "POST").json["code"] == "learning-not-chosen"
        close(here)
        assert one in {site for site, _ in rows(here)}
        assert learning(here, "POST").json["code"] == "learning-site-closed"
    finally:
        here.site = first
    with here.app.app_context(), writing() as session:
        name = next(f"Invented yard {at}" for at in range(6) if _is_named(here, other, at))
        delete_site(session, other, name)
    assert other not in {site for site, _ in rows(here)}
    told = learning(here).json
    assert (told["closed_sites"], {row["value"] for row in told["rows"]}) == (4, {None})


def _is_named(here: Installation, site: str, at: int) -> bool:
    sites = here.call("owner", "GET", "/api/sites").json["sites"]
    return any(each["id"] == site and each["name"] == f"Invented yard {at}" for each in sites)


@pytest.mark.parametrize("method", ["GET", "POST"])
def test_a_site_that_there_is_not_has_no_learning(here: Installation, method: str) -> None:
    answer = here.call("owner", method, f"/api/sites/{new_id()}/learning")
    assert (answer.status_code, answer.json["code"]) == (404, "site-unknown")
