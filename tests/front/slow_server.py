"""`spanwalk serve` with one address that answers once a file is there: `slow_server.py DATA PORT FILE DRAIN_S`.

Where a file `plans` lies beside that file, it says of every site that it plans it, too.
"""

from __future__ import annotations

import sys
import time
from contextlib import ExitStack
from pathlib import Path

from flask import Flask
from sqlalchemy import select

from spanwalk.app import create_app
from spanwalk.config import read_settings
from spanwalk.services.planning.under_way import claimed
from spanwalk.storage.database import reading
from spanwalk.storage.tables import Site
from spanwalk.web.server import serving

CLAIMS = ExitStack()


def with_slow(app: Flask, until: Path) -> Flask:
    (until.parent / "asked").unlink(missing_ok=True)

    def slow() -> str:
        if (until.parent / "plans").exists():
            with reading() as session:
                sites = session.execute(select(Site.id)).scalars().all()
            for site_id in sites:
                CLAIMS.enter_context(claimed(site_id))
        (until.parent / "asked").touch()
        while not until.exists():
            time.sleep(0.02)
        return "finished"

    app.add_url_rule("/api/slow", view_func=slow)
    return app


if __name__ == "__main__":
    data, port, until, drain_s = sys.argv[1:]
    serving.DRAIN_S = float(drain_s)  # type: ignore[assignment]
    serving.serve(with_slow(create_app(read_settings({}, Path(data))), Path(until)), "127.0.0.1", int(port))
