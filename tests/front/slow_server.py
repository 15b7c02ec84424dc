"""`spanwalk serve` with one address that answers once a file is there: `slow_server.py DATA PORT FILE DRAIN_S`."""

from __future__ import annotations

import sys
import time
from pathlib import Path

from flask import Flask

from spanwalk.app import create_app
from spanwalk.config import read_settings
from spanwalk.web.server import serving


def with_slow(app: Flask, until: Path) -> Flask:
    (until.parent / "asked").unlink(missing_ok=True)

    def slow() -> str:
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
