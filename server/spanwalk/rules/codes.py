"""The code on a label: 8 symbols and a check symbol that catches each mistyped one. Twin: pwa/rules/codes.js."""

from __future__ import annotations

from collections.abc import Iterable

from spanwalk.rules import constants

SYMBOLS = constants.CODE_SYMBOLS
"""Crockford's base 32: no I, L, O, U (base32.html of its author, from memory)."""
CHECK_SYMBOLS = SYMBOLS + "*~$=U"
"""The check symbol is the number modulo 37; five more symbols stand for 32 to 36."""
USABLE_CHECKS = SYMBOLS + "U"
"""Codes whose check is one of * ~ $ = are not issued: QR's alphanumeric mode lacks ~ and =, and a URL or a voice spells them badly."""
LENGTH = constants.CODE_LENGTH
PATH = constants.CODE_PATH
_READ_AS = {"O": "0", "I": "1", "L": "1"}
_PASSED_OVER = " -\u00a0‐‑–"


class CodeWrong(ValueError):
    """What was typed or scanned is no code; `code` names the sentence, `facts` fill it."""

    def __init__(self, code: str, **facts: str | int) -> None:
        super().__init__(code)
        self.code = code
        self.facts = facts


def check_symbol(symbols: str) -> str:
    """The check symbol of a number in base 32: its remainder modulo 37.

    Parameters
    ----------
    symbols : str
        Symbols of base 32, most significant first.

    Examples
    --------
    >>> check_symbol("16J")  # 1234 = 33 * 37 + 13
    'D'
    """
    number = 0
    for symbol in symbols:
        number = number * 32 + SYMBOLS.index(symbol)
    return CHECK_SYMBOLS[number % 37]


def make_code(numbers: Iterable[int]) -> str | None:
    """A code from 8 random numbers below 32; None where its check symbol is not one that is issued.

    Examples
    --------
    >>> make_code([0, 0, 0, 0, 0, 1, 6, 18])
    '0000016JD'
    """
    symbols = "".join(SYMBOLS[number] for number in numbers)
    check = check_symbol(symbols)
    return symbols + check if check in USABLE_CHECKS else None


def parse_code(text: str) -> str:
    """The code that somebody typed or scanned, as it is stored.

    Letters may be small, O is read as 0, I and L as 1; spaces and hyphens are passed over. A whole label address is
    taken too: what follows `/F/`.

    Raises
    ------
    CodeWrong
        `code.length`, `code.symbol` or `code.mistyped`.

    Examples
    --------
    >>> parse_code("0000-oi6j d")
    '0000016JD'
    """
    typed = text.strip().upper()
    typed = typed.rsplit(PATH, 1)[-1].rstrip("/")
    symbols = "".join(_READ_AS.get(symbol, symbol) for symbol in typed if symbol not in _PASSED_OVER)
    if len(symbols) != LENGTH + 1:
        raise CodeWrong("code.length", text=text[:40], symbols=len(symbols), right=LENGTH + 1)
    for place, symbol in enumerate(symbols):
        if symbol not in (SYMBOLS if place < LENGTH else USABLE_CHECKS):
            raise CodeWrong("code.symbol", text=text[:40], symbol=symbol)
    if check_symbol(symbols[:LENGTH]) != symbols[LENGTH]:
        raise CodeWrong("code.mistyped", text=text[:40])
    return symbols


def spaced(code: str) -> str:
    """A code as it is printed: `0000 016J D`.

    Examples
    --------
    >>> spaced("0000016JD")
    '0000 016J D'
    """
    return f"{code[:4]} {code[4:8]} {code[8:]}"
