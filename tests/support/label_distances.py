"""Frames of whole printed labels at distances, as a phone's camera sees them: how far away a label may be. Invented labels.

The camera looks 66° wide (common practice of a phone's main camera, no source); its lens and sensor blur by 0.6 px and add
noise of 3 of 256 (standard deviations). With 1,280 px a row the Letter label then ends at 0.35 m, as was found before.
"""

from __future__ import annotations

import json
import math
import random
import sys
from pathlib import Path

from PIL import Image, ImageFilter

from spanwalk.services.labels.geometry import SHEETS
from spanwalk.services.labels.sheets import label_pdf
from spanwalk.services.labels.symbols import symbol_text
from tests.labels.printed import DPI, URL, cut_out, labels, rendered
from tests.support.hard_frames import WALL, noisy

VIEW_DEGREES = 66
LENS_PX = 0.6
AT_M = {"letter": (0.3, 0.35, 0.4, 0.45, 0.5, 0.6), "a4": (0.45, 0.5, 0.6, 0.7, 0.8)}
OF_EACH = 5


def frames(width: int, seed: int = 13) -> list[tuple[str, str, Image.Image]]:
    """Paper with distance, what the symbol says, and the frame; turned by up to 12°, somewhere in the middle half."""
    height = width * 9 // 16
    focal_px = width / (2 * math.tan(math.radians(VIEW_DEGREES / 2)))
    made = []
    for paper, distances in AT_M.items():
        printed = labels(OF_EACH, release=1)
        page = rendered(label_pdf(printed, URL, SHEETS[paper]), edge_mm=0)
        for metres in distances:
            rng = random.Random(f"{seed} {paper} {metres}")
            for place, each in enumerate(printed):
                label = cut_out(page, SHEETS[paper], place)
                scale = 25.4 / DPI / 1000 / metres * focal_px
                seen = _seen(label, scale, (width, height), rng)
                made.append((f"{paper} {metres:g} m", symbol_text(URL, each.code), seen))
    return made


def _seen(label: Image.Image, scale: float, size: tuple[int, int], rng: random.Random) -> Image.Image:
    """Drawn four times as large, so that a pixel of the camera is the mean of what falls on it."""
    angle = rng.uniform(-12, 12)
    paper = label.point(lambda light: 35 + light * 190 // 255)
    large = paper.resize([round(4 * scale * side) for side in label.size], Image.Resampling.BICUBIC)
    mask = Image.new("L", large.size, 255).rotate(angle, expand=True)
    turned = large.rotate(angle, expand=True, resample=Image.Resampling.BICUBIC)
    wall = Image.new("L", (4 * size[0], 4 * size[1]), WALL)
    at = [
        rng.randint(4 * side // 4, max(4 * side // 4, 4 * side * 3 // 4 - own))
        for side, own in zip(size, turned.size, strict=True)
    ]
    wall.paste(turned, at, mask)
    return noisy(wall.resize(size, Image.Resampling.BOX).filter(ImageFilter.GaussianBlur(LENS_PX)), rng)


def write(folder: Path, width: int) -> None:
    """Frames as `hard_frames` writes them."""
    folder.mkdir(parents=True, exist_ok=True)
    listed = []
    for number, (kind, text, picture) in enumerate(frames(width)):
        (folder / f"{number}.grey").write_bytes(picture.tobytes())
        listed.append({"file": f"{number}.grey", "kind": kind, "text": text})
    told = {"width": width, "height": width * 9 // 16, "frames": listed}
    (folder / "frames.json").write_text(json.dumps(told))


if __name__ == "__main__":
    write(Path(sys.argv[1]), int(sys.argv[2]))
