"""What a language lacks: sentences that nobody has translated, and those whose English has changed since.

python -m tests.words.missing es           lists them, each with its English
python -m tests.words.missing es --mark    takes down that each stands for the English of today
"""

from __future__ import annotations

import hashlib
import sys
from pathlib import Path

from spanwalk import words

HERE = Path(__file__).parent
DIGEST_LETTERS = 8


def english() -> dict[str, str]:
    """Every sentence and title of the first language, by code."""
    return words.titles() | words.words()


def digest(sentence: str) -> str:
    """A sentence in a few letters: another sentence has others."""
    return hashlib.sha256(sentence.encode()).hexdigest()[:DIGEST_LETTERS]


def taken_down(language: str) -> dict[str, str]:
    """By code, the digest of the English that a language's sentence was made from; nothing where none was taken down."""
    file = HERE / f"translated.{language}.txt"
    lines = file.read_text("utf-8").splitlines() if file.is_file() else []
    return dict(line.rsplit(" ", 1) for line in lines)


def missing(language: str) -> list[str]:
    """Codes that a language has no sentence for."""
    return sorted(words.lacking(language))


def changed(language: str) -> list[str]:
    """Codes whose English is another than the one that a language's sentence was made from."""
    made_from, now = taken_down(language), english()
    own = words.own_words(language) & set(now)
    return sorted(code for code in own if made_from.get(code) != digest(now[code]))


def gone(language: str) -> list[str]:
    """Codes of a language that English has no more; the notice names codes of more countries, and that nobody has read it."""
    own = words.own_words(language) - set(english()) - {words.NOT_REVIEWED}
    return sorted(code for code in own if not code.startswith("notice.local-code."))


def mark(language: str) -> None:
    """Take down the English that every sentence of a language stands for now."""
    now = english()
    lines = [f"{code} {digest(now[code])}" for code in sorted(words.own_words(language) & set(now))]
    (HERE / f"translated.{language}.txt").write_text("\n".join(lines) + "\n", encoding="utf-8")


def told(language: str) -> list[str]:
    """A line for each sentence that is to be translated, looked at again, or deleted."""
    now = english()
    return [
        *(f"missing  {code}: {now[code]}" for code in missing(language)),
        *(f"changed  {code}: {now[code]}" for code in changed(language)),
        *(f"gone     {code}" for code in gone(language)),
    ]


def main(arguments: list[str]) -> int:
    """List or mark; 1 where something is to be done."""
    languages = [each for each in arguments if not each.startswith("--")]
    if len(languages) != 1 or languages[0] not in words.languages() or set(arguments) - {*languages, "--mark"}:
        print(__doc__)
        return 2
    (language,) = languages
    if "--mark" in arguments:
        mark(language)
    lines = told(language)
    print("\n".join(lines) or f"{language}: all is translated from the English of today.")
    return 1 if lines else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
