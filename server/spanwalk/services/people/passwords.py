"""Passwords: which are too easy to guess, and how one is kept."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from importlib.resources import files
from threading import BoundedSemaphore

from argon2 import PasswordHasher
from argon2.exceptions import VerificationError

from spanwalk import records
from spanwalk.services.refusals import Unavailable, WrongInput

HASHER = PasswordHasher(time_cost=2, memory_cost=19 * 1024, parallelism=1)
AT_ONCE, WAITING_MOST = 2, 2
"""A hash takes 19 MiB and tens of milliseconds: so many at once, so many more wait, and no more are let in, so that the
threads of the server are left to those who push. Never hash inside a writing transaction."""
HASHING, LET_IN = BoundedSemaphore(AT_ONCE), BoundedSemaphore(AT_ONCE + WAITING_MOST)
BUSY_S = 2
PASSWORD_LETTERS_LEAST, PASSWORD_LETTERS_MOST = 10, 200
DIFFERENT_LETTERS_LEAST = 5
PERIOD_MOST = 5
"""A password that only repeats so many letters is no longer than they are."""
ROWS = ("abcdefghijklmnopqrstuvwxyz", "01234567890", "qwertyuiop", "asdfghjkl", "zxcvbnm", "1qaz2wsx3edc4rfv5tgb6yhn")
RUN_LEAST = 4
"""Letters of a row of the keyboard or the alphabet from which on they count as one."""


@contextmanager
def let_in() -> Iterator[None]:
    """Be one of the few who hash a password or wait for their turn; nobody is kept waiting to be let in.

    Raises
    ------
    Unavailable
        Too many wait for theirs already.
    """
    if not LET_IN.acquire(blocking=False):
        raise Unavailable("passwords-busy", seconds=BUSY_S)
    try:
        yield
    finally:
        LET_IN.release()


def hash_password(password: str) -> str:
    """Argon2id hash (19 MiB, t = 2, p = 1).

    Raises
    ------
    Unavailable
        Too many passwords are being hashed.
    """
    with let_in(), HASHING:
        return HASHER.hash(password)


_NOBODY = "$argon2id$v=19$m=19456,t=2,p=1$c29tZXNhbHRzb21lc2FsdA$YVVVrGcCsM5BsVUsAfMHh1UKrc5QTr4dVBCKrkoTLaw"


def password_fits(stored: str | None, password: str) -> bool:
    """Whether a password is the one that was hashed; takes as long when there is none. A request asks within `let_in`."""
    with HASHING:
        try:
            return HASHER.verify(stored or _NOBODY, password) and stored is not None
        except VerificationError:
            return False


def check_password(password: str, name: str = "") -> None:
    """Raise if a password is too short, too long, or among those that are tried first.

    Parameters
    ----------
    password : str
        As typed.
    name : str
        The name of whose it is to be.

    Raises
    ------
    WrongInput
        `password-wrong` for its length; `password-easy` where it is known, a row of keys, one word with digits,
        or little more than the name.
    """
    if not PASSWORD_LETTERS_LEAST <= len(password) <= PASSWORD_LETTERS_MOST or not records.storable(password):
        raise WrongInput("password-wrong", field="password", least=PASSWORD_LETTERS_LEAST, most=PASSWORD_LETTERS_MOST)
    if easy_to_guess(password, name):
        raise WrongInput("password-easy", field="password")


def easy_to_guess(password: str, name: str = "") -> bool:
    """Whether a password is among those that are tried first.

    >>> [each for each in ("1234567890", "Password2024!", "anna1anna2", "walk the span") if easy_to_guess(each, "Anna")]
    ['1234567890', 'Password2024!', 'anna1anna2']
    """
    folded = _fold(password)
    stem = re.sub(r"^[^a-z]+|[^a-z]+$", "", folded)
    own = _fold(name)
    without_name = folded.replace(own, "") if len(own) >= 3 else folded
    return (
        len(set(folded)) < DIFFERENT_LETTERS_LEAST
        or any(folded == (folded[:n] * len(folded))[: len(folded)] for n in range(1, PERIOD_MOST + 1))
        or len(_without_runs(folded)) < RUN_LEAST
        or (without_name != folded and len(without_name) < RUN_LEAST + 2)
        or _hashed(folded) in _common("whole")
        or _hashed(stem) in _common("words")
    )


def _fold(text: str) -> str:
    return "".join(unicodedata.normalize("NFKC", text).casefold().split())


def _without_runs(folded: str) -> str:
    """What is left when each row of keys or letters, either way, counts as nothing."""
    rows = [*ROWS, *(row[::-1] for row in ROWS)]
    rest, at = "", 0
    while at < len(folded):
        length = max(_in_row(row, folded, at) for row in rows)
        rest += "" if length >= RUN_LEAST else folded[at]
        at += length if length >= RUN_LEAST else 1
    return rest


def _in_row(row: str, folded: str, at: int) -> int:
    """How long the text goes along a row from a place on."""
    length = 0
    while at + length < len(folded) and folded[at : at + length + 1] in row:
        length += 1
    return length


def _hashed(folded: str) -> str:
    return hashlib.sha256(folded.encode()).hexdigest()[:8]


@cache
def _common(part: str) -> frozenset[str]:
    """One part of the list of passwords that are tried first, hashed as the list says."""
    text = files("spanwalk").joinpath("spec/common-passwords.txt").read_text(encoding="utf-8")
    return frozenset(text.partition(f"# {part}\n")[2].partition("#")[0].split())
