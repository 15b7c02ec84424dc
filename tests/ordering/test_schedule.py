"""Rooms into shifts: on small cases what trying every order finds, never worse than room after room."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import permutations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spanwalk.rules.ordering.schedule import (
    EXACT_MOST,
    EXACT_WITH_HOURS,
    Day,
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


def drawn_hours(draw: st.DrawFn) -> tuple[tuple[int, int], ...]:
    """Of each of three days, over and over: from when to when; at least one of them some hours."""
    times = [sorted((draw(st.integers(0, 8)) * 60, draw(st.integers(0, 8)) * 60)) for _ in range(3)]
    return tuple((opens, closes) for opens, closes in times) if any(a < b for a, b in times) else ()


hours = st.composite(drawn_hours)()
works_with_hours = st.builds(lambda work, open_at: replace(work, hours=open_at), works, st.one_of(st.just(()), hours))


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


def naive_day(pieces: list[Work], order: list[Step]) -> list[list[tuple[int, int]]]:
    """The same where rooms are open at some hours: fixture by fixture, the first room in order that can be gone on with."""
    found: list[list[tuple[int, int]]] = [[]]
    now, come_to, left = 0, list[int](), list(order)
    to_do = {at: lengths_of(work) for at, work in enumerate(pieces)}

    def open_on(at: int) -> tuple[int, int]:
        each = pieces[at].hours
        return each[(len(found) - 1) % len(each)] if each else (0, SHIFT)

    while left or any(to_do[at] for at in come_to):
        come_to = [at for at in come_to if to_do[at]]
        able = [at for at in come_to if open_on(at)[0] <= now < open_on(at)[1] and now + to_do[at][0] <= open_on(at)[1]]
        if able:
            minutes = to_do[able[0]].pop(0)
            found[-1].append((able[0], minutes))
            now += minutes
            continue
        long_enough = [at for at in come_to if open_on(at)[1] - open_on(at)[0] >= max(1, to_do[at][0])]
        over = any(open_on(at)[0] <= now and open_on(at)[1] == SHIFT for at in long_enough)
        if left and not over and not (left[0].fresh and found[-1]):
            come_to.append(left.pop(0).work)
            continue
        later = [open_on(at)[0] for at in long_enough if open_on(at)[0] > now]
        if later and not over:
            now = min(later)
        else:
            found, now = [*found, []], 0
    while not found[-1]:
        found.pop()
    return found


def lengths_of(work: Work) -> list[int]:
    """Minutes of each of its fixtures."""
    return [
        work.minutes * (number + 1) // work.fixtures - work.minutes * number // work.fixtures
        for number in range(work.fixtures)
    ]


def naive_cost(pieces: list[Work], shifts: list[list[tuple[int, int]]]) -> tuple[int, int, int, int]:
    platforms = [{pieces[at].platform for at, _ in shift} - {""} for shift in shifts]
    circuits = [{circuit for at, _ in shift for circuit in pieces[at].circuits} for shift in shifts]
    idle = sum(not shift for shift in shifts)
    return len(shifts) - idle, idle, sum(map(len, platforms)), sum(map(len, circuits))


def assert_all_is_done_once(pieces: list[Work], shifts: list[Shift]) -> None:
    """Each room whole, fixture after fixture, and no shift too long."""
    assert all(sum(piece.minutes for piece in shift) <= SHIFT for shift in shifts)
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


@settings(max_examples=30, deadline=None)
@given(st.lists(works_with_hours, min_size=1, max_size=3))
def test_rooms_open_at_some_hours_are_arranged_as_well_as_trying_every_order(pieces: list[Work]) -> None:
    able = [by_minutes(each, SHIFT) for each in pieces]
    found = shifts_of(pieces, SHIFT)
    assert_all_is_done_once(pieces, found)
    assert_rooms_are_open(able, found)
    best = min(naive_cost(able, naive_day(able, each)) for each in every_order(len(able)))
    assert cost_of(able, found) == best


@settings(max_examples=60, deadline=None)
@given(st.lists(works_with_hours, min_size=1, max_size=6), st.randoms(use_true_random=False))
def test_rooms_open_at_some_hours_are_laid_into_shifts_as_fixture_by_fixture(pieces: list[Work], draw: object) -> None:
    able = [by_minutes(each, SHIFT) for each in pieces]
    order = [Step(at, fresh=at % 2 == 1) for at in range(len(able))]
    draw.shuffle(order)  # type: ignore[attr-defined]
    found = Day(able, SHIFT).all(order)
    assert tuple(cost_of(able, found)) == naive_cost(able, naive_day(able, order))
    always = [by_minutes(replace(each, hours=()), SHIFT) for each in pieces]
    assert Day(always, SHIFT).all(order) == laid(always, order, SHIFT)


@settings(max_examples=15, deadline=None)
@given(st.lists(works_with_hours, min_size=EXACT_WITH_HOURS + 1, max_size=10))
def test_many_rooms_open_at_some_hours_are_never_arranged_worse_than_room_after_room(pieces: list[Work]) -> None:
    found = shifts_of(pieces, SHIFT)
    assert_all_is_done_once(pieces, found)
    assert_rooms_are_open([by_minutes(each, SHIFT) for each in pieces], found)
    assert cost_of(pieces, found) <= cost_of(pieces, in_order(pieces, SHIFT))


def assert_rooms_are_open(pieces: list[Work], shifts: list[Shift]) -> None:
    """Nothing is done before its room opens or after it closes, nor two things at once."""
    for place, shift in enumerate(shifts):
        now = 0
        for piece in shift:
            opens, closes = pieces[piece.work].open_times(place, SHIFT)
            assert max(now, opens) <= piece.begins
            now = piece.begins + piece.minutes
            assert now <= closes


def test_a_room_open_in_the_morning_is_done_in_the_mornings_and_the_next_room_after_it() -> None:
    """By hand: 240 min in a room open for the first two hours, 600 elsewhere: two mornings, and 360 and 240 min after them."""
    pieces = [Work("a", 240, fixtures=4, hours=((0, 120),)), Work("b", 600, fixtures=10)]
    found = shifts_of(pieces, SHIFT)
    told = [[(piece.work, piece.begins, piece.minutes) for piece in shift] for shift in found]
    assert told == [[(0, 0, 120), (1, 120, 360)], [(0, 0, 120), (1, 120, 240)]]


def test_a_room_open_on_the_third_day_alone_is_waited_for_and_the_days_between_are_idle() -> None:
    """By hand: 480 min on the first day; the second room opens on the third from 60 min on; the day between is idle."""
    pieces = [Work("a", 480, fixtures=8), Work("b", 60, hours=((0, 0), (0, 0), (60, 300)))]
    found = shifts_of(pieces, SHIFT)
    told = [[(piece.work, piece.begins) for piece in shift] for shift in found]
    assert (told, cost_of(pieces, found)) == ([[(0, 0)], [], [(1, 60)]], (2, 1, 0, 0))


def test_rooms_of_one_platform_come_together_though_the_walk_mixes_them() -> None:
    """By hand: four half days, two on each platform; the walk takes two days with both platforms on each, four platform days."""
    pieces = [Work(str(n), 240, "12"[n % 2]) for n in range(4)]
    assert cost_of(pieces, in_order(pieces, SHIFT)) == (2, 0, 4, 0)
    assert cost_of(pieces, shifts_of(pieces, SHIFT)) == (2, 0, 2, 0)


def test_a_platform_comes_in_the_morning_not_in_the_middle_of_a_day() -> None:
    """By hand: 240 min of other rooms, then 960 of a platform: it stands three days, two where it is begun with a day."""
    pieces = [Work("office", 240, fixtures=10), Work("hall", 960, "1", fixtures=40)]
    assert cost_of(pieces, in_order(pieces, SHIFT)) == (3, 0, 3, 0)
    assert cost_of(pieces, shifts_of(pieces, SHIFT)) == (3, 0, 2, 0)


def test_the_crew_leaves_early_where_that_spares_a_platform_and_costs_no_day() -> None:
    """By hand: 360 min on either of two floors: one after the other the second floor's platform stands two days."""
    pieces = [Work("a", 360, "1", fixtures=36), Work("b", 360, "2", fixtures=36)]
    assert cost_of(pieces, in_order(pieces, SHIFT)) == (2, 0, 3, 0)
    assert cost_of(pieces, shifts_of(pieces, SHIFT)) == (2, 0, 2, 0)


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
