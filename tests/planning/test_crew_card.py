"""What a crew's card says: wiring, lock point, order of safe work, reasons to stop, and cautions at their step.

The order isolate, lock, prove dead with a tester that is proved before and after: NFPA 70E 120.5 and HSE GS38, from memory.
Earth before power, dead tests before live ones: common practice, no source. 0–10 V pairs: open means full light,
joined means least (IEC 60929 annex E, from memory).
"""

from __future__ import annotations

import pytest
from tests.planning.wired_plans import ONE_DRIVER, bar, card, cautions, driver, names, output, sentences, step

from spanwalk.rules.arrangements.card.cautions import CAUTIONS
from spanwalk.rules.arrangements.card.crew_card import CHECKS
from spanwalk.rules.arrangements.card.crew_wiring import join_steps
from spanwalk.words import choice_text, say, words

TWO_DRIVERS = (driver(output(1, bar(1)), spare=[2]), driver(output(1, bar(2)), number=2, spare=[2]))
TANDEM = (driver(output(1, bar(1)), output(2, bar(1, body="neighbour"))),)
DIMS = {"control_wanted": "dimming", "dimming": "0-10-v"}


def test_the_supply_goes_into_every_driver_by_line_neutral_and_earth() -> None:
    found = card(TWO_DRIVERS)
    supplied = [said for name, said in zip(names(found), sentences(found), strict=True) if name == "connect-supply"]
    assert len(supplied) == 2
    assert all(word in said for said in supplied for word in ("line (L)", "neutral (N)", "earth/ground"))
    assert ["Driver 1" in supplied[0], "Driver 2" in supplied[1]] == [True, True]


@pytest.mark.parametrize(
    ("volts", "two_lines"), [("208", True), ("240", True), ("480", True), ("277", False), ("120", False)]
)
def test_where_two_lines_may_supply_it_without_a_neutral_the_card_says_so(volts: str, two_lines: bool) -> None:
    found = card(group={"supply": {"volts": volts}})
    assert ("two lines and no neutral" in step(found, "connect-supply")) is two_lines


def test_each_output_names_its_bars_with_row_and_polarity() -> None:
    said = step(card(), "connect-bars")
    assert "Output 1: BAR in row 1. + to +, − to −." in said
    assert "Output 2: BAR in row 2. + to +, − to −." in said


def test_a_bar_is_named_with_cavity_and_place_only_where_a_row_has_several() -> None:
    wired = (driver(output(1, bar(1, 1, 1)), output(2, bar(1, 2, 1))),)
    said = step(card(wired, kind={"lamps": {"rows": 1, "lamps_end_to_end": 2}}), "connect-bars")
    assert "BAR in row 1, cavity 2" in said
    assert "bar 1 of" not in said


def test_of_several_bars_in_one_cavity_the_place_is_counted() -> None:
    wired = (driver(output(1, bar(1, 1, 1)), output(2, bar(1, 1, 2))),)
    said = step(card(wired, proposal={"fill": ["BAR", "BAR"], "fill_items": ["bar", "bar"]}), "connect-bars")
    assert "BAR in row 1, second from your end" not in said
    assert "BAR in row 1, bar 2 counted from your end" in said


def test_a_bar_that_hangs_on_an_emergency_pack_is_left_off_its_output_at_those_fixtures_only() -> None:
    duty = {
        "duty": "battery-in-fixture",
        "positions": [1, 5],
        "pack": {"pack": "PACK", "bar": "BAR", "row": 2, "place": 1},
    }
    (joined,) = join_steps(card()["wiring"], 1, duty)
    (through,) = [each for each in joined["lines"] if "positions" in each]
    assert through["positions"] == [1, 5]
    assert "BAR in row 2 hangs on the emergency pack PACK" in say(through["code"], through["facts"])
    (without,) = join_steps(card()["wiring"], 1, {"duty": "none", "positions": []})
    assert not [each for each in without["lines"] if "positions" in each]


def test_bars_in_series_are_explained_lead_by_lead() -> None:
    said = step(card((driver(output(1, bar(1), bar(2), joined="in-series")),)), "connect-bars")
    assert "in series, in this order: BAR in row 1, BAR in row 2" in said
    assert "output + to the first bar's +" in said
    assert "last bar's − back to output −" in said


def test_bars_in_parallel_go_plus_to_plus_and_minus_to_minus() -> None:
    said = step(card((driver(output(1, bar(1), bar(2), joined="in-parallel")),)), "connect-bars")
    assert "in parallel: BAR in row 1, BAR in row 2" in said
    assert "all + leads together to output +" in said


def test_spare_outputs_are_named_and_capped() -> None:
    assert "Outputs not used: 2. Cap + and − each by itself" in step(card(TWO_DRIVERS), "connect-bars")
    assert "not used" not in step(card(), "connect-bars")


@pytest.mark.parametrize(
    ("set_by", "said"),
    [
        ("dip-switches", "by its dip switches"),
        ("resistor-plug", "by its resistor plug"),
        ("programming-tool", "with its programming tool"),
        ("output-chosen", "by the output that is used"),
        ("fixed", "It is made for that current"),
        ("not-said", "driver's sheet"),
    ],
)
def test_the_setting_stands_with_how_it_is_made(set_by: str, said: str) -> None:
    found = step(card((driver(output(1, bar(1)), output(2, bar(2)), set_by=set_by),)), "mount-driver")
    assert "700 mA" in found
    assert said in found


def test_an_old_catalogue_that_does_not_say_how_it_is_set_refers_to_the_sheet() -> None:
    silent = {name: value for name, value in ONE_DRIVER[0].items() if name != "set_by"}
    assert "driver's sheet" in step(card((silent,)), "mount-driver")


@pytest.mark.parametrize(
    ("fixing", "holds", "said"),
    [
        (["magnets", "screws"], "yes", "Hold it with its magnets."),
        (["magnets", "screws"], "no", "Hold it with screws."),
        (["magnets", "bracket"], "not-seen", "Hold it with its bracket."),
        (["magnets"], "not-seen", "nobody tried whether a magnet holds"),
        (None, "yes", "as its sheet says"),
    ],
)
def test_the_driver_is_held_as_catalogue_and_survey_allow(fixing: list[str] | None, holds: str, said: str) -> None:
    found = card(catalogue_driver={"fixing": fixing} if fixing else {}, kind={"housing": {"magnet_holds": holds}})
    assert said in step(found, "mount-driver")


def test_the_driver_s_lead_ends_and_the_room_they_want_are_said_and_bars_lie_to_them() -> None:
    both = card()
    assert "both ends" in step(both, "mount-driver")
    one = card(catalogue_driver={"lead_ends": "one-end"})
    assert "all leave at one end" in step(one, "mount-driver")
    assert "lead end" in step(one, "lay-bars")


def test_rows_with_the_same_bars_are_one_step_and_each_cavity_of_a_row_is_meant() -> None:
    assert step(card(), "lay-bars").startswith("Row 1, 2: lay BAR")
    assert names(card()).count("lay-bars") == 1
    found = card(kind={"lamps": {"rows": 2, "lamps_end_to_end": 2}})
    assert "each of the 2 cavities" in step(found, "lay-bars")


def test_a_control_pair_is_joined_where_dimming_is_wanted_and_a_pair_is_there() -> None:
    found = card(kind={"wiring": {"control_pair": "yes"}}, group={"duty": DIMS})
    assert "Join the driver's control leads to the control pair" in step(found, "control")


def test_a_control_pair_that_nothing_uses_is_capped_apart() -> None:
    said = step(card(kind={"wiring": {"control_pair": "yes"}}), "control")
    assert "Cap the driver's control leads, each by itself" in said
    assert "never join them" in said
    assert "control pair that comes into the body" in said


def test_where_a_pair_is_wanted_but_not_seen_both_are_said() -> None:
    found = card(kind={"wiring": {"control_pair": "not-seen"}}, group={"duty": DIMS})
    assert "Where no pair is there, cap them apart and note a problem" in step(found, "control")
    assert "control-pair" in cautions(found, "control")


def test_a_driver_without_control_leads_in_a_body_without_a_pair_has_no_such_step() -> None:
    assert "control" not in names(card(catalogue_driver={"dimming": "none"}))
    assert "control" in names(card(catalogue_driver={"dimming": "none"}, kind={"wiring": {"control_pair": "yes"}}))


def test_rows_are_counted_by_one_sentence() -> None:
    assert "left" in say("crew.rows-counted")
    assert "entrance" in say("crew.rows-counted")


def test_an_unused_row_stays_empty_dead_and_capped() -> None:
    said = step(card((driver(output(1, bar(1)), spare=[2]),), proposal={"rows": [1]}), "leave-empty")
    for word in ("row 2", "nothing", "dead", "capped"):
        assert word in said


def test_the_lock_point_names_panel_circuit_and_what_else_feeds_the_body() -> None:
    found = card(group={"supply": {"switching": "two-levels", "shared_neutral": "not-seen"}})
    said = step(found, "isolate")
    for word in ("P1", "7", "277 V", "one supply feed", "second"):
        assert word in said
    assert {"isolate", "two-switched-lines", "shared-neutral"} <= set(cautions(found, "isolate"))


def test_dead_is_proved_with_a_tester_that_is_proved_before_and_after() -> None:
    said = step(card(), "prove-dead")
    assert "approved" in said
    assert "before and after" in said


def test_the_work_goes_in_the_order_that_is_safe() -> None:
    found = names(card())
    order = ["isolate", "prove-dead", "take-lamps", "take-ballast", "cap-leads", "mount-driver", "connect-supply", "lay-bars",
             "connect-bars", "check-earth", "label-and-notice", "close-and-restore", "prove-sockets", "look"]  # fmt: skip
    assert [each for each in dict.fromkeys(found) if each in order] == order
    assert found[-1] == "look"


def test_proving_sockets_with_all_feeds_on_has_its_own_caution_at_that_very_step() -> None:
    found = card()
    assert cautions(found, "prove-sockets") == ["live-proof"]
    caution = say("plan.caution.live-proof")
    for word in ("approved", "insulated", "closed", "qualified", "local"):
        assert word in caution.lower()
    assert "every feed" in step(found, "close-and-restore").lower()


def test_every_card_tells_when_to_stop() -> None:
    stops = [say(each["code"], each["facts"]) for each in card()["stops"]]
    assert len(stops) == 8
    wanted = ["2 × T8 4 ft", "second", "earth", "277", "socket", "insulation", "leak", "broken"]
    assert [word for word, said in zip(wanted, stops, strict=True) if word not in said] == []


def test_volts_that_nobody_saw_are_not_named_among_the_reasons_to_stop() -> None:
    stops = [say(each["code"], each["facts"]) for each in card(group={"supply": {"volts": "not-seen"}})["stops"]]
    assert not [said for said in stops if "not-seen" in said]


def test_the_label_step_asks_for_the_label_and_gives_the_notice_s_words() -> None:
    said = step(card(), "label-and-notice")
    assert "QR label" in said
    assert "Takes no fluorescent lamps" in said
    assert "local code" in said
    assert say("crew.check.label-on") == "The QR label is on the fixture."


def test_ticks_that_block_are_as_they_were() -> None:
    assert card()["checks"] == CHECKS == ["leads-removed-or-capped", "sockets-proved-dead", "earth-checked", "label-on"]


def test_a_caution_stands_at_one_step_only_and_none_is_lost() -> None:
    for changes in (
        {},
        {
            "kind": {
                "ballast": {"ballast": "magnetic", "pcb_mark": "no-mark"},
                "housing": {"magnet_holds": "no", "body": "vapour-tight"},
            }
        },
        {
            "group": {
                "supply": {"switching": "two-levels", "shared_neutral": "not-seen", "volts": "480"},
                "count": {"sure": "doubtful"},
            }
        },
        {"room": {"surroundings": {"clean_or_food": "yes"}, "ceiling": {"access": "platform"}}},
    ):
        found = card(**changes)
        placed = [code for each in found["steps"] for code in each.get("cautions", ())]
        assert sorted(placed) == sorted(found["cautions"])
        assert len(placed) >= 4


def test_every_caution_of_the_table_has_a_sentence_and_a_step_with_one() -> None:
    assert len(CAUTIONS) > 20
    for each in CAUTIONS:
        assert f"plan.caution.{each.name}" in words()
        assert {f"plan.step.{step}" for step in each.step.split()} <= set(words())


def test_a_dimmer_in_the_supply_stays_in_it_though_nobody_wants_dimming() -> None:
    found = card(group={"duty": {"dimming": "phase-cut"}}, catalogue_driver={"dimming": "phase-cut"})
    assert "phase-cut" in cautions(found, "control-phase-cut")


def test_dali_leads_that_are_capped_are_treated_as_mains_all_the_same() -> None:
    found = card(
        group={"duty": {"dimming": "dali-2"}},
        catalogue_driver={"dimming": "dali-2"},
        kind={"wiring": {"control_pair": "yes"}},
    )
    assert "dali-2" in cautions(found, "control")


def test_a_caution_whose_step_is_not_on_the_card_is_read_before_all() -> None:
    found = card(kind={"ballast": {"ballast": "not-seen", "ballast_count": 0, "pcb_mark": "not-seen"}})
    assert "take-ballast" not in names(found)
    assert "pcb" in cautions(found, "isolate")


def test_a_card_whose_driver_feeds_the_neighbour_names_the_partner_and_its_outputs() -> None:
    shared = {"lamps": {"rows": 1}, "wiring": {"neighbour_leads": "ballast-here-feeds-the-neighbour"}}
    found = card(TANDEM, proposal={"feeds": 2, "rows": [1]}, kind=shared)
    assert found["partner"] == {"group": "other", "room": "102 Store", "mark": "K7"}
    said = step(found, "connect-bars")
    assert "Output 2: BAR in row 1 of the neighbour. + to +, − to −." in said
    assert "102 Store" in step(found, "isolate")
    assert "neighbour" in cautions(found, "isolate")


def test_the_fed_card_shows_which_output_of_the_neighbour_s_driver_feeds_which_bar() -> None:
    fed = {"feeds": 0, "rows": [1], "neighbour_wiring": TANDEM}
    found = card((), proposal=fed, kind={"lamps": {"rows": 1}})
    assert found["driver"] is None
    assert found["fed_from_neighbour"]
    assert "Output 2: BAR in row 1. + to +, − to −." in step(found, "connect-neighbour")
    assert "connect-supply" not in names(found)
    assert "Output 1" not in step(found, "connect-neighbour")


def test_all_that_a_card_says_has_a_sentence() -> None:
    found = card(
        TWO_DRIVERS, group={"supply": {"volts": "208"}, "duty": DIMS}, kind={"wiring": {"control_pair": "yes"}}
    )
    told = [*found["steps"], *(line for each in found["steps"] for line in each.get("lines", ())), *found["stops"]]
    assert len(told) > 25
    assert [each["code"] for each in told if each["code"] not in words()] == []
    assert "{" not in " ".join(sentences(found))


OLD_STEPS = [
    ("isolate", {"panel": "P1", "circuit": "7", "volts": "277", "switching": "all-together"}),
    ("prove-dead", {}),
    ("take-lamps", {"lamps": 2, "lamp": "T8 4 ft"}),
    ("take-ballast", {"ballasts": 1, "ballast": "magnetic", "pcb": "suspect"}),
    ("cap-leads", {}),
    ("fit-driver", {"driver": "D", "number": 1, "setting_ma": 700}),
    ("lay-bars", {"row": 1, "bars": "B", "gap_each_end_ticks": 640}),
    ("leave-empty", {"rows": "2"}),
    ("fit-accessory", {"name": "S", "purpose": "occupancy-sensor"}),
    ("feed-neighbour", {}),
    ("connect-neighbour", {}),
    ("test-emergency", {"duty": "battery-in-fixture", "positions": "1, 5"}),
    ("check-earth", {}),
    ("label", {}),
    ("restore", {}),
]
"""Steps as cards had them that were frozen before there was a wiring; they lie in databases."""


@pytest.mark.parametrize(("name", "facts"), OLD_STEPS, ids=[name for name, _ in OLD_STEPS])
def test_a_step_that_was_frozen_before_is_still_a_whole_sentence(name: str, facts: dict[str, object]) -> None:
    said = say(f"plan.step.{name}", facts)
    assert not said.startswith("plan.step.")
    assert "{" not in said
    told = [choice_text(str(value)) for key, value in facts.items() if key != "switching"]
    assert [text for text in told if text not in said] == []


def test_the_old_last_step_warns_of_live_work_in_its_own_sentence() -> None:
    assert "live work" in say("plan.step.restore")
