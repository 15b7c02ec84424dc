"""What rules and tables write in English inside a text that is kept, told in the words of who reads; what is kept stays.

The page does the same: pwa/views/coded_text.js.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

Say = Callable[[str, Mapping[str, object]], str]
"""Says a code with its facts in the language that is read."""
ARRANGED = re.compile(r"\bat \d+ mA\b|\bfed from the neighbour$")
"""What a name of an arrangement, or a summary of what to fit, has beside codes and numbers."""
PARTS: tuple[tuple[str, str], ...] = (
    (r"\bin rows(?= \d)", "arrangement.in-rows"),
    (r"\bin row(?= \d)", "arrangement.in-row"),
    (r"\bat (?P<setting_ma>\d+) mA\b", "arrangement.at"),
    (r"\b(?P<bars>\d+) in series on an output\b", "arrangement.in-series"),
    (r"\b(?P<bars>\d+) in parallel on an output\b", "arrangement.in-parallel"),
    (r"\bfor both bodies$", "arrangement.both"),
    (r"\bfed from the neighbour$", "arrangement.fed"),
)
"""Words in it (rules/arrangements/candidate.py, layout.py, wiring/wiring.py), each with the code by which it is said."""


def arrangement_text(text: str, say: Say) -> str:
    """The name of an arrangement or a summary as it is read; any other text stays as it is.

    Parameters
    ----------
    text : str
        As '2 × TERN-4 in rows 1, 2; HERON-80 at 1400 mA'.
    say : callable
        Says a code with its facts in the language that is read.

    Examples
    --------
    >>> arrangement_text("2 × TERN-4 in row 1; HERON-80 at 700 mA", lambda code, facts: f"<{code}>")
    '2 × TERN-4 <arrangement.in-row> 1; HERON-80 <arrangement.at>'
    >>> arrangement_text("Looked at 4 rooms", lambda code, facts: "")
    'Looked at 4 rooms'
    """
    if not ARRANGED.search(text):
        return text
    for pattern, code in PARTS:
        text = re.sub(pattern, lambda found, code=code: say(code, found.groupdict()), text)  # type: ignore[misc]
    return text


NUMBERS = re.compile(r"-?\d+(?:\.\d+)?(?:e\+\d+)?")
LISTS = ("one of ", "a language of the server: ")
"""After these words a sentence of what would be right names values."""


def with_holes(text: str) -> tuple[str, dict[str, object]]:
    """What would be right, as its words have it: numbers, or the values after 'one of', are facts.

    >>> with_holes("text of at most 80 letters")
    ('text of at most {1} letters', {'1': '80'})
    >>> with_holes("one of rooms, fixtures")
    ('one of {1}', {'1': 'rooms, fixtures'})
    """
    for words in LISTS:
        if text.startswith(words):
            return f"{words}{{1}}", {"1": text.removeprefix(words)}
    numbers = NUMBERS.findall(text)
    holes = iter(range(1, len(numbers) + 1))
    return NUMBERS.sub(lambda _: f"{{{next(holes)}}}", text), {str(at): each for at, each in enumerate(numbers, 1)}


def code_of(text: str) -> str:
    """The code by which a title or a unit in English is found among the words.

    >>> code_of("Ballast factor"), code_of("per kW and month")
    ('ballast-factor', 'per-kw-and-month')
    """
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")


__all__ = ["arrangement_text", "code_of", "with_holes"]
