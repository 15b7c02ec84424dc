"""How long a phone's pull takes while the server plans a large site in the background, beside the same pull once it is planned."""

from __future__ import annotations

import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from tests.bench.figure import Figure, milliseconds
from tests.planning.invented_site import invented_site
from tests.planning.stored_site import store
from tests.support.installation import PASSWORD, installed
from tests.support.server import Client, Server

GROUPS, IN_A_ROOM = 8_000, 20
PULLS, EACH_S = 60, 0.05
MOST = 3.0
PLANNED_WITHIN_S = 300.0


def pull_while_a_site_is_planned() -> Figure:
    """Medians of a pull of 50 records, asked for every 50 ms by one phone."""
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder) / "data"
        with installed(data) as installation:
            store(installation, invented_site(GROUPS, in_a_room=IN_A_ROOM))
            site = installation.site
        server = Server(data, command="serve").start()
        try:
            client = Client(server.url, "manager", PASSWORD)
            _wait_for(client, site, lambda told: told.get("done", 0) > 0)
            meanwhile, far = _pulls(client, site), _told(client, site)
            _wait_for(client, site, lambda told: "rooms" in told)
            after = _pulls(client, site)
        finally:
            server.stop()
    ours, reference = statistics.median(meanwhile), statistics.median(after)
    notes = (
        f"{far.get('done', 0):,} of {GROUPS:,} groups planned when it was measured",
        f"nine of ten within {statistics.quantiles(meanwhile, n=10)[-1]:.1f} ms, {statistics.quantiles(after, n=10)[-1]:.1f} ms once it is planned",
    )
    name = "pull of 50 records while a site is planned"
    return Figure(name, ours, "the same once it is planned", reference, MOST, 1, notes, 0 < far.get("done", 0) < GROUPS)


def _pulls(client: Client, site: str) -> list[float]:
    def pull() -> None:
        client.get(f"/api/sites/{site}/pull?since=100&limit=50")

    found = []
    for _ in range(PULLS):
        found.append(milliseconds(pull))
        time.sleep(EACH_S)
    return found


def _told(client: Client, site: str) -> dict[str, int]:
    told: dict[str, int] = client.call("GET", f"/api/sites/{site}/completeness")[1]
    return told


def _wait_for(client: Client, site: str, holds: Callable[[dict[str, int]], bool]) -> None:
    end = time.monotonic() + PLANNED_WITHIN_S
    while not holds(_told(client, site)):
        assert time.monotonic() < end, "it was not planned in time"
        time.sleep(0.5)
