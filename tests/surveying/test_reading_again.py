"""Which cavities are read again: the plan against scipy's hypergeometric distribution and published plans; what repeats say."""

from __future__ import annotations

from typing import Any

import pytest
from scipy.stats import chi2, hypergeom
from tests.planning.demo_records import demo_records

from spanwalk.rules.measuring.pace import T_95, Stint, left, stints
from spanwalk.rules.measuring.remeasure import Pair, Plan, Risks, accepted, chi_square_95, plan_for, repeatability
from spanwalk.rules.survey import Survey
from spanwalk.services.planning.inputs import inputs_of
from spanwalk.services.planning.plans import plans_from
from spanwalk.services.walk.remeasuring import Lot, held_by_repeats, lots_of

Json = Any
MM = 320


@pytest.mark.parametrize(
    ("lot", "wrong", "sample", "most"), [(10, 2, 4, 0), (60, 6, 20, 1), (500, 50, 38, 1), (7, 7, 3, 2)]
)
def test_the_chance_of_acceptance_is_the_hypergeometric_distribution_s(
    lot: int, wrong: int, sample: int, most: int
) -> None:
    assert accepted(lot, wrong, sample, most) == pytest.approx(
        float(hypergeom.cdf(most, lot, wrong, sample)), abs=1e-12
    )


@pytest.mark.parametrize(("most_wrong", "sample", "np_10"), [(0, 22, 2.303), (1, 38, 3.890), (2, 52, 5.322)])
def test_plans_for_ten_per_cent_wrong_in_a_large_lot_are_near_those_published(
    most_wrong: int, sample: int, np_10: float
) -> None:
    """n p of 10 % acceptance by Poisson: J. M. Cameron, Industrial Quality Control 9 (1952) 37 (from memory); a binomial sample is somewhat less."""
    assert (
        accepted(1_000_000, 100_000, sample, most_wrong) <= 0.1 < accepted(1_000_000, 100_000, sample - 1, most_wrong)
    )
    assert np_10 / 0.1 - 2 < sample <= np_10 / 0.1


@pytest.mark.parametrize("lot", [1, 2, 9, 40, 153, 2_000, 30_000])
def test_a_plan_keeps_both_risks_and_one_reading_less_breaks_one(lot: int) -> None:
    risks = Risks()
    plan = plan_for(lot, risks)
    good, bad = int(lot * 0.01), max(1, -(-lot * 10 // 100))
    assert plan.accepted(bad) <= 0.1
    assert plan.accepted(good) >= 0.95
    smaller = [Plan(lot, plan.sample - 1, most) for most in range(plan.sample)]
    assert not any(each.accepted(bad) <= 0.1 and each.accepted(good) >= 0.95 for each in smaller)


@pytest.mark.parametrize("degrees", [1, 5, 12, 40])
def test_the_quantile_of_chi_square_is_scipy_s_within_three_per_cent(degrees: int) -> None:
    assert chi_square_95(degrees) == pytest.approx(float(chi2.ppf(0.95, degrees)), rel=0.03)


def test_student_s_t_is_scipy_s() -> None:
    from scipy.stats import t

    assert list(T_95) == pytest.approx([float(t.ppf(0.95, degrees)) for degrees in range(1, 31)], abs=6e-4)


def test_repeats_that_spread_more_than_the_tape_is_assumed_to_are_told() -> None:
    quiet = [Pair(0, 100, 500, 500, 200)] * 8
    loud = [Pair(0, 500, 500, 500, 200)] * 8
    assert [each.is_greater for each in map(repeatability, (quiet, loud)) if each] == [False, True]
    few = repeatability(loud[:2])
    assert few is not None
    assert few.is_greater is None


def test_hours_count_for_what_was_saved_since_hours_were_stated_last_whatever_the_clocks_said() -> None:
    saved = [(1, "rooms", 1), (2, "fixtures", 8), (5, "rooms", 1), (6, "readings", 1), (9, "rooms", 1)]
    assert stints([(8, 1.5), (3, 2.0)], saved) == [Stint(2.0, 1, 8, 0), Stint(1.5, 1, 0, 1)]


def test_one_statement_of_hours_gives_no_doubt_and_none_gives_nothing() -> None:
    assert left([Stint(2.0, 4, 0, 0)], 2).hours == 1.0
    assert left([Stint(2.0, 4, 0, 0)], 2).most_hours is None
    assert left([], 2).hours is None
    assert left([], 0).hours == 0.0


# -- on the demo building


@pytest.fixture
def records() -> list[Json]:
    found = demo_records()
    for place, each in enumerate(found, start=1):
        if each["type"] == "cavity_reading":
            each["by"], each["seqs"] = {"identity": "surveyor"}, {"identity": place}
    return found


def lot_with(records: list[Json], off_mm: float, number: int | None = None) -> Lot:
    """The largest lot once its list was read again, each reading off by so much."""
    before = largest(records)
    after = lots_of(Survey([*records, *read_again(records, before, off_mm, number)]), Risks())
    return next(lot for lot in after if (lot["by"], lot["instrument"]) == (before["by"], before["instrument"]))


def largest(records: list[Json]) -> Lot:
    return max(lots_of(Survey(records), Risks()), key=lambda lot: lot["readings"])


def read_again(records: list[Json], lot: Lot, off_mm: float, number: int | None = None, since: int = 90_000) -> Json:
    """Second readings of so many cavities of a lot's list that are to be read, each off by so much."""
    firsts = [each for each in records if each["type"] == "cavity_reading"]
    todo = [each for each in lot["again"] if each["again_ticks"] is None]
    added = []
    for at, again in enumerate(todo[:number], start=since):
        place = (again["position"], again["row"], again["cavity"])
        first = next(each for each in firsts if each["parent"] == again["group"] and _place(each) == place)
        identity = {**first["facets"]["identity"], "length_ticks": again["length_ticks"] + round(off_mm * MM)}
        added.append(
            {
                **first,
                "id": f"ffffffff-0000-4000-8000-{at:012d}",
                "facets": {"identity": identity},
                "by": {"identity": "another"},
                "seqs": {"identity": at},
            }
        )
    return added


def _place(reading: Json) -> tuple[int, int, int]:
    identity = reading["facets"]["identity"]
    return identity["position"], identity["row"], identity["cavity"]


def test_the_list_stays_the_same_while_it_is_read_and_is_accepted_when_all_of_it_agrees(records: list[Json]) -> None:
    nothing = lot_with(records, 0, 0)
    half = lot_with(records, 0.2, nothing["left"] // 2)
    done = lot_with(records, 0.2)
    where = [
        [(each["group"], each["position"], each["row"], each["cavity"]) for each in lot["again"]]
        for lot in (nothing, half, done)
    ]
    assert where[0] == where[1] == where[2]
    assert [lot["state"] for lot in (nothing, half, done)] == ["to-read", "to-read", "accepted"]
    assert (nothing["left"], done["left"]) == (nothing["sample"] - nothing["read"], 0)


def test_a_lot_whose_repeats_are_centimetres_off_is_refused_as_soon_as_too_many_are(records: list[Json]) -> None:
    lot = lot_with(records, 12.7)
    assert (lot["state"], lot["wrong"] > lot["most_wrong"]) == ("refused", True)
    assert lot["spread"] is not None
    assert lot["spread"]["is_greater"] is True


# -- what a refused lot holds back


@pytest.fixture
def refused(records: list[Json]) -> list[Json]:
    """The demo's records with as many wrong repeats in the largest lot as refuse it, and no more read again."""
    lot = largest(records)
    return [*records, *read_again(records, lot, 12.7, lot["most_wrong"] + 1)]


def held(records: list[Json], why: str = "lot-refused") -> dict[str, Json]:
    """Kind -> facts of why it is held back."""
    return {each["kind"]: each["facts"] for each in held_by_repeats(Survey(records)) if each["why"] == why}


def wrong_first(records: list[Json]) -> list[Json]:
    """First readings of the cavities whose repeat is wrong; they are listed first."""
    wrong = [each for each in largest(records)["again"] if each["is_wrong"]]
    places = {(each["group"], each["position"], each["row"], each["cavity"]) for each in wrong}
    readings = [each for each in records if each["type"] == "cavity_reading" and each["by"]["identity"] == "surveyor"]
    return [each for each in readings if (each["parent"], *_place(each)) in places]


def void(reading: Json, at: int) -> None:
    reading["facets"] = {**reading["facets"], "voided": {"reason": "read wrong"}}
    reading["seqs"] = {**reading["seqs"], "voided": at}


def test_nothing_is_held_back_where_nothing_was_read_twice(records: list[Json]) -> None:
    once = [each for each in records if each["type"] != "cavity_reading" or each["id"] in _firsts(records)]
    assert held_by_repeats(Survey(once)) == []


def _firsts(records: list[Json]) -> set[str]:
    first: dict[Any, str] = {}
    for each in records:
        if each["type"] == "cavity_reading":
            first.setdefault((each["parent"], _place(each)), each["id"])
    return set(first.values())


def test_each_kind_of_a_refused_lot_is_held_back_with_what_is_left_of_it(refused: list[Json]) -> None:
    lot = largest(refused)
    found = held(refused)
    assert set(found) == {each["kind"] for each in lot["kinds"]} != set()
    assert {each["kind"]: each["left"] for each in lot["kinds"]} == {kind: found[kind]["left"] for kind in found}
    assert all(each["wrong"] == lot["wrong"] > each["most_wrong"] for each in found.values())
    assert sum(each["unsettled"] for each in found.values()) == lot["wrong"]
    assert lot["left"] == sum(each["left"] for each in lot["kinds"]) > lot["sample"]


def test_a_group_of_such_a_kind_is_not_ready_and_says_why(refused: list[Json]) -> None:
    inputs = inputs_of(refused)
    ready = {id for id, plan in plans_from(inputs).plans.items() if plan["state"] == "ready"}
    then = plans_from(inputs_of(refused, (), held_by_repeats(Survey(refused))))
    lost = {id for id in ready if then.plans[id]["state"] != "ready"}
    assert lost == {id for id in ready if inputs.places[id][0]["id"] in held(refused)} != set()
    assert all("plan.blocked.lot-refused" in {each["code"] for each in then.plans[id]["blockers"]} for id in lost)


def test_reading_all_of_it_again_and_voiding_what_was_wrong_frees_a_kind(refused: list[Json]) -> None:
    """What was voided after its repeat counts as wrong all the same: the lot stays refused until all of it is read again."""
    for each in wrong_first(refused):
        void(each, 95_000)
    lot = largest(refused)
    assert (lot["state"], sum(each["unsettled"] for each in lot["kinds"])) == ("refused", 0)
    assert set(held(refused)) == {each["kind"] for each in lot["kinds"] if each["left"]}
    done = list(refused)
    for since in range(100_000, 110_000, 1_000):
        done += read_again(done, largest(done), 0.1, since=since)
    assert largest(done)["left"] == 0
    assert held(done) == {}


def test_a_slip_that_is_put_right_before_anybody_read_again_is_no_wrong_reading(records: list[Json]) -> None:
    lot = largest(records)
    slip = next(
        each for each in records if each["type"] == "cavity_reading" and each["parent"] == lot["again"][0]["group"]
    )
    void(slip, slip["seqs"]["identity"] + 1)
    after = [*records, {**slip, "id": "ffffffff-0000-4000-8000-aaaaaaaaaaaa", "seqs": {"identity": 80_000}}]
    after[-1]["facets"] = {"identity": {**slip["facets"]["identity"], "length_ticks": 390_000}}
    assert largest(after)["wrong"] == 0


def test_a_manager_lets_the_readings_stand_with_a_reason_until_more_of_them_are_wrong(refused: list[Json]) -> None:
    wrong = largest(refused)["wrong"]
    kinds = [each for each in refused if each["type"] == "kind"]
    for kind in kinds:
        kind["facets"]["repeats"] = {"stands_with": wrong, "reason": " "}
    assert held(refused)
    for kind in kinds:
        kind["facets"]["repeats"]["reason"] = (
            "The hook was bent; all lengths are 0.5 mm short, which is on the safe side."
        )
    assert held(refused) == {}
    lot = largest(refused)
    picked = [each for each in lot["again"] if each["again_ticks"] is None]
    assert picked
    for kind in kinds:
        kind["facets"]["repeats"]["stands_with"] = wrong - 1
    assert held(refused)


def test_repeats_that_spread_hold_a_kind_until_a_manager_enters_it_and_every_fit_is_judged_with_it(
    records: list[Json],
) -> None:
    """1.8 mm, too little for one pair to be wrong, in every pair: more than the tape's divisions and the hand explain."""
    again = [*records, *read_again(records, largest(records), 1.8)]
    lot = largest(again)
    assert lot["spread"] is not None
    assert (lot["state"], lot["spread"]["is_greater"]) == ("accepted", True)
    spread = held(again, "repeats-spread")
    assert set(spread) == {each["kind"] for each in lot["kinds"]}
    seen = lot["spread"]["seen_ticks"]
    before = inputs_of(again)
    read = [id for id, each in before.to_judge.items() if each.kind["id"] in spread and each.readings]
    was = [_read(before, id) for id in read]
    for kind in (each for each in again if each["type"] == "kind"):
        kind["facets"]["repeats"] = {"spread_ticks": seen}
    assert held(again, "repeats-spread") == {}
    then = inputs_of(again)
    both = [(old, new) for old, new in zip(was, (_read(then, id) for id in read), strict=True) if old and new]
    assert both
    assert all(new <= old for old, new in both)
    assert any(new < old for old, new in both)


def _read(inputs: Any, group: str) -> int | None:
    found: int | None = inputs.judged(group)["trusted"]["read_ticks"]
    return found
