"""What has grown in the spec since it was frozen, and whether it says so: `python -m tests.records.growth [--mark | --freeze]`.

Without an option it prints what lacks its number. `--mark` writes the numbers into spec/records.json. `--freeze`, once for
each release, writes down what phones out there know from then on.
"""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tests.support.machine import ROOT

SPEC = ROOT / "server" / "spanwalk" / "spec" / "records.json"
FROZEN = Path(__file__).with_name("frozen.json")
Element = tuple[str, dict[str, Any]]


def elements(document: dict[str, Any]) -> Iterator[Element]:
    """Path and body of each type, facet and field: `room`, `room.size`, `room.size.width`."""
    for type_, record in document["records"].items():
        yield type_, record
        for facet, inner in record["facets"].items():
            yield f"{type_}.{facet}", inner
            for field, body in inner["fields"].items():
                yield f"{type_}.{facet}.{field}", body


def frozen_of(document: dict[str, Any]) -> dict[str, Any]:
    """What is to be kept of a spec: its number, and of each element what never changes again."""
    kept = {path: _kept(body) for path, body in elements(document)}
    return {"spec": document["spec"], "elements": kept}


def _kept(body: dict[str, Any]) -> dict[str, Any]:
    choices = {"choices": body["choices"]} if "choices" in body else {}
    return {"since": body.get("since", 1), **({"type": body["type"]} if "type" in body else {}), **choices}


def unmarked(document: dict[str, Any], frozen: dict[str, Any]) -> list[str]:
    """What the spec has to say of what has grown, a sentence each; nothing where it says all."""
    number, released = document["spec"], frozen["spec"]
    next_ = max(number, released + 1)
    told = []
    grown = False
    for path, body in elements(document):
        known = frozen["elements"].get(path)
        since = body.get("since", 1)
        if known is None:
            grown = True
            if not released < since <= next_:
                told.append(f'{path} is new: give it "since": {next_}')
        elif since != known["since"]:
            told.append(f'{path} came with {known["since"]}: it stays "since": {known["since"]}')
        more = set(body.get("choices", ())) - set(known["choices"]) if known and "choices" in known else set()
        grown |= bool(more)
    if grown and number <= released:
        told.append(f'the spec has grown since {released} was frozen: it becomes "spec": {next_}')
    return told


def changed(document: dict[str, Any], frozen: dict[str, Any]) -> list[str]:
    """What phones out there know and the spec no longer has, or has otherwise, a sentence each."""
    now = dict(elements(document))
    told = []
    for path, known in frozen["elements"].items():
        if path not in now:
            told.append(f"{path} is gone: phones may hold operations on it")
            continue
        if now[path].get("type") != known.get("type"):
            told.append(
                f"{path} was a {known.get('type')}, and is a {now[path].get('type')}: a changed meaning is a new field"
            )
        lost = set(known.get("choices", ())) - set(now[path].get("choices", ()))
        told += [f"{path} has lost the choice {choice!r}" for choice in sorted(lost)]
    return told


def marked(text: str, frozen: dict[str, Any]) -> str:
    """The text of the spec with the numbers that it lacks, its lines otherwise as they are."""
    document = json.loads(text)
    next_ = max(document["spec"], frozen["spec"] + 1)
    lacking = {path for path, body in elements(document) if path not in frozen["elements"] and "since" not in body}
    lines, at = [], ["", ""]
    for line in text.splitlines():
        deep = (len(line) - len(line.lstrip())) // 4
        name = re.match(r'\s*"(\w+)": \{', line)
        if name and deep in (1, 2, 3):
            at = [*at[: deep - 1], name[1], *([""] * (3 - deep))]
            if ".".join(each for each in at[:deep]) in lacking:
                line = _with_since(line, deep, next_)
        lines.append(line)
    grown = "\n".join(lines) + "\n"
    return re.sub(r'"spec": \d+', f'"spec": {next_}', grown, count=1) if unmarked(document, frozen) else grown


def _with_since(line: str, deep: int, number: int) -> str:
    if deep == 3:
        return re.sub(r"\}(,?)$", rf', "since": {number}}}\1', line)
    inner = "facets" if deep == 1 else "fields"
    return line.replace(f'"{inner}": {{', f'"since": {number}, "{inner}": {{', 1)


def main() -> int:
    text, frozen = SPEC.read_text(), json.loads(FROZEN.read_text())
    if "--freeze" in sys.argv:
        FROZEN.write_text(json.dumps(frozen_of(json.loads(text)), indent=1, ensure_ascii=False) + "\n")
        return 0
    if "--mark" in sys.argv:
        SPEC.write_text(marked(text, frozen))
        return 0
    told = unmarked(json.loads(text), frozen) + changed(json.loads(text), frozen)
    print("\n".join(told))
    return 1 if told else 0


if __name__ == "__main__":
    sys.exit(main())
