"""Pictures for the demo's photos: drawn, never photographed, each marked as invented."""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO

from PIL import Image, ImageDraw, ImageFont

SIZE_PX = (1600, 1200)
JPEG_QUALITY = 82
PAPER, STEEL, DARK, LAMP, WARN = "#e9e4d8", "#9aa3a8", "#2e3438", "#f7f3c9", "#a63d2f"

Draw = ImageDraw.ImageDraw


def picture(name: str) -> bytes:
    """One drawn picture as JPEG.

    Raises
    ------
    KeyError
        No drawing has that name.
    """
    image = Image.new("RGB", SIZE_PX, PAPER)
    draw = ImageDraw.Draw(image)
    DRAWINGS[name](draw)
    _write(draw, (40, SIZE_PX[1] - 80), "drawn for the demo: invented", 40, WARN)
    buffer = BytesIO()
    image.save(buffer, "JPEG", quality=JPEG_QUALITY)
    return buffer.getvalue()


def _write(draw: Draw, at: tuple[int, int], text: str, size: int = 52, fill: str = DARK) -> None:
    draw.text(at, text, fill=fill, font=ImageFont.load_default(size))


def _box(draw: Draw, left: int, top: int, right: int, bottom: int, fill: str = STEEL) -> None:
    draw.rectangle((left, top, right, bottom), fill=fill, outline=DARK, width=4)


def _lamp(draw: Draw, y: int, thickness: int, left: int = 180, right: int = 1420) -> None:
    """A lamp between its two sockets."""
    _box(draw, left - 40, y - thickness, left, y + thickness, DARK)
    _box(draw, right, y - thickness, right + 40, y + thickness, DARK)
    draw.rounded_rectangle(
        (left + 6, y - thickness // 2, right - 6, y + thickness // 2), 12, fill=LAMP, outline=DARK, width=3
    )


def _dimension(draw: Draw, y: int, left: int, right: int, text: str) -> None:
    draw.line((left, y, right, y), fill=WARN, width=5)
    for x in (left, right):
        draw.line((x, y - 24, x, y + 24), fill=WARN, width=5)
    _write(draw, ((left + right) // 2 - 120, y - 80), text, 52, WARN)


def _fixture(draw: Draw) -> None:
    _box(draw, 90, 220, 1510, 900, "#cfd4d6")
    _box(draw, 420, 510, 1180, 610)
    _write(draw, (640, 530), "ballast cover")
    _lamp(draw, 360, 50)
    _lamp(draw, 760, 50)


def _label(draw: Draw) -> None:
    _box(draw, 160, 240, 1440, 900, "#f4f1e6")
    for row, text in enumerate(
        (
            "BALLAST, TWO LAMPS 96 IN",
            "277 V   60 Hz   0.65 A",
            "RAPID? NO.  INSTANT START",
            "TYPE: SALTMERE 2-96 (INVENTED)",
            "DATE:  (worn away)",
        )
    ):
        _write(draw, (220, 290 + row * 110), text, 60)


def _space(draw: Draw) -> None:
    _box(draw, 200, 380, 1400, 470, "#f4f1e6")
    _box(draw, 160, 340, 1440, 380)
    _box(draw, 160, 470, 1440, 510)
    _dimension(draw, 640, 200, 1400, "330 mm")
    draw.line((1480, 380, 1480, 470), fill=WARN, width=5)
    _write(draw, (1370, 280), "23 mm", 52, WARN)


def _feeds(draw: Draw) -> None:
    _box(draw, 90, 400, 1510, 900, "#cfd4d6")
    for x, text in ((380, "feed A"), (1120, "feed B")):
        draw.line((x, 120, x, 560), fill=DARK, width=18)
        _box(draw, x - 60, 560, x + 60, 660, "#f4f1e6")
        _write(draw, (x + 40, 160), text)


def _etch(draw: Draw) -> None:
    draw.rounded_rectangle((60, 420, 1300, 760), 60, fill=LAMP, outline=DARK, width=5)
    _box(draw, 1300, 420, 1420, 760)
    for y in (520, 660):
        _box(draw, 1420, y - 14, 1520, y + 14, DARK)
    _write(draw, (420, 500), "F40  T12  cool white", 70)
    _write(draw, (420, 620), "40 W", 70)


def _bent(draw: Draw) -> None:
    draw.polygon(((180, 300), (280, 300), (360, 800), (260, 800)), fill=DARK)
    _box(draw, 1240, 300, 1340, 800, DARK)
    _dimension(draw, 880, 320, 1240, "1193 mm")
    draw.line((280, 260, 280, 840), fill=WARN, width=3)


def _corridor(draw: Draw) -> None:
    draw.polygon(((0, 0), (640, 480), (640, 700), (0, 1200)), fill="#d8d2c2", outline=DARK)
    draw.polygon(((1600, 0), (960, 480), (960, 700), (1600, 1200)), fill="#d8d2c2", outline=DARK)
    for scale in (0.3, 0.5, 0.75, 1.0):
        half, y = int(260 * scale), int(480 - 430 * scale)
        _box(draw, 800 - half, y, 800 + half, y + int(60 * scale), LAMP)
    _write(draw, (680, 540), "EXIT", 80, "#2f7a4b")


def _door(draw: Draw) -> None:
    _box(draw, 480, 100, 1120, 1080, "#6d5a45")
    draw.ellipse((980, 560, 1060, 640), fill="#c9a449", outline=DARK, width=4)
    _box(draw, 980, 670, 1060, 790, DARK)
    _write(draw, (600, 260), "U08", 110, PAPER)


def _cove(draw: Draw) -> None:
    draw.polygon(((0, 0), (1600, 0), (1600, 200), (0, 420)), fill="#f6f2e4")
    _box(draw, 90, 620, 1510, 760, "#cfd4d6")
    _lamp(draw, 560, 28, 220, 1360)


DRAWINGS: dict[str, Callable[[Draw], None]] = {
    "fixture": _fixture,
    "label": _label,
    "space": _space,
    "feeds": _feeds,
    "lamp": _etch,
    "bent": _bent,
    "corridor": _corridor,
    "door": _door,
    "cove": _cove,
}
