"""The worker of photos, but for one that says 'spin': on that it spends processor until it is stopped."""

from __future__ import annotations

import sys

from spanwalk.services.photos import cleaning

whole = cleaning.clean


def spin(data: bytes, keep_place: bool) -> tuple[cleaning.Told, list[bytes]]:
    while b"spin" in data:
        pass
    return whole(data, keep_place)


if __name__ == "__main__":
    cleaning.PROCESSOR_S = 1
    cleaning.clean = spin
    sys.exit(cleaning.main())
