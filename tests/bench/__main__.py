"""`python -m tests.bench [--json] [name…]`: figures of speed, each a ratio beside a reference of the same run."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable

from tests.bench import (
    archive,
    audit,
    crew_day,
    files,
    first_read,
    floor,
    handover,
    labels,
    large_site,
    many_groups,
    meanwhile,
    open_points,
    opening,
    phone,
    planning,
    remembered,
    server,
    site_order,
)
from tests.bench.figure import Figure, table

FIGURES: dict[str, Callable[[], Figure | list[Figure]]] = {
    "push": server.push_of_5000_operations,
    "push-audit": audit.push_with_and_without,
    "push-postgres": server.push_to_postgres,
    "phones": server.slowest_of_20_phones,
    "fairness": server.slowest_push_without_pause,
    "save": phone.save_of_one_reading,
    "pull": phone.pull_of_5000_records,
    "pull50": phone.pull_of_50_changes,
    "small": phone.bytes_of_small_syncs,
    "open": opening.first_screen,
    "floor": floor.twelve_rooms,
    "handover": handover.report_of_400_rooms,
    "archive": archive.archive_of_400_rooms,
    "labels": labels.labels_of_10000_fixtures,
    "plan": planning.plan_of_the_demo,
    "what-if": planning.what_if_is_weighed,
    "plan20k": many_groups.plan_of_20000_groups,
    "meanwhile": meanwhile.pull_while_a_site_is_planned,
    "open-points": open_points.completeness_of_20000_groups,
    "large-site": large_site.large_site,
    "gather-order": site_order.gathering,
    "best-order": site_order.best_orders,
    "order20k": site_order.order_of_20000_groups,
    "crew-day": crew_day.forty_fixtures,
    "remembered": remembered.one_fixture_of_60000,
    "first-read": first_read.first_read,
    "import20k": files.import_of_20000_rows,
}


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("--json", action="store_true", help="print the figures as JSON")
    parser.add_argument("name", nargs="*", help=f"which figures; without, all of: {', '.join(FIGURES)}")
    asked = parser.parse_args()
    unknown = [name for name in asked.name if name not in FIGURES]
    if unknown:
        parser.error(f"no figure is called {unknown[0]!r}; there are: {', '.join(FIGURES)}")
    made = [FIGURES[name]() for name in asked.name or FIGURES]
    figures = [figure for each in made for figure in (each if isinstance(each, list) else [each])]
    print(json.dumps([f.row() for f in figures], indent=1) if asked.json else table(figures))
    return 0 if all(f.met for f in figures) else 1


if __name__ == "__main__":
    sys.exit(main())
