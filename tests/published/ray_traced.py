"""Rooms ray-traced by a program of general lighting physics, kept in `ray_traced.csv` with input and version.

To renew them, in an environment of its own (the package is large and no test needs it):

    python -m venv /tmp/radiance && /tmp/radiance/bin/pip install pyradiance
    /tmp/radiance/bin/python tests/published/ray_traced.py tests/published/ray_traced.csv

Each room is a box with diffuse surfaces; small square lamps, an even grid of them, shine down from the ceiling by the cosine
law. What arrives on the floor, over what the lamps send out, is the utilisation. It takes some minutes on one core.
"""

from __future__ import annotations

import csv
import math
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path

ROOMS = (
    (6, 6, 2.4, 0.8, 0.5, 0.2),
    (5, 5, 5, 0.7, 0.5, 0.2),
    (3, 3, 3, 0.8, 0.7, 0.3),
    (20, 2, 2.5, 0.7, 0.5, 0.2),
    (10, 8, 2, 0.8, 0.5, 0.2),
    (3, 2, 2, 0.7, 0.5, 0.2),
    (12, 3, 4, 0.5, 0.3, 0.2),
    (4, 4, 3, 0.8, 0.7, 0.2),
)
"""Length, width, height [m]; reflectances of ceiling, walls, floor."""
GRID = 12
"""Points of the floor along each side."""
LAMPS_ACROSS = 12
LAMP_SIDE = 0.02
"""Of the spacing of lamps: they cover so little of the ceiling that it gives back as if they were not there."""
OPTIONS = "-h -I -ab 16 -aa 0 -as 0 -ad 64 -lr -16 -lw 2e-3 -dj 0 -dt 0 -dc 1 -ds 0"
"""No interpolation between points, light followed through up to 16 reflections, each lamp seen without a draw."""
HEADS = ("length", "width", "height", "ceiling", "walls", "floor", "utilisation", "options", "version")


def main(out: str) -> None:
    """Trace every room and write the table."""
    with Path(out).open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(HEADS)
        for room in ROOMS:
            found = utilisation(*room)
            rows.writerow([*room, f"{found:.5f}", OPTIONS, f"pyradiance {version('pyradiance')}"])
            file.flush()


def utilisation(length: float, width: float, height: float, ceiling: float, walls: float, floor: float) -> float:
    """Share of the lamps' light that arrives on the floor."""
    shape = math.sqrt(length / width)
    along, across = max(6, round(LAMPS_ACROSS * shape)), max(6, round(LAMPS_ACROSS / shape))
    side = LAMP_SIDE * min(length / along, width / across)
    scene = "\n".join(_scene(length, width, height, (ceiling, walls, floor), (along, across), side))
    places = [(at + 0.5) / GRID for at in range(GRID)]
    points = "".join(f"{x * length} {y * width} {1e-5 * height} 0 0 1\n" for x in places for y in places)
    with tempfile.TemporaryDirectory() as folder:
        read = light_at(Path(folder), scene, points)
    sent = along * across * side**2 * math.pi
    return sum(read) / len(read) * length * width / sent


def light_at(folder: Path, scene: str, points: str) -> list[float]:
    """What arrives at points of a scene, each a line of place and direction; a folder to work in."""
    (folder / "room.rad").write_text(scene + "\n", encoding="utf-8")
    octree = _run(["oconv", f"{folder}/room.rad"], b"")
    (folder / "room.oct").write_bytes(octree)
    traced = _run(["rtrace", *OPTIONS.split(), f"{folder}/room.oct"], points.encode())
    return [float(line.split()[0]) for line in traced.decode().splitlines() if line.strip()]


def surfaces(length: float, width: float, height: float, shares: tuple[float, float, float]) -> Iterator[str]:
    """A box and the stuff that lamps are of; what each of its ceiling, walls and floor gives back."""
    for name, share in zip(("ceiling", "wall", "floor"), shares, strict=True):
        yield f"void plastic {name} 0 0 5 {share} {share} {share} 0 0"
    yield "void light lamp 0 0 3 1 1 1"
    low = [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]
    yield polygon("floor", "under", [(x, y, 0) for x, y in low])
    yield polygon("ceiling", "over", [(x, y, height) for x, y in reversed(low)])
    for at, ((x, y), (u, v)) in enumerate(zip(low, [*low[1:], low[0]], strict=True)):
        yield polygon("wall", f"wall{at}", [(x, y, 0), (x, y, height), (u, v, height), (u, v, 0)])


def _scene(
    length: float,
    width: float,
    height: float,
    shares: tuple[float, float, float],
    lamps: tuple[int, int],
    side: float,
) -> Iterator[str]:
    yield from surfaces(length, width, height, shares)
    for i in range(lamps[0]):
        for j in range(lamps[1]):
            x, y = (i + 0.5) * length / lamps[0], (j + 0.5) * width / lamps[1]
            corners = [(-1, -1), (-1, 1), (1, 1), (1, -1)]
            yield polygon(
                "lamp", f"lamp{i}.{j}", [(x + a * side / 2, y + b * side / 2, height * 0.9999) for a, b in corners]
            )


def polygon(material: str, name: str, points: list[tuple[float, float, float]]) -> str:
    """A polygon of a scene, seen from the side from which its points go round against the clock."""
    numbers = " ".join(f"{each:.9g}" for point in points for each in point)
    return f"{material} polygon {name} 0 0 {3 * len(points)} {numbers}"


def _run(command: list[str], given: bytes) -> bytes:
    spec = find_spec("pyradiance")
    if spec is None or not spec.submodule_search_locations:
        raise SystemExit("pyradiance is not installed here; see the first lines of this file")
    package = Path(next(iter(spec.submodule_search_locations)))
    where = {**os.environ, "RAYPATH": str(package / "lib")}
    program = str(package / "bin" / command[0])
    return subprocess.run([program, *command[1:]], input=given, capture_output=True, env=where, check=True).stdout


if __name__ == "__main__":
    main(sys.argv[1])
