"""Rooms into shifts: on small cases what trying every order finds, never worse than room after room."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spanwalk.rules.ordering.schedule import (
    EXACT_MOST,
    Shift,
    Step,
    Work,
    by_minutes,
    cost_of,
    in_order,
    laid,
    shifts_of,
)
from spanwalk.services.refusals import WrongInput
from spanwalk.services.scheduling.weeks import SHIFTS_MOST, bounded

SHIFT = 480
works = st.builds(
    Work,
    room=st.just("r"),
    minutes=st.integers(1, 2 * SHIFT),
    platform=st.sampled_from(["", "", "1", "2"]),
    circuits=st.frozensets(st.sampled_from(["A/1", "A/2", "B/1"]), max_size=2),
    fixtures=st.integers(1, 12),
)


def every_order(number: int) -> Iterator[list[Step]]:
    """All orders of so many rooms, each but the first begun at once or with a shift of its own."""
    for order in permutations(range(number)):
        for fresh in product((False, True), repeat=number - 1):
            yield [Step(at, begun) for at, begun in zip(order, (False, *fresh), strict=True)]


def naive_shifts(pieces: list[Work], order: list[Step]) -> list[list[tuple[int, int]]]:
    """An order laid into shifts fixture by fixture: [[(room, minutes of one fixture)]]; the reckoning of another."""
    found: list[list[tuple[int, int]]] = [[]]
    for at, fresh in order:
        if fresh and found[-1]:
            found.append([])
        work = pieces[at]
        for number in range(work.fixtures):
            minutes = work.minutes * (number + 1) // work.fixtures - work.minutes * number // work.fixtures
            if sum(each for _, each in found[-1]) + minutes > SHIFT:
                found.append([])
            found[-1].append((at, minutes))
    return [each for each in found if each]


def naive_cost(pieces: list[Work], shifts: list[list[tuple[int, int]]]) -> tuple[int, int, int]:
    platforms = [{pieces[at].platform for at, _ in shift} - {""} for shift in shifts]
    circuits = [{circuit for at, _ in shift for circuit in pieces[at].circuits} for shift in shifts]
    return len(shifts), sum(map(len, platforms)), sum(map(len, circuits))


def assert_all_is_done_once(pieces: list[Work], shifts: list[Shift]) -> None:
    """Each room whole, fixture after fixture, and no shift too long."""
    assert all(0 < sum(piece.minutes for piece in shift) <= SHIFT for shift in shifts)
    done: dict[int, int] = {}
    minutes: dict[int, int] = {}
    for piece in (piece for shift in shifts for piece in shift):
        assert piece.first == done.get(piece.work, 0) < piece.after
        done[piece.work] = piece.after
        minutes[piece.work] = minutes.get(piece.work, 0) + piece.minutes
    able = [by_minutes(each, SHIFT) for each in pieces]
    assert done == {at: each.fixtures for at, each in enumerate(able)}
    assert minutes == {at: each.minutes for at, each in enumerate(able)}


@settings(max_examples=20, deadline=None)
@given(st.lists(works, min_size=1, max_size=4))
def test_a_small_site_is_arranged_as_well_as_trying_every_order(pieces: list[Work]) -> None:
    found = shifts_of(pieces, SHIFT)
    assert_all_is_done_once(pieces, found)
    able = [by_minutes(each, SHIFT) for each in pieces]
    best = min(naive_cost(able, naive_shifts(able, each)) for each in every_order(len(able)))
    assert cost_of(able, found) == best


@settings(max_examples=60, deadline=None)
@given(st.lists(works, min_size=1, max_size=6), st.randoms(use_true_random=False))
def test_an_order_is_laid_into_shifts_as_fixture_by_fixture(pieces: list[Work], draw: object) -> None:
    able = [by_minutes(each, SHIFT) for each in pieces]
    order = [Step(at, fresh=at % 2 == 1) for at in range(len(able))]
    draw.shuffle(order)  # type: ignore[attr-defined]
    found = laid(able, order, SHIFT)
    assert tuple(cost_of(able, found)) == naive_cost(able, naive_shifts(able, order))


@settings(max_examples=15, deadline=None)
@given(st.lists(works, min_size=EXACT_MOST + 1, max_size=16))
def test_a_large_site_is_never_arranged_worse_than_room_after_room(pieces: list[Work]) -> None:
    found = shifts_of(pieces, SHIFT)
    assert_all_is_done_once(pieces, found)
    assert cost_of(pieces, found) <= cost_of(pieces, in_order(pieces, SHIFT))


def test_rooms_of_one_platform_come_together_though_the_walk_mixes_them() -> None:
    """By hand: four half days, two on each platform; the walk takes two days with both platforms on each, four platform days."""
    pieces = [Work(str(n), 240, "12"[n % 2]) for n in range(4)]
    assert cost_of(pieces, in_order(pieces, SHIFT)) == (2, 4, 0)
    assert cost_of(pieces, shifts_of(pieces, SHIFT)) == (2, 2, 0)


def test_a_platform_comes_in_the_morning_not_in_the_middle_of_a_day() -> None:
    """By hand: 240 min of other rooms, then 960 of a platform: it stands three days, two where it is begun with a day."""
    pieces = [Work("office", 240, fixtures=10), Work("hall", 960, "1", fixtures=40)]
    assert cost_of(pieces, in_order(pieces, SHIFT)) == (3, 3, 0)
    assert cost_of(pieces, shifts_of(pieces, SHIFT)) == (3, 2, 0)


def test_the_crew_leaves_early_where_that_spares_a_platform_and_costs_no_day() -> None:
    """By hand: 360 min on either of two floors: one after the other the second floor's platform stands two days."""
    pieces = [Work("a", 360, "1", fixtures=36), Work("b", 360, "2", fixtures=36)]
    assert cost_of(pieces, in_order(pieces, SHIFT)) == (2, 3, 0)
    assert cost_of(pieces, shifts_of(pieces, SHIFT)) == (2, 2, 0)


def test_no_fixture_is_left_open_overnight() -> None:
    """Seven fixtures of 100 min: four go into 480, the fifth waits for the morning though 80 min are left."""
    (first, second) = shifts_of([Work("r", 700, fixtures=7)], SHIFT)
    assert [(piece.first, piece.after, piece.minutes) for piece in (*first, *second)] == [(0, 4, 400), (4, 7, 300)]


def test_more_days_than_a_schedule_holds_are_refused_with_their_number() -> None:
    shifts: list[Shift] = [()] * SHIFTS_MOST
    assert bounded(shifts) == shifts
    with pytest.raises(WrongInput) as refused:
        bounded([*shifts, ()])
    assert (refused.value.code, refused.value.facts["days"]) == ("schedule.too-long", SHIFTS_MOST + 1)


def test_two_hundred_rooms_are_arranged_in_seconds_and_always_alike() -> None:
    """What is asked of a search is bounded by its number of tries, not by a clock: the same rooms give the same days."""
    pieces = [
        Work(
            str(n),
            (11 + n * 7 % 13) * (1 + n % 24),
            ("", "", "1", "2")[n * 7 % 4],
            frozenset({f"P/{n // 4}"}),
            1 + n % 24,
        )
        for n in range(200)
    ]
    found = shifts_of(pieces, SHIFT)
    assert_all_is_done_once(pieces, found)
    before, after = cost_of(pieces, in_order(pieces, SHIFT)), cost_of(pieces, found)
    assert after.days <= before.days
    assert after.platform_days < before.platform_days
    assert shifts_of(pieces[:20], SHIFT) == shifts_of(pieces[:20], SHIFT)
