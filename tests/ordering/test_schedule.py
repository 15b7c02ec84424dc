"""Rooms into shifts: on small cases what trying every way finds, never worse than room after room."""

from __future__ import annotations

from collections.abc import Iterator

from hypothesis import given, settings
from hypothesis import strategies as st

from spanwalk.rules.schedule import EXACT_MOST, Shift, Work, cost_of, in_order, shifts_of, split

SHIFT = 480
works = st.builds(
    Work,
    room=st.just("r"),
    minutes=st.integers(1, SHIFT),
    platform=st.sampled_from(["", "", "1", "2"]),
    circuits=st.frozensets(st.sampled_from(["A/1", "A/2", "B/1"]), max_size=2),
)


def every_way(number: int) -> Iterator[list[Shift]]:
    """All ways to put so many pieces into shifts: each joins a shift that there is, or opens one."""

    def ways(at: int, shifts: list[list[int]]) -> Iterator[list[Shift]]:
        if at == number:
            yield [tuple(each) for each in shifts]
            return
        for shift in shifts:
            shift.append(at)
            yield from ways(at + 1, shifts)
            shift.pop()
        shifts.append([at])
        yield from ways(at + 1, shifts)
        shifts.pop()

    return ways(0, [])


def goes_in(pieces: list[Work], shifts: list[Shift]) -> bool:
    return all(sum(pieces[at].minutes for at in shift) <= SHIFT for shift in shifts)


@settings(max_examples=60)
@given(st.lists(works, min_size=1, max_size=7))
def test_a_small_site_is_arranged_as_well_as_trying_every_way(pieces: list[Work]) -> None:
    found = shifts_of(pieces, SHIFT)
    assert goes_in(pieces, found)
    assert sorted(at for shift in found for at in shift) == list(range(len(pieces)))
    best = min(cost_of(pieces, each) for each in every_way(len(pieces)) if goes_in(pieces, each))
    assert cost_of(pieces, found) == best


@settings(max_examples=60)
@given(st.lists(works, min_size=EXACT_MOST + 1, max_size=60))
def test_a_large_site_is_never_arranged_worse_than_room_after_room(pieces: list[Work]) -> None:
    found = shifts_of(pieces, SHIFT)
    assert goes_in(pieces, found)
    assert sorted(at for shift in found for at in shift) == list(range(len(pieces)))
    assert cost_of(pieces, found) <= cost_of(pieces, in_order(pieces, SHIFT))


def test_rooms_of_one_platform_come_together_though_the_walk_mixes_them() -> None:
    """By hand: four half days, two on each platform; the walk takes two days with both platforms on each, four platform days."""
    pieces = [Work(str(n), 240, "12"[n % 2]) for n in range(4)]
    assert cost_of(pieces, in_order(pieces, SHIFT)) == (2, 4, 0)
    assert cost_of(pieces, shifts_of(pieces, SHIFT)) == (2, 2, 0)


@given(st.lists(st.builds(Work, room=st.sampled_from("ab"), minutes=st.integers(1, 3000))))
def test_what_is_longer_than_a_shift_is_parted_and_nothing_is_lost(whole: list[Work]) -> None:
    parts = split(whole, SHIFT)
    assert all(0 < each.minutes <= SHIFT for each in parts)
    for room in "ab":
        assert sum(each.minutes for each in parts if each.room == room) == sum(
            each.minutes for each in whole if each.room == room
        )
