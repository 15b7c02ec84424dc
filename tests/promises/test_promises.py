"""The fourteen promises of the sync, each kept by the shipped phone code against a real server over HTTP.

The phones run `pwa/sync` and `pwa/storage` in Node, a proxy plays tricks with their messages, and what was ticked is
written down by the scenario at the tick, outside the app. Where the browser is the point, `test_in_the_browser.py` does it
again in Chromium. Random histories of all of this at once: `tests/sync/test_phones_on_a_real_server.py`.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import Any

from tests.promises.conftest import Theatre

NOTHING_LEFT = {"operations": 0, "photos": 0, "refused": 0}
OUTBOXES = Path(__file__).parents[1] / "sync" / "outboxes"


def test_promise_01_a_phone_killed_at_any_write_has_each_ticked_save_exactly_once(theatre: Theatre) -> None:
    told = theatre.play("killedAtEachWrite")
    assert told["writes"] > 15
    assert [run for run in told["runs"] if not run["died"]] == []
    log = theatre.log()
    assert log.not_once([tick for run in told["runs"] for tick in run["ledger"]]) == []
    assert theatre.has_photos([photo for run in told["runs"] for photo in run["photos"]])
    assert {tuple(run["left"].values()) for run in told["runs"]} == {(0, 0, 0)}
    assert all(run["matches"] for run in told["runs"]), "the phone's copy is the server's state"


def test_promise_01_a_server_killed_at_any_message_has_each_ticked_save_exactly_once(
    theatre: Theatre,
) -> None:
    kills = [{"request": request, "afterMs": ms} for request, ms in ((0, 4), (0, 15), (2, 3))]
    told = theatre.play("serverKilled", kills=kills)
    assert [run for run in told["runs"] if run is None] == [], "each sync met a dead server"
    assert theatre.log().not_once(told["ledger"]) == []
    assert theatre.has_photos(told["photos"])
    assert theatre.half_photos() == []
    assert (told["left"], told["one"]) == (NOTHING_LEFT, True)


def test_promise_02_whatever_becomes_of_one_message_the_end_is_that_of_the_undisturbed_run(
    theatre: Theatre,
) -> None:
    told = theatre.play("eachMessageGoesWrong")
    assert {"POST", "GET", "PUT"} == set(told["undisturbed"]["methods"])
    wanted = told["undisturbed"]["room"]
    assert wanted["conflicts"] == []
    assert [run for run in told["runs"] if (run["room"], run["left"]) != (wanted, NOTHING_LEFT)] == []
    assert theatre.log().not_once([tick for run in told["runs"] for tick in run["ledger"]]) == []
    assert theatre.has_photos([photo for run in told["runs"] for photo in run["photos"]])


def test_promise_02_messages_that_arrive_late_and_in_another_order_make_no_conflict_with_oneself(
    theatre: Theatre,
) -> None:
    told = theatre.play("lateMessagesArriveInAnyOrder")
    assert (told["one"], told["late"]) == (True, 0)
    assert (told["room"]["values"]["hours"], told["room"]["conflicts"]) == ('{"hours_year":4}', [])
    assert theatre.log().not_once(told["ledger"]) == []


def nowhere(run: dict[str, Any]) -> list[dict[str, Any]]:
    """Values that were ticked and are neither current, nor replaced by one who saw them, nor in an open conflict."""
    told = run["after"]
    replaced = {(tick["facet"], tick["over"]) for tick in run["ledger"]}
    return [
        tick
        for tick in run["ledger"]
        if (tick["facet"], tick["value"]) not in replaced
        and told["values"][tick["facet"]] != tick["value"]
        and not any(conflict.endswith(tick["value"]) for conflict in told["conflicts"])
    ]


def test_promise_03_phones_that_sync_in_any_order_agree_and_no_ticked_value_is_missing(
    theatre: Theatre,
) -> None:
    runs = theatre.play("everyOrderOfSyncs", clocks=[0, 0, 0])
    assert len(runs) == 6
    for run in runs:
        assert run["one"], run["order"]
        first, *others = run["order"]
        assert run["told"]["values"]["hours"] == f'{{"hours_year":{20 + first}}}', "who came first stays"
        assert sum("hours" in conflict for conflict in run["told"]["conflicts"]) == len(others)
        assert nowhere(run) == []
        assert [each for each in run["after"]["conflicts"] if "hours" in each] == [], "settled is settled"


def test_promise_04_clocks_wrong_by_an_hour_or_a_year_change_nothing(theatre: Theatre) -> None:
    hour, year = 3_600_000, 365 * 24 * 3_600_000
    right = theatre.play("everyOrderOfSyncs", clocks=[0, 0, 0], orders=3)
    for clocks in ([hour, 0, -hour], [-year, year, -hour]):
        wrong = theatre.play("everyOrderOfSyncs", clocks=clocks, orders=3)
        for one, other in zip(right, wrong, strict=True):
            assert (one["told"], one["after"]) == (other["told"], other["after"])


def test_promise_05_a_removal_and_an_edit_that_did_not_see_each_other_are_both_shown(
    theatre: Theatre,
) -> None:
    runs = theatre.play("removalMeetsEdit")
    assert len(runs) == 4
    for run in runs:
        assert run["one"], run
        assert run["seen"][0] == run["seen"][1]
        assert run["removed"] == run["removerFirst"], "no silent return, and no silent going"
        assert len(run["conflicts"]) == 1, "no silent loss"
        (shown,) = run["seen"][0]["conflicts"]
        kinds = {
            (True, False): "hours set",
            (True, True): "life child",
            (False, False): "life remove",
            (False, True): "life remove",
        }
        assert shown == kinds[run["removerFirst"], run["child"]]
        assert run["childThere"] == run["child"]


def test_promise_06_of_a_thousand_one_bad_operation_is_shown_with_its_reason_and_the_others_arrive(
    theatre: Theatre,
) -> None:
    told = theatre.play("oneBadAmongAThousand", count=1000)
    assert told["arrived"] == 999
    assert [(row["code"], row["bad"]) for row in told["here"]] == [("text-wrong", True)]
    assert told["here"][0]["facts"]["field"] == "name"
    assert told["after"] == 1, "still there after a restart and an update"
    assert told["shown"]["code"] == "text-wrong"
    assert (told["corrected"], told["left"]) == ("Room put right", NOTHING_LEFT)


def test_promise_07_a_reader_that_pulls_in_a_loop_among_ten_writers_skips_nothing(theatre: Theatre) -> None:
    told = theatre.play("readerAmongWriters", writers=10, each=12)
    assert told["rooms"] == 120
    assert told["full"] == [], "nothing had to be fetched anew"
    assert told["inOrder"], "each page goes on where the last ended"
    assert told["pulls"] > 5
    assert (told["mismatch"], told["one"]) == (False, True)


def test_promise_08_an_outbox_of_the_first_released_version_arrives_at_todays_server(theatre: Theatre) -> None:
    told = theatre.play(
        "oldOutbox",
        file=str(OUTBOXES / "first-release-5000.json.gz"),
        site="00000000-0000-4000-8000-0000000051fe",
        person="00000000-0000-4000-8000-00000000f00d",
    )
    assert told["before"]["operations"] == 5000
    assert told["refused"] == []
    assert (told["after"], told["one"]) == (NOTHING_LEFT, True)
    results = {row["id"]: row["result"] for row in theatre.log().rows}
    became = Counter(results.get(id) for id in told["ids"])
    assert set(became) == {"applied", "same"}, became
    assert became["same"] < 10, "a save taken back agrees with what was there before"
    assert theatre.has_photos(told["photos"])


def test_promise_09_a_session_that_ends_another_person_and_a_lost_role_lose_nothing(theatre: Theatre) -> None:
    told = theatre.play("sessionAndRightsChange")
    assert told["stopped"] == "not-signed-in"
    assert 0 < told["left"]["operations"] < 1200
    assert told["savedWithoutSession"] == {"hours_year": 5}
    assert told["leftOfTheFirst"] == told["left"]["operations"] + 1, "another person's work touches nothing"
    assert told["afterSigningIn"] == NOTHING_LEFT
    assert (told["asCrew"], told["roleBack"]) == (["no-right"], 6)
    assert (told["offTheSite"], told["held"], told["letIn"]) == ("site-left", ["held"], 7)
    assert (told["rooms"], told["conflicts"], told["one"]) == (1201, 0, True)


def test_promise_10_a_phone_and_its_copy_both_go_on_and_all_of_both_arrives(theatre: Theatre) -> None:
    told = theatre.play("copiedPhone")
    assert told["forked"] == 1, "one of the two takes another name"
    assert told["left"] == [NOTHING_LEFT, NOTHING_LEFT]
    assert told["one"]
    log = theatre.log()
    both = [log.of(tick) for tick in told["ledger"] if tick["facet"] == "ceiling"]
    assert sorted(both) == [["applied"], ["conflict"]], "what both changed is shown to a person"
    assert [log.of(tick)[0] for tick in told["ledger"] if tick["facet"] != "ceiling"] == ["applied"] * 3
    assert len(told["room"]["conflicts"]) == 1


def test_promise_11_two_tabs_that_sync_at_once_even_without_a_lock_apply_each_operation_once(
    theatre: Theatre,
) -> None:
    told = theatre.play("twoTabsAtOnce", rounds=8)
    assert theatre.log().not_once(told["ledger"]) == []
    assert (told["conflicts"], told["left"], told["one"]) == (0, NOTHING_LEFT, True)


def test_promise_13_a_photo_cut_at_any_byte_is_never_half_and_arrives_whole(theatre: Theatre) -> None:
    runs = theatre.play("photoCutAtManyBytes", shares=[0, 0.001, 0.5, 0.97, 0.999])
    assert len(runs) == 20
    for run in runs:
        assert run["stopped"], run
        assert run["recordThere"], "a record does not wait for its photo"
        assert run["kept"], "the phone keeps it until the receipt"
        assert run["half"] == []
        assert run["left"] == NOTHING_LEFT
        assert run["dropped"], "and drops it when it is attached"
    assert theatre.has_photos([run["sha256"] for run in runs])
    assert theatre.half_photos() == []


def test_promise_14_a_server_set_back_to_a_backup_gets_back_what_phones_were_told_was_applied(
    theatre: Theatre,
) -> None:
    told = theatre.play("setBack")
    assert told["dropped"], "the phone had let its copy of the photo go"
    assert told["gone"], "the backup was put back"
    log = theatre.log()
    assert [tick for tick in told["ledger"] if "applied" not in log.of(tick)] == []
    assert told["photos"] == [True, True]
    assert told["left"] == [NOTHING_LEFT, NOTHING_LEFT]
    assert (told["recovered"], told["conflicts"], told["one"]) == ([0, 0], 0, True)
