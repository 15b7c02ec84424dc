"""Tight bars in the plan: what a trial bar says of them, and what a manager may accept."""

from __future__ import annotations

from typing import Any

import pytest
from tests.planning.some_body import body, fit

from spanwalk.rules.arrangements.plan import plan_group
from spanwalk.services.text.explaining import sentence

Json = Any
NAME = "BAR in rows 1, 2; DRIVER at 800 mA"
TRIED = {"tried": 2, "left": 18, "could_refuse": 12, "close": 0, "next": None, "settles": False}
ACCEPTED = {
    "decision": {
        "decision": "convert-with-this-arrangement",
        "arrangement": NAME,
        "accepts_trial": True,
        "reason": "shorter bars go with the crew",
    }
}


def plan(trial: Json | None, decision: Json | None = None, **more: Json) -> Json:
    tight = fit("bar", verdict="tight", clearance_ticks=-64) | ({"trial": trial} if trial else {}) | more
    return plan_group(body(fits=[tight], group=decision or {}))


def fit_check(found: Json) -> Json:
    return next(check for check in found["proposal"]["checks"] if check["check"].startswith("fit"))


def test_a_trial_in_two_of_twenty_does_not_make_it_ready() -> None:
    found = plan(TRIED)
    assert found["proposal"]["arrangement"] == NAME
    assert found["state"] == "open"
    (blocker,) = found["blockers"]
    assert blocker["code"] == "plan.fit-trial.cannot-tell"
    assert "of 18 others up to 12 may still refuse it, at 95 %" in sentence(blocker)


def test_a_manager_who_accepts_the_trial_with_a_reason_makes_it_ready_with_a_caution() -> None:
    found = plan(TRIED, ACCEPTED)
    assert found["state"] == "ready"
    assert fit_check(found)["code"] == "plan.fit-accepted.passes"
    assert "plan.caution.tried-only" in found["cautions"]


@pytest.mark.parametrize(
    ("trial", "changed"),
    [
        (None, {}),
        (TRIED | {"could_refuse": None, "next": [1, 1, 1]}, {}),
        (TRIED, {"reason": ""}),
        (TRIED, {"accepts_trial": False}),
        (TRIED, {"arrangement": "BAR in row 1; DRIVER at 350 mA"}),
    ],
    ids=["no trial", "the shortest cavity was not tried", "no reason", "not accepted", "for another arrangement"],
)
def test_nothing_less_is_accepted(trial: Json | None, changed: Json) -> None:
    assert plan(trial, {"decision": ACCEPTED["decision"] | changed})["state"] == "open"


def test_trials_that_settle_it_make_it_ready_without_a_decision() -> None:
    found = plan(TRIED | {"could_refuse": 0, "settles": True}, verdict="fits")
    assert found["state"] == "ready"
    assert fit_check(found)["code"] == "plan.fit-tried.passes"
    assert "plan.caution.tried-only" not in found["cautions"]


def test_a_bar_that_did_not_go_in_is_rejected_whatever_was_decided() -> None:
    found = plan(None, ACCEPTED, verdict="too long", refused=True)
    assert found["proposal"] is None
    assert {each["code"] for each in found["rejected"]} == {"plan.fit-tried.fails"}
