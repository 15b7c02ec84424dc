"""Somebody else's program that checks an archive and counts it again, written from the README inside; nothing of ours in it.

Plain Python, standard library only. `python other_reader.py FOLDER [HASH]`, with the last entry's hash as it was written down.
"""

from __future__ import annotations

import csv
import json
import sys
from hashlib import sha256
from pathlib import Path
from typing import Any


def lines(file: Path) -> list[Any]:
    return [json.loads(line) for line in file.read_text("utf-8").splitlines()]


def files_differ(bag: Path) -> list[str]:
    wrong = []
    for manifest, there in (("manifest-sha256.txt", [p for p in (bag / "data").rglob("*") if p.is_file()]),
                            ("tagmanifest-sha256.txt", [p for p in bag.glob("*.*") if p.name != "tagmanifest-sha256.txt"])):  # fmt: skip
        told = dict(line.split("  ", 1)[::-1] for line in (bag / manifest).read_text("utf-8").splitlines())
        found = {p.relative_to(bag).as_posix(): sha256(p.read_bytes()).hexdigest() for p in there}
        wrong += [f"file {name}" for name in told.keys() | found.keys() if told.get(name) != found.get(name)]
    return wrong


def chain_breaks(data: Path, about: Any, last: str | None) -> list[str]:
    wrong, before, right = [], "", 1
    entries = lines(data / "audit.jsonl")
    let_go = {n for e in entries if e["what"] == "let-go" for n in json.loads(e["about"])["let_go"]}
    for e in entries:
        leaves = sha256(bytes.fromhex(e["leaves"])).hexdigest() if e["leaves"] is not None else None
        told = [about["site"], e["number"], *(e[k] for k in ("at", "what", "person", "sender", "device")),
                e["entered_first"], e["entered_last"], e["about"], leaves]  # fmt: skip
        content = sha256(json.dumps(told, separators=(",", ":"), ensure_ascii=False).encode()).hexdigest()
        linked = "\x1f".join([before, str(e["number"]), e["at"], e["what"], e["content"]])
        if e["number"] != right or sha256(linked.encode()).hexdigest() != e["hash"]:
            wrong.append(f"chain at entry {e['number']}")
        elif content != e["content"] and e["number"] not in let_go:
            wrong.append(f"entry {e['number']}")
        before, right = e["hash"], e["number"] + 1
    ends = {before, about["audit"]["hash"], *([last] if last else [])}
    return wrong + (["the chain's end"] if len(ends) > 1 else [])


def log_breaks(data: Path) -> list[str]:
    rows = {row["id"]: row for row in lines(data / "operations.jsonl")}
    columns = ["id", "person", "sender", "device", "record", "facet", "received_at", "result", "hash",
               "body", "code", "facts"]  # fmt: skip
    wrong, vouched = [], set()
    entries = lines(data / "audit.jsonl")
    moved = {tuple(pair) for e in entries if e["about"] for pair in json.loads(e["about"]).get("moved", [])}
    for e in entries:
        leaves = [e["leaves"][at : at + 32] for at in range(0, len(e["leaves"] or ""), 32)]
        by_place = {rows[id]["place"]: rows[id] for id in e["operations"] if id in rows}
        for place, leaf in enumerate(leaves):
            row = by_place.get(place)
            if row is None:
                wrong += [] if (e["number"], place) in moved else [f"an operation of entry {e['number']}"]
                continue
            text = "\x1f".join([*(str(row[c] or "") for c in columns), str(row["seq"])])
            vouched.add(row["id"])
            if sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:32] != leaf:
                wrong.append(f"operation {row['id']}")
    old = sum(json.loads(e["about"]).get("operations", 0) for e in entries if e["about"] and '"total"' in e["about"])
    if len(rows) - len(vouched) != old:
        wrong.append("operations that no entry vouches for")
    for record in lines(data / "records.jsonl"):
        for facet, held in json.loads(record["facets"]).items():
            to = json.loads(rows[held["op"]]["body"]).get("to") or {} if held["op"] in rows else None
            if facet != "life" and (to is None or any(held["value"].get(k) != v for k, v in to.items())):
                wrong.append(f"record {record['id']} {facet}")
    return wrong


def counts_differ(data: Path, about: Any) -> list[str]:
    told, kept = about["counts"], lines(data / "records.jsonl")
    live = [r["type"] for r in kept if not r["removed"]]
    ours = {"records": {t: live.count(t) for t in set(live)}, "records_removed": len(kept) - len(live),
            "operations": len(lines(data / "operations.jsonl")), "photos": len(list(data.glob("photos/*"))),
            "attachments": len(list(data.glob("attachments/*"))),
            "people": len(lines(data / "people.jsonl")), "audit_entries": len(lines(data / "audit.jsonl"))}  # fmt: skip
    wrong = [name for name, value in ours.items() if told.get(name, value) != value]
    for kind, number in told["records"].items():
        with (data / "plain" / f"{kind}.csv").open(encoding="utf-8-sig", newline="") as file:
            wrong += [] if len(list(csv.reader(file))) - 1 == number else [f"plain/{kind}.csv"]
    for release in about["releases"]:
        rows = json.loads((data / "releases" / f"release-{release['number']}.json").read_text("utf-8"))
        for figure in ("fixtures", "kwh_now", "kwh_then", "cost"):
            parts = [row[figure] for row in rows]
            total = None if None in parts else round(sum(parts), 2)
            wrong += [] if total == release[figure] else [f"release {release['number']} {figure}"]
        codes = {code for row in rows for code in row["parts"]}
        sums = {code: sum(row["parts"].get(code, 0) for row in rows) for code in codes}
        wrong += [] if sums == release["parts"] else [f"release {release['number']} parts"]
    return wrong


def check(bag: Path, last: str | None = None) -> list[str]:
    about = json.loads((bag / "data/archive.json").read_text("utf-8"))
    data = bag / "data"
    return files_differ(bag) + chain_breaks(data, about, last) + log_breaks(data) + counts_differ(data, about)


if __name__ == "__main__":
    found = check(Path(sys.argv[1]), sys.argv[2] if len(sys.argv) > 2 else None)
    print("\n".join(found) or "whole")
    sys.exit(1 if found else 0)
