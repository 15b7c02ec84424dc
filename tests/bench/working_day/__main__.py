"""`python -m tests.bench.working_day [--seconds 20] [--small]`: a working day at full speed, and the table of how it grows.

50 phones push, pull, send photos, scan and ask for plans without any pause: what a day of eight hours spreads out, in
seconds. Against PostgreSQL that flushes each commit, an object store and n servers behind nginx, all on this machine,
the phones too. First n = 1, 2, 4; then the number of sites and of records on each, at three sizes.
"""

from __future__ import annotations

import argparse
import math
import os
import statistics
import tempfile
from dataclasses import dataclass
from pathlib import Path

from tests.bench.working_day.firm import found
from tests.bench.working_day.machines import new_back_end, running
from tests.bench.working_day.phones import Taken, play

PHONES = 50
DAY_S = 8 * 3600
A_DAY_OF_A_PHONE = 600
"""Operations that a busy surveyor saves in a day; common practice, no source: one in 48 seconds, all day."""
SORTS = ("push", "pull", "first pull", "photo", "scan", "plan")


@dataclass(frozen=True)
class Size:
    """One row of the table: how many servers, sites, and records on a site."""

    servers: int
    sites: int
    records: int


@dataclass(frozen=True)
class Played:
    """What came of it."""

    size: Size
    taken: Taken
    seconds: float
    processor: dict[str, float]
    load: float

    def median(self, sort: str) -> float:
        """Of one sort of request [ms]; not a number where there was none."""
        return statistics.median(self.taken.ms[sort]) if self.taken.ms[sort] else math.nan

    def late(self, sort: str) -> float:
        """What 19 of 20 stay under [ms]."""
        values = sorted(self.taken.ms[sort])
        return values[int(len(values) * 0.95)] if values else math.nan


def played(size: Size, seconds: float, phones: int) -> Played:
    """Make the firm, start everything, play, and stop it."""
    env = new_back_end()
    with tempfile.TemporaryDirectory() as folder:
        firm = found(env, Path(folder), size.sites, size.records, phones)
    with running(env, size.servers) as machines:
        before = machines.processor_s()
        taken, took = play(machines.url, firm, seconds)
        after = machines.processor_s()
    used = {part: round(after[part] - before[part], 1) for part in after}
    return Played(size, taken, took, used, os.getloadavg()[0])


def row(each: Played) -> str:
    """One line of the table."""
    rate = each.taken.operations / each.seconds
    of_day = rate * DAY_S / (PHONES * A_DAY_OF_A_PHONE)
    times = "".join(f" {each.median(sort):6.0f}/{each.late(sort):6.0f}" for sort in SORTS)
    size = each.size
    return (
        f"{size.servers:7} {size.sites:5} {size.records:7} {rate:8.0f} {each.taken.photos / each.seconds:8.1f} {of_day:6.0f}"
        f"{times}  {each.taken.put_off:7} {len(each.taken.failed):6} {each.load:5.1f}  "
        + ", ".join(f"{part} {share}" for part, share in shares(each).items())
    )


def shares(each: Played) -> dict[str, str]:
    """Of two processors, how many each part kept busy."""
    return {part: f"{used / each.seconds:.2f}" for part, used in each.processor.items()}


HEAD = f"{'servers':>7} {'sites':>5} {'records':>7} {'ops/s':>8} {'photos/s':>8} {'days':>6}" + "".join(
    f" {sort + ' ms':>13}" for sort in SORTS
)


def slopes(title: str, rows: list[Played], of: str) -> str:
    """By which power of the size a median grows, from the smallest to the largest: 0 not at all, 1 in proportion."""
    first, last = rows[0], rows[-1]
    grown = math.log(getattr(last.size, of) / getattr(first.size, of))
    told = {sort: math.log(last.median(sort) / first.median(sort)) / grown for sort in SORTS if first.median(sort)}
    return f"{title}: " + ", ".join(f"{sort} {value:+.2f}" for sort, value in told.items())


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.bench.working_day", description=__doc__)
    parser.add_argument("--seconds", type=float, default=15, help="how long phones play in each row")
    parser.add_argument("--small", action="store_true", help="one row of few phones, to see that it works")
    parser.add_argument("--only", choices=["servers", "sites", "records"], help="only these rows")
    parser.add_argument("--row", type=int, nargs=3, metavar=("SERVERS", "SITES", "RECORDS"), help="only this row")
    asked = parser.parse_args()
    series = {
        "servers": [Size(n, 20, 1000) for n in (1, 2, 4)],
        "sites": [Size(2, n, 1000) for n in (5, 10, 20)],
        "records": [Size(2, 20, n) for n in (250, 1000, 4000)],
    }
    phones = PHONES
    if asked.small:
        series, phones = {"servers": [Size(1, 2, 100)]}, 4
    elif asked.row:
        series = {"servers": [Size(*asked.row)]}
    elif asked.only:
        series = {asked.only: series[asked.only]}
    print(f"{HEAD} put off  failed  load  processors kept busy", flush=True)
    known: dict[Size, Played] = {}
    for sizes in series.values():
        for size in sizes:
            if size not in known:
                known[size] = played(size, asked.seconds, phones)
                print(row(known[size]), flush=True)
                for failure in known[size].taken.failed[:3]:
                    print("   ", failure, flush=True)
    for name, sizes in series.items():
        if len(sizes) > 1:
            print(slopes(f"slope by {name}", [known[size] for size in sizes], name))
    return 1 if any(each.taken.failed for each in known.values()) else 0


if __name__ == "__main__":
    raise SystemExit(main())
