"""Light at points of rooms with few fixtures in rows, ray-traced by a program of general lighting physics.

Kept in `ray_traced_tasks.csv` with input and version. To renew it, in the environment that the first lines of `ray_traced.py` say:

    /tmp/radiance/bin/python tests/published/ray_traced_tasks.py tests/published/ray_traced_tasks.csv

Each room is a box with diffuse surfaces; fixtures are rectangles in its ceiling that shine down by the cosine law, in even rows, their
long side along the room. What arrives at a point of the floor, over what one fixture sends out, is its light [lx/lm].
"""

from __future__ import annotations

import csv
import math
import sys
import tempfile
from collections.abc import Iterator
from importlib.metadata import version
from pathlib import Path

import ray_traced

ROOMS = (
    (6.0, 4.0, 2.0, 0.7, 0.5, 0.2, 3, 2, 1.2, 0.15),
    (6.0, 6.0, 2.4, 0.8, 0.5, 0.2, 1, 1, 1.2, 0.6),
    (12.0, 8.0, 2.1, 0.8, 0.5, 0.2, 4, 3, 1.2, 0.3),
    (20.0, 2.0, 2.6, 0.7, 0.5, 0.2, 6, 1, 1.2, 0.1),
    (8.0, 8.0, 4.0, 0.5, 0.3, 0.2, 4, 4, 1.5, 0.1),
    (4.0, 3.0, 1.8, 0.8, 0.7, 0.3, 2, 1, 1.2, 0.3),
)
"""Length, width, height [m]; reflectances of ceiling, walls, floor; fixtures along and across; their long and short side [m]."""
POINTS = ((0.05, 0.05), (0.05, 0.5), (0.5, 0.05), (0.25, 0.25), (0.25, 0.5), (0.5, 0.25), (0.5, 0.5), (0.125, 0.25))
"""Points of the floor, as parts of its sides: at walls, and within."""
HEADS = (
    "length", "width", "height", "ceiling", "walls", "floor", "along", "across", "long", "short", "x", "y", "lux_per_lm", "options", "version"
)  # fmt: skip


def main(out: str) -> None:
    """Trace every room and write the table."""
    with Path(out).open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(HEADS)
        for room in ROOMS:
            for x, y, found in traced(*room):
                kept = (*room, round(x, 4), round(y, 4), f"{found:.6f}")
                rows.writerow([*kept, ray_traced.OPTIONS, f"pyradiance {version('pyradiance')}"])
            file.flush()


def traced(
    length: float,
    width: float,
    height: float,
    ceiling: float,
    walls: float,
    floor: float,
    along: int,
    across: int,
    long: float,
    short: float,
) -> Iterator[tuple[float, float, float]]:
    """Each point with its light over what one fixture sends out."""
    scene = [*ray_traced.surfaces(length, width, height, (ceiling, walls, floor))]
    for i in range(along):
        for j in range(across):
            x, y = (i + 0.5) * length / along, (j + 0.5) * width / across
            corners = [(-1, -1), (-1, 1), (1, 1), (1, -1)]
            shape = [(x + a * long / 2, y + b * short / 2, height * 0.9999) for a, b in corners]
            scene.append(ray_traced.polygon("lamp", f"lamp{i}.{j}", shape))
    places = [(x * length, y * width) for x, y in POINTS]
    points = "".join(f"{x} {y} {1e-5 * height} 0 0 1\n" for x, y in places)
    with tempfile.TemporaryDirectory() as folder:
        read = ray_traced.light_at(Path(folder), "\n".join(scene), points)
    sent = long * short * math.pi
    for (x, y), light in zip(places, read, strict=True):
        yield x, y, light / sent


if __name__ == "__main__":
    main(sys.argv[1])
