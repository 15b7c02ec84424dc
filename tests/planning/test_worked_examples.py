"""The proposals for the demo building are those of seed_data/demo/worked.md, which was reckoned apart from the code."""

from __future__ import annotations

import re
from typing import Any

import pytest
from tests.planning.demo_records import demo_records

from spanwalk.package_folders import seed_folder
from spanwalk.rules.arrangements.plan import plan_group
from spanwalk.rules.fit import not_converted
from spanwalk.rules.survey import facet, mark_of
from spanwalk.services.planning.plans import SitePlan, make_plans

WORKED = (seed_folder() / "demo" / "worked.md").read_text(encoding="utf-8")
KINDS = re.findall(r"^\| (K\d+) \| (\w\d\d) \| ([a-z ]+) \| (.+) \|$", WORKED, re.MULTILINE)
CHAINS = re.findall(r"<!-- (K\d+) (\w\d\d): (.+) -->\n\n\| figure .*\n\| --- .*\n((?:\| .+\n?)+)", WORKED)


@pytest.fixture(scope="module")
def made() -> SitePlan:
    return make_plans(demo_records())


def plan_of(made: SitePlan, mark: str, number: str) -> Any:
    return next(
        plan_group(made.body(id))
        for id, plan in made.plans.items()
        if mark_of(made.survey.by_id[plan["kind"]]) == mark
        and facet(made.survey.by_id[plan["room"]], "identity")["number"] == number
    )


def test_every_kind_of_the_building_is_worked() -> None:
    assert {kind for kind, *_ in KINDS} == {f"K{number}" for number in range(1, 21)}
    assert sum(state == "not by this method" for _, _, state, _ in KINDS) == 4
    assert len(CHAINS) == 5


@pytest.mark.parametrize(("mark", "number", "state", "decides"), KINDS, ids=lambda each: str(each)[:14])
def test_the_proposal_is_the_one_worked_by_hand(
    made: SitePlan, mark: str, number: str, state: str, decides: str
) -> None:
    found = plan_of(made, mark, number)
    assert found["state"] == state
    if state == "ready":
        assert found["proposal"]["arrangement"] == decides
    elif state == "nothing passes":
        check, fact, value = decides.split(" ")
        off = [each["facts"][fact] for each in found["rejected"] if each["check"] == check]
        assert min(off) == float(value)
    else:
        assert decides in [each["code"] for each in found["blockers"]]


def test_when_nothing_passes_every_candidate_names_its_check_with_a_number(made: SitePlan) -> None:
    for id, plan in made.plans.items():
        if plan["state"] == "nothing passes":
            rejected = plan_group(made.body(id))["rejected"]
            assert rejected
            for each in rejected:
                assert each["verdict"] == "fails"
                assert any(isinstance(value, (int, float)) for value in each["facts"].values()) or each["facts"], each


def figures_of(plan: Any) -> dict[str, float]:
    """The figures that a chain in the document ends in, as the plan has them."""
    proposal, now = plan["proposal"], plan["now"]
    light = next(check for check in proposal["checks"] if check["check"] == "light")
    return {
        "trusted cavity [ticks]": proposal["fit"]["terms"]["trusted_ticks"],
        "needed [ticks]": proposal["fit"]["terms"]["needed_ticks"],
        "clearance [ticks]": proposal["fit"]["clearance_ticks"],
        "gap at each end [ticks]": proposal["gap_each_end_ticks"],
        "watts now [W]": now["watts"],
        "watts then [W]": proposal["watts"],
        "lumens now [lm]": now["lumens"],
        "lumens then [lm]": proposal["light"]["then_lm"],
        "share of what is wanted [%]": light["facts"]["share_of_wanted_pct"],
        "utilisation": now["utilisation"],
        "lux now [lx]": now["lux"],
        "lux then [lx]": proposal["light"]["lux"],
        "energy now [kWh a year]": proposal["energy"]["kwh_now"],
        "energy then [kWh a year]": proposal["energy"]["kwh_then"],
        "cost": proposal["money"]["cost"],
        "rebate": proposal["money"]["rebate"],
        "saving a year": proposal["money"]["saving_year"],
        "simple payback [years]": proposal["money"]["simple_payback_years"],
        "present value": proposal["money"]["npv"],
        "life-cycle cost": proposal["money"]["lcc"],
    }


@pytest.mark.parametrize(("mark", "number", "arrangement", "table"), CHAINS, ids=lambda each: str(each)[:12])
def test_the_chain_from_readings_to_money_comes_out_as_by_hand(
    made: SitePlan, mark: str, number: str, arrangement: str, table: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The 8 ft strips are worked as if the method went so far: the arithmetic is that of all bars in line."""
    monkeypatch.setattr(not_converted, "TOO_LONG", ())
    found = plan_of(made, mark, number)
    assert found["proposal"]["arrangement"] == arrangement
    figures = figures_of(found)
    rows = re.findall(r"^\| (.+?) \| (-?[\d.]+) \| ([\d.]+) \|$", table, re.MULTILINE)
    assert [name for name, *_ in rows] == list(figures)
    for name, by_hand, within in rows:
        assert figures[name] == pytest.approx(float(by_hand), abs=float(within)), name
