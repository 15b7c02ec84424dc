"""The phone's own reader of damaged symbols against a general-purpose library that makes them (ISO/IEC 18004 behind both)."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import qrcode
from qrcode import constants
from tests.support import machine

from spanwalk.services.labels.symbols import symbol_of, symbol_text

VECTORS = Path(__file__).parents[1] / "vectors" / "qr_symbols.json"
LEVELS = {
    "L": constants.ERROR_CORRECT_L,
    "M": constants.ERROR_CORRECT_M,
    "Q": constants.ERROR_CORRECT_Q,
    "H": constants.ERROR_CORRECT_H,
}
TEXTS = ("HTTPS", "12345678", "aé-x")
OURS = (symbol_text(None, "0000016JD"), symbol_text("https://walk.example.org", "0000016JD"))


def rows(matrix: list[list[bool]]) -> list[str]:
    return ["".join("#" if dark else "." for dark in row) for row in matrix]


def made() -> list[dict[str, object]]:
    """Symbols of each version and level up to 6, each mask among them, and two of our labels'."""
    symbols: list[dict[str, object]] = []
    for version in range(1, 7):
        for number, (level, correction) in enumerate(LEVELS.items()):
            mask, text = (3 * version + number) % 8, TEXTS[(version + number) % 3]
            symbol = qrcode.QRCode(version=version, error_correction=correction, border=0, mask_pattern=mask)
            symbol.add_data(text, optimize=0)
            symbol.make(fit=False)
            told = {"version": version, "level": level, "mask": mask, "text": text}
            symbols.append({**told, "rows": rows(symbol.modules)})
    for text in OURS:
        matrix = symbol_of(text)
        level = "H" if text == OURS[0] else "Q"
        told = {"version": (len(matrix) - 17) // 4, "level": level, "mask": 3, "text": text}
        symbols.append({**told, "rows": rows(matrix)})
    return symbols


def test_the_symbols_that_the_phones_reader_is_tested_with_are_the_librarys() -> None:
    assert json.loads(VECTORS.read_text()) == made()


def test_the_phones_reader_knows_how_a_label_is_made() -> None:
    """Where the server would make labels otherwise (level, mask, version), a phone would know too little of them."""
    run = subprocess.run(
        [machine.node(), "--input-type=module", "-e", KNOWN, *(text[:-9] for text in OURS)],
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
        cwd=Path(__file__).parents[2],
    )
    for told, text in zip(json.loads(run.stdout), OURS, strict=True):
        matrix = symbol_of(text)
        known = [
            (sign, dark) for sign, dark in zip(told, [cell for row in matrix for cell in row], strict=True) if sign
        ]
        assert len(known) > len(told) / 4
        assert all((sign > 0) == dark for sign, dark in known)


KNOWN = """
import { expectedSymbol } from './pwa/views/scanning/scan_worker_symbol.js';
import { knownModules, knownWords } from './pwa/views/scanning/scan_worker_label.js';
const told = process.argv.slice(1).map((before) => {
  const expected = expectedSymbol(before, 9);
  return [...knownModules(expected, knownWords(expected))];
});
process.stdout.write(JSON.stringify(told));
"""


if __name__ == "__main__":
    VECTORS.write_text(json.dumps(made(), indent=1, ensure_ascii=False) + "\n")
