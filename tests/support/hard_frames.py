"""A seeded set of camera frames that are hard to read: a printed label's symbol, damaged as on site. Invented labels.

A module is 3 to 6 px wide but for `small`. Strengths go evenly from weak to where a symbol of level Q could still be read
in principle, whatever the decoder: level Q restores a quarter of the codewords (ISO/IEC 18004, from memory), so dirt and
what glare saturates cover a tenth of the symbol at most; focus is off by 0.8 of a module (standard deviation) and the hand
moves by 1.8 modules at most, beyond which neighbours are one. No frame is drawn again because a decoder failed on it.

A burst is what a phone has: several frames of one label held in one place, each a little elsewhere, turned and nearer as a
hand moves (common practice, no source), with its own noise; movement goes another way in each frame, a lamp's mirror image
moves with the phone, dirt, shadow and want of focus stay. Each of its frames is as hard as the single ones.

Seed 13 is the one that the reader was made with, seed 14 the one that nothing was altered for.
"""

from __future__ import annotations

import json
import math
import random
import sys
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import chain
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from spanwalk.rules.codes import LENGTH, make_code
from spanwalk.services.labels.symbols import symbol_of, symbol_text

SIZE = (1280, 720)
SEED = 13
OF_EACH_KIND = 26
IN_BURST, BURSTS_OF_EACH_KIND = 6, 13
HAND_PX, HAND_DEGREES, HAND_NEARER = 3.0, 0.6, 0.01
"""How far a hand moves from frame to frame of a burst (standard deviations)."""
URL = "https://walk.example.org"
PAPER, INK, WALL = 225, 35, 110
QUIET = 4


@dataclass(frozen=True)
class Frame:
    """A frame of a kind of damage, its strength from 0 to 1, and what its symbol says; None: there is none in it."""

    kind: str
    strength: float
    text: str | None
    picture: Image.Image


def _label(text: str, module_px: float) -> Image.Image:
    matrix = np.array(symbol_of(text), dtype=bool)
    cells = np.pad(np.where(matrix, INK, PAPER).astype(np.uint8), QUIET, constant_values=PAPER)
    side = max(8, round(len(cells) * module_px))
    big = Image.fromarray(cells).resize((len(cells) * 16,) * 2, Image.Resampling.NEAREST)
    symbol = big.resize((side, side), Image.Resampling.BOX)
    label = Image.new("L", (2 * side, side), PAPER)
    label.paste(symbol, (0, 0))
    pen = ImageDraw.Draw(label)
    for line in range(4):
        pen.text((side, side * (0.15 + 0.2 * line)), f"K{line} G02 Reading room", fill=INK)
    return label


def _held(label: Image.Image, rng: random.Random, angle: float) -> Image.Image:
    """The label before a wall, where a hand holds the phone."""
    frame = Image.new("L", SIZE, WALL)
    mask = Image.new("L", label.size, 255).rotate(angle, expand=True)
    turned = label.rotate(angle, expand=True, resample=Image.Resampling.BICUBIC)
    left = rng.randint(20, max(21, SIZE[0] - turned.width - 20))
    top = rng.randint(10, max(11, SIZE[1] - turned.height - 10))
    frame.paste(turned, (left, top), mask)
    return frame


def noisy(frame: Image.Image, rng: random.Random, sigma: float = 3.0) -> Image.Image:
    """The frame with a sensor's noise."""
    noise = np.random.default_rng(rng.randrange(2**32)).normal(0, sigma, (frame.height, frame.width))
    return Image.fromarray(np.clip(np.asarray(frame, dtype=float) + noise, 0, 255).astype(np.uint8))


def _blur(frame: Image.Image, strength: float, rng: random.Random, module_px: float) -> Image.Image:
    return frame.filter(ImageFilter.GaussianBlur(module_px * (0.2 + 0.6 * strength)))


def _motion(frame: Image.Image, strength: float, rng: random.Random, module_px: float) -> Image.Image:
    length, angle = module_px * (0.4 + 1.4 * strength), rng.choice((0, 0, 90, 90, 45, 135))
    pixels, sum_ = np.asarray(frame, dtype=float), np.zeros((SIZE[1], SIZE[0]))
    steps = np.linspace(-length / 2, length / 2, 2 * round(length) + 1)
    for step in steps:
        dx, dy = (round(step * f(math.radians(angle))) for f in (math.cos, math.sin))
        sum_ += np.roll(pixels, (dy, dx), (0, 1))
    return Image.fromarray((sum_ / len(steps)).astype(np.uint8))


def _glare(frame: Image.Image, strength: float, rng: random.Random, module_px: float) -> Image.Image:
    """A lamp's mirror image: a bell of light, saturated in the middle, over a part of the symbol."""
    ys, xs = np.mgrid[0 : SIZE[1], 0 : SIZE[0]]
    pixels = np.asarray(frame, dtype=float)
    at = np.argwhere(pixels < (INK + WALL) / 2)
    y, x = at[rng.randrange(len(at))]
    side = 29 * module_px
    # 300 at the middle; what is above 220 saturates ink: within 0.79 of the radius, an ellipse of 0.79² · 1.6 π radius².
    radius = side * math.sqrt((0.01 + 0.09 * strength) / (0.79**2 * 1.6 * math.pi))
    bell = np.exp(-((ys - y) ** 2 + ((xs - x) / 1.6) ** 2) / (2 * radius**2))
    return Image.fromarray(np.clip(pixels + 300 * bell, 0, 255).astype(np.uint8))


def _dirt(frame: Image.Image, strength: float, rng: random.Random, module_px: float) -> Image.Image:
    """Spots of paint and dust, one to three modules wide, over up to a tenth of the symbol."""
    pixels = np.asarray(frame)
    ys, xs = np.nonzero(pixels < (INK + WALL) / 2)
    left, right, top, bottom = xs.min(), xs.max(), ys.min(), ys.max()
    pen, area = ImageDraw.Draw(frame), 0.0
    while area < (0.01 + 0.09 * strength) * (bottom - top) ** 2:
        x, y, radius = rng.randint(left, right), rng.randint(top, bottom), module_px * rng.uniform(0.5, 1.5)
        pen.ellipse((x - radius, y - radius, x + radius, y + radius), fill=rng.choice((30, 90, 200, 235)))
        area += math.pi * radius**2 / 2  # half of the label's width is text
    return frame


def _shadow(frame: Image.Image, strength: float, rng: random.Random, module_px: float) -> Image.Image:
    pixels = np.asarray(frame, dtype=float)
    ys, xs = np.mgrid[0 : SIZE[1], 0 : SIZE[0]]
    angle, middle = rng.uniform(0, math.pi), (SIZE[0] / 2, SIZE[1] / 2)
    side = (xs - middle[0]) * math.cos(angle) + (ys - middle[1]) * math.sin(angle)
    share = 1 - (0.5 + 0.42 * strength) / (1 + np.exp(-side / 12))
    return Image.fromarray((pixels * share).astype(np.uint8))


def _perspective(frame: Image.Image, strength: float, rng: random.Random, module_px: float) -> Image.Image:
    tilt = (0.15 + 0.55 * strength) / SIZE[0]
    middle = SIZE[0] / 2, SIZE[1] / 2
    squeeze = 1 + 0.9 * strength
    data = (squeeze, 0, middle[0] * (1 - squeeze), 0, 1, 0, tilt * rng.choice((-0.5, 0.5)), 0)
    return frame.transform(SIZE, Image.Transform.PERSPECTIVE, data, Image.Resampling.BICUBIC, fillcolor=WALL)


def _contrast(frame: Image.Image, strength: float, rng: random.Random, module_px: float) -> Image.Image:
    share = 0.4 - 0.33 * strength
    return Image.fromarray((90 + (np.asarray(frame, dtype=float) - 90) * share).astype(np.uint8))


def _noise(frame: Image.Image, strength: float, rng: random.Random, module_px: float) -> Image.Image:
    return noisy(frame, rng, 8 + 37 * strength)


def _as_it_is(frame: Image.Image, strength: float, rng: random.Random, module_px: float) -> Image.Image:
    return frame


def _blurred_in_shadow(frame: Image.Image, strength: float, rng: random.Random, module_px: float) -> Image.Image:
    return _shadow(_blur(frame, 0.7 * strength, rng, module_px), 0.7 * strength, rng, module_px)


def _dirty_and_noisy(frame: Image.Image, strength: float, rng: random.Random, module_px: float) -> Image.Image:
    return _noise(_dirt(frame, 0.6 * strength, rng, module_px), 0.5 * strength, rng, module_px)


Damage = Callable[[Image.Image, float, random.Random, float], Image.Image]
DAMAGES: dict[str, Damage] = {
    "blur": _blur,
    "motion": _motion,
    "glare": _glare,
    "dirt": _dirt,
    "shadow": _shadow,
    "perspective": _perspective,
    "low contrast": _contrast,
    "noise": _noise,
    "small": _as_it_is,
    "turned": _as_it_is,
    "blur and shadow": _blurred_in_shadow,
    "dirt and noise": _dirty_and_noisy,
}
EMPTY = "no label"


def hard_frames(of_each: int = OF_EACH_KIND, seed: int = SEED) -> Iterator[Frame]:
    """So many frames of each kind, and as many without a symbol of ours; the same for the same seed."""
    for kind, damage in DAMAGES.items():
        rng = random.Random(f"{seed} {kind}")
        for number in range(of_each):
            strength = number / max(1, of_each - 1)
            text = symbol_text(URL, _code(rng))
            module_px = 3.2 - 1.9 * strength if kind == "small" else rng.uniform(3, 6)
            angle = 180 * strength if kind == "turned" else rng.uniform(-12, 12)
            damaged = damage(_held(_label(text, module_px), rng, angle), strength, rng, module_px)
            yield Frame(kind, strength, text, noisy(damaged, rng))
    yield from without_label(of_each, seed)


@dataclass(frozen=True)
class Burst:
    """Frames of one label, one after another."""

    kind: str
    strength: float
    text: str
    pictures: list[Image.Image]


MOVES_WITH_HAND = {"motion", "glare"}
"""Damage that is another in each frame of a burst."""


def bursts(of_each: int = BURSTS_OF_EACH_KIND, seed: int = SEED) -> Iterator[Burst]:
    """So many bursts of each kind, with the strengths and labels of `hard_frames`."""
    for kind, damage in DAMAGES.items():
        rng = random.Random(f"{seed} burst {kind}")
        for number in range(of_each):
            strength = number / max(1, of_each - 1)
            text = symbol_text(URL, _code(rng))
            module_px = 3.2 - 1.9 * strength if kind == "small" else rng.uniform(3, 6)
            angle = 180 * strength if kind == "turned" else rng.uniform(-12, 12)
            held = _held(_label(text, module_px), rng, angle)
            same = rng.randrange(2**32)
            pictures = []
            for _ in range(IN_BURST):
                if kind in MOVES_WITH_HAND:
                    damaged = damage(held, strength, rng, module_px)
                else:
                    damaged = damage(held.copy(), strength, random.Random(same), module_px)
                pictures.append(noisy(_moved(damaged, rng), rng))
            yield Burst(kind, strength, text, pictures)


def _moved(frame: Image.Image, rng: random.Random) -> Image.Image:
    """The frame as a hand that trembles shows it."""
    angle, nearer = math.radians(rng.gauss(0, HAND_DEGREES)), 1 + rng.gauss(0, HAND_NEARER)
    cosine, sine = math.cos(angle) / nearer, math.sin(angle) / nearer
    x, y = SIZE[0] / 2, SIZE[1] / 2
    right, down = rng.gauss(0, HAND_PX), rng.gauss(0, HAND_PX)
    data = (cosine, sine, x - cosine * x - sine * y + right, -sine, cosine, y + sine * x - cosine * y + down)
    return frame.transform(SIZE, Image.Transform.AFFINE, data, Image.Resampling.BICUBIC, fillcolor=WALL)


FOREIGN = "not ours"


def foreign(number: int, seed: int = SEED) -> Iterator[Frame]:
    """Codes of others, whole and damaged as ours are: addresses on a host of their own, some of them like a label's."""
    import qrcode

    rng = random.Random(f"{seed} {FOREIGN}")
    for each in range(number):
        end = "".join(rng.choice("0123456789ABCDEFGHJKMNPQRSTVWXYZ") for _ in range(9))
        text = rng.choice(
            (f"HTTPS://WALK.EXAMPLE.COM/P/{end}", f"https://example.net/menu?{end}", end + "7", f"WIFI:{end};")
        )
        symbol = qrcode.QRCode(error_correction=rng.randrange(4), border=QUIET, box_size=1)
        symbol.add_data(text)
        symbol.make()
        cells = np.where(np.array(symbol.get_matrix()), INK, PAPER).astype(np.uint8)
        module_px = rng.uniform(3, 6)
        side = round(len(cells) * module_px)
        big = Image.fromarray(cells).resize((len(cells) * 16,) * 2, Image.Resampling.NEAREST)
        frame = _held(big.resize((side, side), Image.Resampling.BOX), rng, rng.uniform(-12, 12))
        damage = rng.choice((_blur, _motion, _glare, _dirt, _dirty_and_noisy, _blurred_in_shadow))
        yield Frame(FOREIGN, 0.0, text, noisy(damage(frame, each / max(1, number - 1), rng, module_px), rng))


def without_label(number: int, seed: int = SEED) -> Iterator[Frame]:
    """Frames with a noisy square and no symbol."""
    rng = random.Random(f"{seed} {EMPTY}")
    noise = np.random.default_rng(rng.randrange(2**32))
    for each in range(number):
        lights = np.clip(noise.normal(128, 20 + 6 * each, (150, 300)), 0, 255).astype(np.uint8)
        yield Frame(EMPTY, 0.0, None, noisy(_held(Image.fromarray(lights), rng, rng.uniform(-12, 12)), rng))


def _code(rng: random.Random) -> str:
    code = None
    while code is None:
        code = make_code(rng.randrange(32) for _ in range(LENGTH))
    return code


def write(folder: Path, frames: Iterable[Frame | Burst]) -> None:
    """Frames as files of lights, one byte a pixel, with `frames.json` that says what they are."""
    listed: list[dict[str, object]] = []
    for number, frame in enumerate(frames):
        pictures = frame.pictures if isinstance(frame, Burst) else [frame.picture]
        files = [f"{number}-{part}.grey" for part in range(len(pictures))]
        for name, picture in zip(files, pictures, strict=True):
            (folder / name).write_bytes(picture.tobytes())
        told = {"files": files} if isinstance(frame, Burst) else {"file": files[0]}
        listed.append({**told, "kind": frame.kind, "text": frame.text})
    (folder / "frames.json").write_text(json.dumps({"width": SIZE[0], "height": SIZE[1], "frames": listed}))


if __name__ == "__main__":
    Path(sys.argv[1]).mkdir(parents=True, exist_ok=True)
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else SEED
    write(Path(sys.argv[1]), chain(hard_frames(seed=seed), bursts(seed=seed), foreign(OF_EACH_KIND, seed)))
