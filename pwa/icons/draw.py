"""Draws the page's icons: two sockets, the bar between them and the gap at each end. `python pwa/icons/draw.py`."""

from pathlib import Path

from PIL import Image, ImageDraw

PAPER, INK, BAR = "#F6F4EE", "#1B2226", "#0B5563"
OVERSAMPLING = 4


def draw(size_px: int, share: float) -> Image.Image:
    """An icon of `size_px`; the drawing takes `share` of its width (a maskable icon needs room around it)."""
    side = size_px * OVERSAMPLING
    image = Image.new("RGB", (side, side), PAPER)
    pen = ImageDraw.Draw(image)
    unit = side * share / 100

    def box(left: float, top: float, right: float, bottom: float, fill: str, corner: float = 0) -> None:
        middle = side / 2
        edges = [middle + value * unit for value in (left, top, right, bottom)]
        pen.rounded_rectangle(edges, radius=corner * unit, fill=fill)

    for sign in (-1, 1):
        outer, inner = sorted((sign * 50, sign * 40))
        box(outer, -26, inner, 14, INK, 2)
    box(-34, -13, 34, 1, BAR, 2)
    for step in range(9):
        tall = 12 if step % 4 == 0 else 8 if step % 2 == 0 else 5
        at = -40 + step * 10
        box(at - 1, 36 - tall, at + 1, 36, INK)
    box(-41, 34, 41, 36.5, INK)
    return image.resize((size_px, size_px), Image.Resampling.LANCZOS)


if __name__ == "__main__":
    folder = Path(__file__).parent
    for name, size_px, share in (
        ("icon-192.png", 192, 0.82),
        ("icon-512.png", 512, 0.82),
        ("maskable-512.png", 512, 0.6),
        ("apple-touch-icon.png", 180, 0.76),
    ):
        draw(size_px, share).save(folder / name, optimize=True)
