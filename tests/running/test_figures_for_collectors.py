"""Figures of a running server, in the text format that collectors read; behind a setting, and only with its token."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from prometheus_client.parser import text_string_to_metric_families
from sqlalchemy import update
from tests.photos.test_taking_photos_in import jpeg
from tests.running.conftest import TOKEN
from tests.support.installation import DEVICES, OWN_PAGE, Installation, installed, new_id

from spanwalk.config import SettingWrong, read_settings
from spanwalk.services.clock import later
from spanwalk.storage.database import writing
from spanwalk.storage.tables import Device
from spanwalk.telemetry.counting import COUNTERS, DISTRIBUTIONS, GAUGES

BEARER = {"Authorization": "Bearer " + TOKEN.replace(" ", "-")}
Figures = dict[tuple[str, tuple[tuple[str, str], ...]], float]


def figures(here: Installation) -> Figures:
    """All figures, read by the reader of the package that collectors' makers publish: by name and labels."""
    answer = here.app.test_client().get("/api/metrics", headers=BEARER, buffered=True)
    assert answer.status_code == 200, answer.text
    assert answer.content_type.startswith("text/plain; version=0.0.4")
    families = text_string_to_metric_families(answer.text)
    return {(one.name, tuple(sorted(one.labels.items()))): one.value for each in families for one in each.samples}


def risen(before: Figures, after: Figures, name: str, **labels: str) -> float:
    key = (f"spanwalk_{name}", tuple(sorted(labels.items())))
    return after[key] - before.get(key, 0)


def test_without_the_setting_there_are_none(tmp_path: Path) -> None:
    with installed(tmp_path / "data") as here:
        answer = here.app.test_client().get("/api/metrics", headers=BEARER)
    assert (answer.status_code, answer.json["code"]) == (404, "metrics-off")


@pytest.mark.parametrize(
    "told", [None, "", "Bearer ", "Bearer wrong", "Basic x", "Bearer ÿ", BEARER["Authorization"] + "x"]
)
def test_without_its_token_they_are_not_given_not_even_to_an_owner(here: Installation, told: str | None) -> None:
    headers = {} if told is None else {"Authorization": told}
    answer = here.call("owner", "GET", "/api/metrics", headers=headers)
    assert (answer.status_code, answer.json["code"]) == (401, "metrics-token-wrong")


@pytest.mark.parametrize("token", ["short", "ÿ" * 30, "has a\x07bell" * 3])
def test_a_token_that_can_be_guessed_or_not_be_sent_is_refused_and_not_repeated(token: str) -> None:
    with pytest.raises(SettingWrong) as wrong:
        read_settings({"SPANWALK_METRICS_TOKEN": token})
    assert "SPANWALK_METRICS_TOKEN" in str(wrong.value)
    assert token not in str(wrong.value)


def test_requests_are_counted_by_route_and_status_never_by_what_was_typed(here: Installation) -> None:
    before = figures(here)
    for _ in range(3):
        here.call("surveyor", "GET", "/api/sites/{site}/pull?since=0", buffered=True)
    here.call("surveyor", "GET", f"/api/sites/{new_id()}/pull", buffered=True)
    here.app.test_client().get("/api/typed-by-somebody", buffered=True)
    after = figures(here)
    route = "/api/sites/<uuid:site_id>/pull"
    assert risen(before, after, "requests_total", method="GET", route=route, status="200") == 3
    assert risen(before, after, "requests_total", method="GET", route=route, status="404") == 1
    assert risen(before, after, "requests_total", method="GET", route="none", status="404") == 1
    assert risen(before, after, "request_seconds_count", route=route) == 4
    assert risen(before, after, "request_seconds_sum", route=route) > 0


def test_a_push_is_counted_with_its_size_its_operations_and_what_became_of_them(here: Installation) -> None:
    before, floor = figures(here), new_id()
    to = {"name": "Ground", "parent": here.site}
    made = here.operation("surveyor", floor, "floor", "identity", to)
    bad = here.operation("surveyor", new_id(), "floor", "identity", {"name": 7})
    here.push("surveyor", made, bad)
    here.push("manager", here.operation("manager", floor, "floor", "identity", to | {"name": "Other"}))
    after = figures(here)
    assert risen(before, after, "push_operations_count") == 2
    assert risen(before, after, "push_operations_sum") == 3
    assert risen(before, after, "push_bytes_sum") > 500
    told = {
        result: risen(before, after, "operations_total", result=result) for result in ("applied", "refused", "conflict")
    }
    assert told == {"applied": 1, "refused": 1, "conflict": 1}
    assert risen(before, after, "conflicts_open") == 1


def test_photos_that_arrive_are_counted(here: Installation) -> None:
    before, data = figures(here), jpeg()
    path = f"/api/sites/{{site}}/photos/{hashlib.sha256(data).hexdigest()}"
    for _ in range(2):
        here.call("surveyor", "PUT", path, data=data, buffered=True)
    after = figures(here)
    assert [risen(before, after, "photos_received_total", new=new) for new in ("yes", "no")] == [1, 1]
    assert risen(before, after, "photo_bytes_sum") == 2 * len(data)


def test_sign_ins_are_counted_by_how_they_ended(here: Installation) -> None:
    before = figures(here)
    client = here.app.test_client()
    for password in ("not it at all", "not it either", "walk the span"):
        client.post("/api/session", json={"name": "crew", "password": password}, headers=OWN_PAGE, buffered=True)
    after = figures(here)
    assert [risen(before, after, "sign_ins_total", result=result) for result in ("failed", "done")] == [2, 1]
    assert risen(before, after, "security_events_total", event="sign-in-failed") == 2


def test_how_far_phones_are_behind_is_what_they_said_themselves(here: Installation) -> None:
    here.push("surveyor", unsent={"operations": 4, "photos": 9})
    here.push("manager", unsent={"operations": 1, "photos": 2})
    with here.app.app_context(), writing() as session:
        session.execute(update(Device).where(Device.id == DEVICES["surveyor"]).values(unsent_since=later(-3600)))
    now = figures(here)
    told = {name: now[f"spanwalk_{name}", ()] for name in ("photos_unsent", "operations_unsent", "phones_behind")}
    assert told == {"photos_unsent": 11, "operations_unsent": 5, "phones_behind": 2}
    assert 3600 <= now["spanwalk_sync_lag_seconds", ()] < 3700
    here.push("surveyor", unsent={"operations": 0, "photos": 0})
    here.push("manager", unsent={"operations": 0, "photos": 0})
    assert figures(here)["spanwalk_sync_lag_seconds", ()] == 0


def test_every_figure_is_explained_where_the_server_is_run_from() -> None:
    text = (Path(__file__).parents[2] / "server" / "running.md").read_text(encoding="utf-8")
    names = {*COUNTERS, *DISTRIBUTIONS, *GAUGES}
    assert len(names) > 10
    assert {name for name in names if f"`spanwalk_{name}`" not in text} == set()
