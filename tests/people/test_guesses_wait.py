"""Guesses at passwords wait, ever longer, and lock nobody out; those who push never wait for a password to be hashed."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from sqlalchemy import delete, func, select, update
from tests.support.installation import OWN_PAGE, PASSWORD, Installation, new_id

from spanwalk.services import clock
from spanwalk.services.clock import after
from spanwalk.services.people import passwords, slowing
from spanwalk.services.people.passwords import AT_ONCE, WAITING_MOST
from spanwalk.services.people.slowing import COUNTED_S, FOR_A_NAME_FROM_A_PLACE, Pace
from spanwalk.storage.database import reading, writing
from spanwalk.storage.tables import Phone, SignInTry

FREE, WAIT_MOST_S = FOR_A_NAME_FROM_A_PLACE.free, FOR_A_NAME_FROM_A_PLACE.most_s
HERE, THERE = "192.0.2.7", "198.51.100.9"
BOUND_S = 20


@pytest.fixture(autouse=True)
def nobody_has_guessed(here: Installation) -> None:
    with here.app.app_context(), writing() as session:
        session.execute(delete(SignInTry))


@pytest.fixture(autouse=True)
def time_stands_still(monkeypatch: pytest.MonkeyPatch) -> None:
    """A busy machine lets seconds go by between two guesses: here only `pass_by` does."""
    moment = clock.now()
    monkeypatch.setattr(slowing, "now", lambda: moment)
    monkeypatch.setattr(slowing, "later", lambda seconds: clock.after(moment, seconds))


def guess(here: Installation, name: str, password: str = "wrong again", at: str = HERE, client: Any = None) -> Any:
    return (client or here.app.test_client()).post(
        "/api/session",
        json={"name": name, "password": password},
        headers=OWN_PAGE,
        environ_overrides={"REMOTE_ADDR": at},
    )


def pass_by(here: Installation, seconds: float) -> None:
    """So many seconds go by: all guesses lie so much further back."""
    with here.app.app_context(), writing() as session:
        for row in session.execute(select(SignInTry)).scalars():
            row.at = after(row.at, -seconds)


def guesses(here: Installation) -> int:
    with here.app.app_context(), reading() as session:
        return session.execute(select(func.count()).select_from(SignInTry)).scalar_one()


def waited_for(here: Installation, name: str, at: str = HERE) -> list[int]:
    """The waits that a name asks for, guess after guess, each waited for [s]."""
    waits = []
    for _ in range(40):
        answer = guess(here, name, at=at)
        if answer.status_code == 429:
            waits.append(int(answer.headers["Retry-After"]))
            pass_by(here, waits[-1])
    return waits


def test_ten_wrong_guesses_keep_the_right_password_out_for_half_a_minute_at_most(here: Installation) -> None:
    """It was a quarter of an hour."""
    waited = waited_for(here, "crew")
    assert waited[:6] == [1, 2, 4, 8, 16, 30]
    assert max(waited) == WAIT_MOST_S == 30
    pass_by(here, WAIT_MOST_S)
    assert guess(here, "crew", PASSWORD).status_code == 200


def test_a_guess_that_is_refused_is_not_looked_at_and_makes_nobody_wait_longer(here: Installation) -> None:
    for _ in range(FREE):
        assert guess(here, "crew").status_code == 401
    before = guesses(here)
    told = [guess(here, "crew", PASSWORD) for _ in range(20)]
    assert {each.status_code for each in told} == {429}
    assert {each.json["code"] for each in told} == {"sign-in-too-often"}
    assert guesses(here) == before
    pass_by(here, 1)
    assert guess(here, "crew", PASSWORD).status_code == 200


def test_ten_people_at_one_gate_all_come_in_by_asking_again_as_they_are_told(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The fifth was refused and had to press again; what is hashed at once, and so the memory, stays bounded."""
    hashing, lock, most, done = passwords.HASHER, threading.Lock(), [0], [0]

    class Counted:
        def verify(self, stored: str, password: str) -> bool:
            with lock:
                done[0] += 1
                most[0] = max(most[0], done[0])
            try:
                time.sleep(0.05)
                return hashing.verify(stored, password)
            finally:
                with lock:
                    done[0] -= 1

    monkeypatch.setattr(passwords, "HASHER", Counted())
    start = threading.Barrier(10)

    def come_in(number: int) -> tuple[int, list[int]]:
        start.wait(BOUND_S)
        told = []
        for _ in range(12):
            answer = guess(here, "crew", PASSWORD, at=f"192.0.2.{number}")
            if answer.status_code != 503:
                return answer.status_code, told
            assert answer.json["code"] == "passwords-busy"
            told.append(int(answer.headers["Retry-After"]))
            time.sleep(0.02 + 0.01 * number)  # in the place of the seconds that it was told
        return 503, told

    with ThreadPoolExecutor(10) as people:
        came = list(people.map(come_in, range(10)))
    assert [status for status, _ in came] == [200] * 10
    assert {wait for _, told in came for wait in told} <= {passwords.BUSY_S}
    assert 1 <= most[0] <= AT_ONCE


def test_who_signs_in_has_their_slips_forgotten(here: Installation) -> None:
    for _ in range(3):
        for _ in range(FREE - 1):
            assert guess(here, "crew").status_code == 401
        assert guess(here, "crew", PASSWORD).status_code == 200
    assert guesses(here) == 0


def test_two_hundred_guesses_from_one_address_lock_out_nobody(here: Installation) -> None:
    """About 200 of them locked out everybody behind the same address."""
    with here.app.app_context(), writing() as session:
        for n in range(200):
            session.add(
                SignInTry(
                    id=new_id(), name_key=slowing.hidden_name(session, f"name {n % 20}"), place=HERE, at=slowing.now()
                )
            )
    assert guess(here, "crew", PASSWORD).status_code == 200
    assert guess(here, "manager", PASSWORD, at=THERE).status_code == 200


def test_two_hundred_guesses_at_a_name_from_everywhere_do_not_lock_it_out(here: Installation) -> None:
    with here.app.app_context(), writing() as session:
        for n in range(200):
            session.add(
                SignInTry(
                    id=new_id(), name_key=slowing.hidden_name(session, "crew"), place=f"203.0.113.{n}", at=slowing.now()
                )
            )
    assert guess(here, "crew", PASSWORD, at=THERE).status_code == 200


def test_many_thousand_guesses_from_everywhere_slow_new_phones_by_ten_seconds_and_known_ones_not(
    here: Installation,
) -> None:
    known = here.app.test_client()
    assert guess(here, "crew", PASSWORD, client=known).status_code == 200
    with here.app.app_context(), writing() as session:
        for n in range(1000):
            session.add(
                SignInTry(
                    id=new_id(),
                    name_key=slowing.hidden_name(session, "crew"),
                    place=f"2001:db8:{n:x}::/64",
                    at=slowing.now(),
                )
            )
    strange = guess(here, "crew", PASSWORD, at=THERE)
    assert (strange.status_code, strange.headers["Retry-After"]) == (429, "10")
    assert guess(here, "crew", PASSWORD, client=known).status_code == 200
    pass_by(here, 10)
    assert guess(here, "crew", PASSWORD, at=THERE).status_code == 200


def test_a_known_phone_is_slowed_by_its_own_guesses_alone_wherever_it_is(here: Installation) -> None:
    known = here.app.test_client()
    assert guess(here, "crew", PASSWORD, client=known).status_code == 200
    for _ in range(10):
        guess(here, "crew")
    assert guess(here, "crew").status_code == 429
    for n in range(FREE):
        assert guess(here, "crew", client=known, at=f"192.0.2.{n}").status_code == 401
    assert guess(here, "crew", PASSWORD, client=known, at=THERE).status_code == 429


def test_a_phone_is_known_for_who_signed_in_on_it_and_for_nobody_else(here: Installation) -> None:
    shared = here.app.test_client()
    assert guess(here, "crew", PASSWORD, client=shared).status_code == 200
    for _ in range(FREE):
        guess(here, "manager")
    assert guess(here, "manager", PASSWORD, client=shared).status_code == 429
    pass_by(here, 1)
    assert guess(here, "manager", PASSWORD, client=shared).status_code == 200
    for name in ("crew", "manager"):
        for _ in range(FREE):
            guess(here, name)
        assert guess(here, name, PASSWORD, client=shared).status_code == 200


def test_a_phone_that_is_shut_out_is_known_no_more(here: Installation) -> None:
    known = here.app.test_client()
    guess(here, "crew", PASSWORD, client=known)
    with here.app.app_context(), writing() as session:
        session.execute(update(Phone).values(shut_out_at=slowing.now()))
    for _ in range(FREE):
        guess(here, "crew")
    assert guess(here, "crew", PASSWORD, client=known).status_code == 429
    with here.app.app_context(), writing() as session:
        session.execute(update(Phone).values(shut_out_at=None))


def test_addresses_below_one_prefix_of_ipv6_are_one(here: Installation) -> None:
    for n in range(FREE):
        assert guess(here, "crew", at=f"2001:db8:1:2:{n}::1").status_code == 401
    assert guess(here, "crew", at="2001:db8:1:2:ffff::2").status_code == 429
    assert guess(here, "crew", at="2001:db8:1:3::2").status_code == 401


def test_guesses_are_forgotten_after_an_hour(here: Installation) -> None:
    for _ in range(FREE):
        guess(here, "crew")
    pass_by(here, COUNTED_S + 1)
    assert [guess(here, "crew").status_code for _ in range(FREE)] == [401] * FREE
    assert guesses(here) == FREE


def test_a_guess_written_while_a_clock_was_wrong_counts_for_nothing(here: Installation) -> None:
    for _ in range(FREE):
        guess(here, "crew")
    with here.app.app_context(), writing() as session:
        session.execute(update(SignInTry).values(at="2099-01-01T00:00:00.000000Z"))
    assert guess(here, "crew", PASSWORD).status_code == 200


def test_sixteen_guesses_at_once_count_as_sixteen_one_after_another(
    here: Installation, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Check and count were two transactions: all that were checked before the first was counted got through."""
    looked_at: list[str] = []
    monkeypatch.setattr(passwords.HASHER.__class__, "verify", lambda self, stored, tried: looked_at.append(tried))
    monkeypatch.setattr(passwords, "LET_IN", threading.BoundedSemaphore(16))
    together = threading.Barrier(16, timeout=BOUND_S)

    def one(n: int) -> int:
        together.wait()
        return int(guess(here, "crew", f"guess {n}").status_code)

    with ThreadPoolExecutor(16) as pool:
        codes = list(pool.map(one, range(16), timeout=BOUND_S))
    assert len(looked_at) == FREE
    assert sorted(codes) == [401] * FREE + [429] * (16 - FREE)


@pytest.fixture
def stuck(here: Installation, monkeypatch: pytest.MonkeyPatch) -> Iterator[threading.Event]:
    """Hashing takes as long as the test likes, from when the surveyor is signed in."""
    here.client("surveyor")
    go_on = threading.Event()

    def verify(self: object, stored: str, tried: str) -> bool:
        assert go_on.wait(BOUND_S)
        return False

    monkeypatch.setattr(passwords.HASHER.__class__, "verify", verify)
    yield go_on
    go_on.set()


def test_of_eight_guessers_four_at_most_take_a_thread_and_a_push_goes_through_meanwhile(
    here: Installation, stuck: threading.Event
) -> None:
    """The median of a push rose from 5 to 59 ms: hashing stood inside the write, and eight threads are all there are."""
    refused = threading.Semaphore(0)
    floor = here.operation("surveyor", new_id(), "floor", "identity", {"name": "Up", "parent": here.site})

    def one(n: int) -> int:
        code = int(guess(here, f"name {n}", at=f"203.0.113.{n}").status_code)
        if code == 503:
            refused.release()
        return code

    with ThreadPoolExecutor(8) as pool:
        codes = [pool.submit(one, n) for n in range(8)]
        for _ in range(8 - AT_ONCE - WAITING_MOST):
            assert refused.acquire(timeout=BOUND_S), "whoever has no place is told so at once"
        (answer,) = here.push("surveyor", floor)
        assert answer["result"] == "applied"
        assert not stuck.is_set(), "nobody's password was looked at yet"
        stuck.set()
        told = sorted(each.result(BOUND_S) for each in codes)
    assert told == [401] * (AT_ONCE + WAITING_MOST) + [503] * (8 - AT_ONCE - WAITING_MOST)


def test_who_finds_no_place_is_told_when_to_come_again_and_their_guess_does_not_count(
    here: Installation, stuck: threading.Event, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(passwords, "LET_IN", threading.BoundedSemaphore(1))
    assert passwords.LET_IN.acquire(timeout=BOUND_S)
    answer = guess(here, "crew", PASSWORD)
    assert (answer.status_code, answer.json["code"]) == (503, "passwords-busy")
    assert int(answer.headers["Retry-After"]) == 2
    assert guesses(here) == 0


@pytest.mark.parametrize(("guesses", "wait"), [(2, 0), (3, 1), (7, 16), (8, 30), (10**6, 30)])
def test_waits_double_up_to_a_limit(guesses: int, wait: int) -> None:
    assert Pace(3, 30).wait_s(guesses) == wait
