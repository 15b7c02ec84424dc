"""Lamps and gear of 50 and 60 Hz: no figure crosses from one world to the other, and watts that nobody read are asked where they are doubtful."""

from __future__ import annotations

from typing import Any

import pytest
from tests.planning.some_body import BARS_AND_DRIVER, body
from tests.planning.test_what_is_left_out import without

from spanwalk.reference import tables
from spanwalk.rules.arrangements.body import Body
from spanwalk.rules.arrangements.card.crew_card import crew_card, steps
from spanwalk.rules.arrangements.now import now
from spanwalk.rules.arrangements.plan import plan_group
from spanwalk.rules.gear.mains import lamp_watts_doubt, mains_hz

AT_230: dict[str, Any] = {"supply": {"volts": "230"}}


def european(lamps: dict[str, Any] | None = None, **ballast: Any) -> Body:
    gear = {
        "ballast": "magnetic",
        "ballast_count": 2,
        "volts_mark": "230",
        "made": "",
        "pcb_mark": "not-seen",
    } | ballast
    return body(group=AT_230, kind={"lamps": {"lamp_w": 36} | (lamps or {}), "ballast": gear})


def test_two_36_w_lamps_on_chokes_at_230_v_draw_what_the_directive_lets_low_loss_ones_draw() -> None:
    """2 × 43 W: Directive 2000/55/EC, second phase; what was called 'light cannot be judged' before the table had them."""
    found = now(european())
    assert (found.watts_each, found.missing, found.assumed) == (86, (), ("ballast generation",))
    assert found.light is not None


@pytest.mark.parametrize(
    ("seen", "watts"),
    [
        ({"energy_class": "C"}, 90),
        ({"energy_class": "D"}, 90),
        ({"energy_class": "B2"}, 86),
        ({"energy_class": "B1"}, 82),
        ({"made": "1999"}, 90),
        ({"made": "12/1999"}, 90),
        ({"made": "2007"}, 86),
        ({"ballast": "electronic", "energy_class": "A2"}, 72),
        ({"ballast": "electronic", "energy_class": "A3"}, 76),
    ],
    ids=str,
)
def test_the_class_or_date_on_the_gear_says_which_loss(seen: dict[str, str], watts: float) -> None:
    """First phase 45 W a lamp, second 43 W (both read); B1 41, A3 38, A2 36 W from memory; class D is reckoned as C."""
    assert now(european(**seen)).watts_each == watts


@pytest.mark.parametrize(
    ("diameter", "nominal_ft", "lamp_w", "watts"),
    [
        ("T8", "2-ft", 18, 52),
        ("T8", "4-ft", 36, 86),
        ("T8", "5-ft", 58, 134),
        ("T8", "6-ft", 70, 160),
        ("T12", "5-ft", 65, 156),
    ],
)
def test_every_european_length_has_watts_and_light(diameter: str, nominal_ft: str, lamp_w: float, watts: float) -> None:
    found = now(european({"diameter": diameter, "nominal_ft": nominal_ft, "lamp_w": lamp_w}))
    assert (found.watts_each, found.missing) == (watts, ())
    assert found.light


@pytest.mark.parametrize(("volts", "lamp_w"), [("230", 32), ("277", 36)])
def test_a_lamp_of_the_other_world_is_not_taken_for_one_of_this(volts: str, lamp_w: int) -> None:
    found = now(
        body(
            group={"supply": {"volts": volts}},
            kind={"lamps": {"lamp_w": lamp_w}, "ballast": {"volts_mark": "not-seen"}},
        )
    )
    assert found.watts_each is None
    assert "lumens of these lamps" in found.missing


def test_blank_watts_at_230_v_take_the_usual_lamp_of_that_world_and_say_so() -> None:
    found = now(without(european(), "kind.lamps.lamp_w"))
    assert found.watts_each == 86
    assert "lamp watts" in found.assumed


DOUBTFUL = [
    ("supply", {"group": {"supply": {"volts": "not-seen"}}, "kind": {"ballast": {"volts_mark": "not-seen"}}}),
    ("gear", {"kind": {"ballast": {"ballast": "not-seen"}}}),
    ("unusual gear", {"kind": {"ballast": {"ballast": "magnetic"}}}),
    ("two outputs", {"kind": {"lamps": {"diameter": "T5", "cap": "G5"}}}),
]


@pytest.mark.parametrize(("why", "changes"), DOUBTFUL, ids=[why for why, _ in DOUBTFUL])
def test_blank_watts_are_asked_where_gear_or_supply_makes_them_doubtful(why: str, changes: dict[str, Any]) -> None:
    plan = plan_group(without(body(**changes), "kind.lamps.lamp_w"))
    assert (plan["now"]["watts_each"], plan["state"] == "ready") == (None, False), why
    assert "lamp watts" in plan["now"]["missing"]


def test_240_v_is_of_neither_world_until_the_region_is_said() -> None:
    assert mains_hz({"volts": "240"}, {}, {}) is None
    assert mains_hz({"volts": "240"}, {}, {"region": "european-union-or-uk"}) == 50
    assert mains_hz({"volts": "240"}, {}, {"supply_volts": "277"}) == 60


def test_led_tubes_are_not_asked_for_the_watts_of_lamps() -> None:
    assert lamp_watts_doubt({"fitted": "led-tube-on-mains", "diameter": "T5"}, "none", None) is None


def test_light_in_a_room_that_never_gets_warm_is_said_to_be_reckoned_as_in_a_warm_one() -> None:
    cold = now(body(room={"surroundings": {"coldest_c": -30, "hottest_c": -20}}))
    assert "lamps as in a warm room" in cold.assumed
    assert "lamps as in a warm room" not in now(body()).assumed


# -- whose targets, whose codes


def by_target(**changes: Any) -> dict[str, Any]:
    some = body(settings={"light_policy": "meet-the-target-of-the-space"}, **changes)
    return dict(plan_group(some)["wanted"])


def test_where_nobody_chose_the_targets_of_the_own_world_are_taken() -> None:
    lamps = {"lamps": {"lamp_w": 36}, "ballast": {"ballast": "magnetic", "volts_mark": "230"}}
    here, there = by_target(), by_target(group=AT_230, kind=lamps)
    assert (here["standard"], here["target_lux"]) == ("us-federal-41-cfr-102-74-180", 538)
    assert (there["standard"], there["target_lux"]) == ("en-12464-1-2021", 500)
    assert "whose targets count" in here["assumed"]
    assert "whose targets count" in there["assumed"]


def test_where_the_mains_are_not_known_no_target_is_taken() -> None:
    unknown = by_target(group={"supply": {"volts": "not-seen"}}, kind={"ballast": {"volts_mark": "not-seen"}})
    assert "target of the space" in unknown["missing"]


def test_a_loading_dock_is_no_packing_hall() -> None:
    """EN 12464-1, traffic zones: loading ramps and bays, 150 lx (from memory); packing has 300 lx."""
    row = next(row for row in tables()["spaces"]["rows"] if row["space"] == "loading-dock")
    assert (row["targets"][0]["row"], row["targets"][0]["lux"]) == ("loading ramps and bays", 150)


def test_power_density_names_the_code_with_its_edition_in_both_units_and_says_what_an_alteration_is() -> None:
    density = plan_group(body())["density"]
    assert density is not None
    assert density["name"] == "International Energy Conservation Code (IECC) 2021, space by space"
    assert density["w_m2"] == pytest.approx(density["w_ft2"] * 10.7639, rel=0.01)
    assert (density["alteration_pct"], density["alteration_of"]) == (10, "luminaires")


def test_lighting_energy_over_the_floor_is_that_of_the_room() -> None:
    """LENI = W / A: 80 m², 3,000 h, and what the proposal draws, without controls."""
    plan = plan_group(body())
    watts = plan["proposal"]["watts"]
    assert plan["leni"] == {"kwh_m2_year": round(watts * 3 / 80, 2), "w_m2": round(watts / 80, 2), "hours_year": 3000}


# -- what comes out


def test_each_choke_of_230_v_counts_for_its_lamp_where_nobody_counted() -> None:
    some = european()
    some.kind["facets"]["ballast"].pop("ballast_count")
    assert plan_group(some)["waste"]["ballasts"] == 20


def test_starters_and_capacitor_come_out_with_a_choke_and_the_card_says_so() -> None:
    plan = plan_group(european(capacitor="seen"))
    assert (plan["waste"]["starters"], plan["waste"]["rule"]) == (20, "capacitor-and-date")
    assert "plan.caution.capacitor" in plan["cautions"]
    card: Any = {
        "remove": {"lamps": 2, "lamp": "T8 4 ft", "ballasts": 2, "ballast": "magnetic", "pcb": "suspect", "starters": 2, "capacitor": "seen"},
        "rows": [{"row": 1, "cavities": 1, "dark": False, "bars": [{"name": "B"}], "gap_each_end_ticks": 640}],
        "driver": None, "wiring": [], "bars_held": "magnets", "fed_from_neighbour": True, "feeds_neighbour": False, "feeds": "one",
        "supply": {"volts": "230"}, "control": {"wanted": "none", "pair": "no", "driver": False},
        "emergency": {"duty": "none", "positions": []}, "accessories": [], "cautions": ["plan.caution.capacitor"],
    }  # fmt: skip
    (out,) = [each for each in steps(card) if each["code"] == "plan.step.take-ballast"]
    assert [each["code"] for each in out["lines"]] == ["plan.line.starters"]
    assert cautioned(steps(card), "plan.caution.capacitor") == ["plan.step.take-capacitor"]


def cautioned(found: Any, caution: str) -> list[str]:
    return [each["code"] for each in found if caution in each.get("cautions", ())]


def card_of(some: Any) -> Any:
    return crew_card(plan_group(some), some.group, some.kind, {item["id"]: item for item in BARS_AND_DRIVER})


@pytest.mark.parametrize(
    ("seen", "takes"), [("seen", "take-capacitor"), ("not-seen", "look-for-capacitor"), ("none", None)]
)
def test_a_capacitor_is_discharged_before_a_lead_is_touched_and_cautioned_of_just_there(
    seen: str, takes: str | None
) -> None:
    """A charge stays in what was proved dead: before the ballast, and before any lead, never after (common practice, no source)."""
    some = european(capacitor=seen)
    some.site["facets"]["settings"] |= {"light_ceiling_pct": 300, "keep_light_pct": 60}
    found = card_of(some)["steps"]
    names = [each["code"].removeprefix("plan.step.") for each in found]
    assert (
        names[:5]
        == ["isolate", "prove-dead", "take-lamps", *([takes] if takes else []), "take-ballast", "cap-leads"][:5]
    )
    assert cautioned(found, "plan.caution.capacitor") == ([f"plan.step.{takes}"] if takes else [])


def test_a_capacitor_that_led_tubes_left_behind_is_out_before_the_leads_of_the_mains() -> None:
    decided = {"decision": {"decision": "convert-as-recommended", "accepts_led_tubes": True, "reason": "they flicker"}}
    some = european(capacitor="seen", capacitor_made="1984", ballast="none", ballast_count=0)
    some.kind["facets"]["lamps"] |= {"fitted": "led-tube-on-mains", "lamp_w": 15, "tube_lm": 2000}
    some.group["facets"] |= decided
    some.site["facets"]["settings"] |= {"light_ceiling_pct": 900}
    card = card_of(some)
    names = [each["code"].removeprefix("plan.step.") for each in card["steps"]]
    assert names[:6] == ["isolate", "prove-dead", "take-tubes", "take-capacitor", "take-mains-leads", "cap-leads"]
    assert card["remove"]["pcb"] == "suspect"
    assert cautioned(card["steps"], "plan.caution.pcb") == ["plan.step.take-capacitor"]


@pytest.mark.parametrize("capacitor", ["seen", "not-seen"])
def test_a_mark_on_the_ballast_leaves_an_old_capacitor_under_caution(capacitor: str) -> None:
    plan = plan_group(european(pcb_mark="marked", capacitor=capacitor, capacitor_made="1984"))
    assert plan["waste"]["suspicion"] == "suspect"
    assert "plan.caution.pcb" in plan["cautions"]


def test_nothing_of_that_is_said_of_60_hz() -> None:
    plan = plan_group(body())
    assert (plan["waste"]["starters"], plan["waste"]["rule"]) == (0, "mark-and-date")
    assert "plan.caution.capacitor" not in plan["cautions"]
