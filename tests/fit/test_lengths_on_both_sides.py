"""Server and page read the same drawn texts, sense or nonsense, to the same tick, question or refusal."""

from __future__ import annotations

import json
import subprocess
from collections import Counter
from pathlib import Path
from random import Random
from typing import Any

from tests.support import machine

from spanwalk.rules.measuring.lengths import LengthRefused, LengthUnclear, format_inches, format_mm, parse_length

PARTS = [
    "45",
    "47",
    "3",
    "9",
    "1",
    "0",
    "1198",
    "1,198",
    "1198,5",
    "1.198",
    ".5",
    "12,500",
    "0,25",
    "0,250",
    "45,125",
    "1,198.5",
    "1.198,5",
    "3/16",
    "17/16",
    "16/16",
    "1/3",
    "3/",
    "0/16",
    "½",
    "⅞",
    "⅓",
]
PARTS += [
    "'",
    "''",
    '"',
    "″",
    "′",
    "in",
    "ft",
    "mm",
    "cm",
    "m",
    "km",
    "feet",
    "inches",
    "Metres",
    "MM",
    "-",
    "−",
    "/",
    "⁄",
    "x",
    "²",
    "٣",
    "_",
    "+",
    "1e3",
    "é",
    "20000",
    "240",
    "241",
    "9999999999",
]
PARTS += [" ", "  ", "\u00a0", "\u202f"]
UNITS = ("in", "mm", "inches", "millimetres")


def draw_text(rng: Random) -> str:
    return "".join(rng.choice(PARTS) + rng.choice(("", " ", "")) for _ in range(rng.randint(1, 5)))


def read(text: str, units: str) -> dict[str, Any]:
    """As the page says it."""
    try:
        length = parse_length(text, units)
    except LengthUnclear as unclear:
        return {"question": {"code": unclear.code, "facts": unclear.facts, "ticks": unclear.ticks}}
    except LengthRefused as refused:
        return {"error": {"code": refused.code, "facts": refused.facts}}
    return {
        "ticks": length.ticks,
        "as_entered": length.as_entered,
        "unit": length.unit,
        "exact": length.exact,
    }


def test_four_thousand_texts_and_lengths_come_out_alike(tmp_path: Path) -> None:
    rng = Random(1611)
    texts = [[draw_text(rng), rng.choice(UNITS)] for _ in range(4000)]
    lengths = [rng.randint(-100_000, 2_000_000) if at % 2 else rng.randint(0, 15_000) * 127 for at in range(4000)]
    drawn = tmp_path / "drawn.json"
    drawn.write_text(json.dumps({"texts": texts, "lengths": lengths}), encoding="utf-8")
    script = Path(__file__).with_name("parse_lines.js")
    run = subprocess.run(
        [machine.node(), str(script), str(drawn)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=True,
    )
    page, server = json.loads(run.stdout), [read(*each) for each in texts]
    assert [each for each in zip(texts, server, page["read"], strict=True) if each[1] != each[2]] == []
    shown = [[format_inches(ticks), format_mm(ticks)] for ticks in lengths]
    assert [each for each in zip(lengths, shown, page["shown"], strict=True) if each[1] != each[2]] == []
    met = Counter(next(iter(each)) for each in server)
    assert min(met["ticks"], met["question"], met["error"]) >= 100, met
