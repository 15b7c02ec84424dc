"""Make the small archive that is kept of a layout: `python -m tests.archives.keep_one`, once, when a layout is new.

What is kept is never made anew: it is what an old archive was.
"""

from __future__ import annotations

import sys
import tempfile
from hashlib import sha256
from pathlib import Path

from tests.archives.conftest import archive_of
from tests.handover.some_report import a_picture
from tests.open_points.complete_site import make_complete_site
from tests.planning.some_body import DRIVER
from tests.support.releasing import release_seen
from tests.support.server import Client, Server

from spanwalk.services.archives.layout import VERSION

SETTINGS = {
    "units": "inches",
    "coldest_c": 15,
    "hottest_c": 35,
    "light_policy": "keep-a-share-of-todays-light",
    "keep_light_pct": 30,
}


def make(path: Path) -> None:
    """A site of one room, surveyed, released, noted, photographed, closed; its archive into a file."""
    with tempfile.TemporaryDirectory() as folder:
        server = Server(Path(folder) / "data").start()
        try:
            owner = Client(server.url, "owner")
            made = make_complete_site(server)
            hand, site = made.hand, made.hand.site
            hand.make("catalogue_item", site, {"item": "driver", "code": "DRIVER", "offered": True}, driver=DRIVER)
            hand.save(site, "site", settings=SETTINGS)
            hand.save(
                made.room,
                "room",
                ceiling={"ceiling": "lay-in-grid", "access": "ladder"},
                surroundings={"moisture": "dry", "hazardous": "no"},
            )
            picture = a_picture(1)
            name = sha256(picture).hexdigest()
            assert (
                owner.call("PUT", f"/api/sites/{site}/photos/{name}", raw=picture, Content_Type="image/jpeg")[0] < 300
            )
            hand.make("photo", site, {"subject": made.room, "purpose": "room", "sha256": name})
            status, told = release_seen(owner, site)
            assert status == 201, (told, owner.get(f"/api/sites/{site}/groups/{made.group}/plan"))
            assert owner.call("PUT", f"/api/sites/{site}/archived", {"archived": True})[0] == 204
            assert archive_of(owner, site)["state"] == "made"
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(owner.get(f"/api/sites/{site}/archive.zip"))
        finally:
            server.stop()


if __name__ == "__main__":
    target = Path(__file__).parent / "kept" / f"layout-{VERSION}.zip"
    if target.exists():
        sys.exit(f"{target} is kept already")
    make(target)
    print(target, target.stat().st_size)
