"""What is asked of a server that runs as the unit: sign in, make a site, keep a photo, read a table; each in a line that says how it went."""

from __future__ import annotations

import hashlib
import time

from tests.photos.test_taking_photos_in import jpeg
from tests.support.server import Client

URL = "http://127.0.0.1:8000"
WAIT_S = 60


def main() -> None:
    """Ask, and print."""
    end = time.monotonic() + WAIT_S
    while True:
        try:
            print("ready", Client(URL).get("/api/ready")["ready"], flush=True)
            break
        except OSError:
            assert time.monotonic() < end
            time.sleep(0.5)
    owner = Client(URL, "owner")
    site = owner.call("POST", "/api/sites", {"name": "Old Cannery"})[1]["id"]
    data = jpeg()
    at = f"/api/sites/{site}/photos/{hashlib.sha256(data).hexdigest()}"
    print("photo", owner.call("PUT", at, raw=data)[0], flush=True)
    rooms = b"Floor,Room number,Room name\nGround,G01,Hall\n"
    status, told = owner.call("POST", f"/api/sites/{site}/imports?kind=rooms&name=rooms.csv", raw=rooms)
    print("table", status, told.get("code") if isinstance(told, dict) else "", flush=True)


if __name__ == "__main__":
    main()
