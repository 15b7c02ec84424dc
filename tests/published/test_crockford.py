"""Crockford's base 32 against its published examples."""

from __future__ import annotations

import random

import pytest

from spanwalk.rules.codes import CHECK_SYMBOLS, SYMBOLS, CodeWrong, check_symbol, parse_code


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


def test_forty_two_is_read_however_it_is_written() -> None:
    """42 is 1A, with its check 1A5, and 'La5' is read as 1A5 (same README; read)."""
    assert parse_code("oooooo" + "La5") == "0000001A5"


def test_the_check_is_of_the_number_and_not_of_bytes_filled_up_on_the_right() -> None:
    """The bytes 'base' filled up to 35 bits print as C9GQ6S8 with the number's check, J (dcode.fr, read): of these symbols it is not."""
    assert check_symbol("C9GQ6S8") != "J"


def test_the_page_that_reads_u_as_v_is_not_followed() -> None:
    """U is no symbol and stands for nothing (README and two notes, read); one page says it is read as V."""
    assert "U" not in SYMBOLS
    with pytest.raises(CodeWrong, match=r"code\.symbol"):
        parse_code("000000U" + "00")


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
