"""Reports made by hand, without a server: as large as wanted, with photos, with texts in any script."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from hashlib import sha256
from io import BytesIO

from PIL import Image

from spanwalk.services.handover.told import (
    FixtureTold,
    GroupTold,
    PhotoTold,
    Report,
    RoomTold,
    SiteTold,
    TestsTold,
    WasteTold,
)
from spanwalk.services.photos.kept import Kept, sealed
from spanwalk.services.photos.photos import THUMBNAIL


def a_picture(number: int) -> bytes:
    """A JPEG of 320 × 240 px, as large as a thumbnail of a real room (about 10 kB), each another."""
    noise = Image.effect_noise((160, 120), 40 + number % 7).resize((320, 240)).convert("RGB")
    out = BytesIO()
    noise.save(out, "JPEG", quality=55, comment=str(number).encode())
    return out.getvalue()


@dataclass
class CountedStore:
    """A store of photos that makes each when it is asked for, and counts."""

    missing: frozenset[str] = frozenset()
    picture: bytes = field(default_factory=lambda: a_picture(1))
    asked: list[str] = field(default_factory=list)

    def get(self, name: str) -> bytes | None:
        """A small picture, another for each name."""
        self.asked.append(name)
        if not name.endswith(THUMBNAIL) or name.removesuffix(THUMBNAIL) in self.missing:
            return None
        return sealed(Kept(self.picture))

    def put(self, name: str, data: bytes) -> None:
        """Nothing is put."""

    def has(self, name: str) -> bool:
        """Whether it is there."""
        return name not in self.missing

    def drop(self, name: str) -> None:
        """Nothing is dropped."""

    def names(self) -> Iterator[str]:
        """None are told."""
        return iter(())


def photo(number: int, arrived: bool = True) -> PhotoTold:
    """A photo after the work on a fixture."""
    name = sha256(str(number).encode()).hexdigest()
    return PhotoTold(name, number % 2 == 1, number % 9 + 1, "2026-04-02", "", arrived)


def fixture(position: int, state: str = "done") -> FixtureTold:
    """A fixture as released."""
    items = "2 × TERN-4; 1 × HERON-30, 700 mA"
    return FixtureTold(position, state, "0000 016J D", items, items, True, "700", 1, "2026-04-02", False)


def a_report(
    rooms: int = 1, fixtures: int = 2, photos: int = 0, name: str = "Old Cannery", room: str = "Loft"
) -> Report:
    """A report of so many rooms with so many fixtures and photos each, all done."""
    told = tuple(
        RoomTold(
            id=str(number),
            name=f"{room} {number}",
            floor_name="Floor",
            groups=(
                GroupTold(
                    id=f"g{number}",
                    mark="K1",
                    title="2 × 4 ft recessed",
                    note="",
                    released="2 × TERN-4, HERON-30 at 700 mA",
                    release=1,
                    fixtures=tuple(fixture(each) for each in range(1, fixtures + 1)),
                    energy=None,
                    cost=None,
                    saving_year=None,
                    photos=tuple(photo(number * photos + each) for each in range(photos)),
                ),
            ),
            light=(),
        )
        for number in range(rooms)
    )
    return Report(
        site=SiteTold(name, "", "", "", ""),
        made_on="2026-04-03",
        inches=True,
        releases=(),
        rooms=told,
        groups_left_out=0,
        fixtures_left_out=0,
        sums=None,
        money=None,
        assumptions=(),
        waste=WasteTold({}, {}, {}, 0),
        containers=(),
        tests=TestsTold(0, 0, (), (), ()),
        cautions=(),
        sources=(),
        open=(),
    )
