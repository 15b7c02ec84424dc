"""Pages that fill from the top down: headings with bookmarks, paragraphs, tables that go on overleaf, small pictures.

The text is drawn in the embedded font of the labels and can be searched; `tags` says what each piece is, for screen readers.
"""

from __future__ import annotations

import struct
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from io import BytesIO

from reportlab import rl_config
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfdoc import PDFError
from reportlab.pdfbase.pdfutils import readJPEGInfo
from reportlab.pdfgen.canvas import Canvas

from spanwalk.services.handover.tags import HEAD_OF_COLUMN, Tags, meant_by, read_instead
from spanwalk.services.labels.typesetting import BOLD, FONT, LEADING, printable, ready, width_of, wrapped
from spanwalk.words import reading_language

MARGIN = 15 * mm
FOOT = 8 * mm
TEXT_PT, SMALL_PT, TABLE_PT = 9.5, 7.5, 7.5
HEAD_PT = {1: 15.0, 2: 11.5, 3: 9.5}
CELL_PAD = 1.6
PDF_VERSION = (1, 5)
LINES_MOST = 40
"""Of one cell or paragraph on a page; what is longer ends in '…', and stands in full in the workbook."""
INK, FAINT, RULE = (0.0, 0.0, 0.0), (0.33, 0.33, 0.33), (0.7, 0.7, 0.7)
# A picture is a quarter larger as letters, which no reader of today needs.
rl_config.useA85 = 0


@dataclass(frozen=True)
class Picture:
    """A small picture with what is said below it; `jpeg` fetches it when it is drawn, and has None where there is none."""

    name: str
    caption: str
    jpeg: Callable[[], bytes | None]


class _Jpeg:
    """A JPEG as the library takes one without decoding it: what it is called, and a file of it."""

    def __init__(self, name: str, data: bytes) -> None:
        self.name, self.data = name, data

    def __str__(self) -> str:
        return self.name

    def jpeg_fh(self) -> BytesIO:
        return BytesIO(self.data)


class Paper:
    """A document that is written from the top down.

    Parameters
    ----------
    title : str
        Title of the document.
    inches : bool
        Whether the paper is Letter; else it is A4.
    foot : callable
        The line at the foot of a page, told its number.
    lying : bool
        Whether pages lie on their long side.
    """

    def __init__(self, title: str, inches: bool, foot: Callable[[int], str], lying: bool = False) -> None:
        ready()
        short, long = LETTER if inches else A4
        self.width, self.height = (long, short) if lying else (short, long)
        self.canvas = Canvas(
            BytesIO(),
            pagesize=(self.width, self.height),
            pageCompression=1,
            invariant=1,
            lang=reading_language(),
            pdfVersion=PDF_VERSION,
            initialFontName=FONT,  # else each page names a font that is not in the file
        )
        self.canvas.setTitle(title)
        self.canvas.setViewerPreference("DisplayDocTitle", "true")
        self.tags = Tags(self.canvas)
        self.inner = self.width - 2 * MARGIN
        self._foot, self._page, self._marks = foot, 1, 0
        self._sizes: dict[str, tuple[int, int]] = {}
        self.picture_bytes = 0
        self.has_squares = False
        self.y = self.height - MARGIN

    @property
    def page(self) -> int:
        """Number of the page that is being written."""
        return self._page

    def finished(self) -> bytes:
        """The whole document."""
        self._end_page()
        return self.tags.finished()

    def _end_page(self) -> None:
        with self.tags.artifact():
            self.canvas.setFillColorRGB(*FAINT)
            self.canvas.setFont(FONT, SMALL_PT)
            text = printable(self._foot(self._page))
            self.canvas.drawString(MARGIN, FOOT, text)
            self.canvas.setFillColorRGB(*INK)
        self.canvas.showPage()
        self.tags.page_ends()

    def new_page(self) -> None:
        """Go on overleaf."""
        self._end_page()
        self._page += 1
        self.y = self.height - MARGIN

    def need(self, points: float) -> None:
        """Go on overleaf unless so much is left on this page [pt]."""
        if self.y - points < MARGIN and self.y < self.height - MARGIN:
            self.new_page()

    def gap(self, points: float) -> None:
        """Leave some room [pt]."""
        self.y -= points

    def heading(self, text: str, level: int = 1, keep: float = 60.0) -> None:
        """A heading, in the list of bookmarks too; it stays with so much of what follows [pt]."""
        size = HEAD_PT[level]
        lines = lines_of(text, BOLD, size, self.inner)
        self.need(len(lines) * size * LEADING + keep)
        if self.y < self.height - MARGIN:
            self.gap(size * 0.7)
        if level < 3:
            self._mark(text, level)
        with self.tags.element(f"H{level}", self._meant(text)):
            self._lines(lines, BOLD, size, MARGIN)
        self.gap(size * 0.25)

    def _meant(self, text: str) -> str:
        """What is to be read where letters of a text cannot be drawn; that there are such is noted."""
        meant = meant_by(text)
        self.has_squares = self.has_squares or bool(meant)
        return meant

    def _mark(self, text: str, level: int) -> None:
        self._marks += 1
        key = f"mark{self._marks}"
        self.canvas.bookmarkHorizontal(key, 0, self.y)
        self.canvas.addOutlineEntry(printable(text), key, level - 1, closed=level == 1)

    def say(self, text: str, bold: bool = False, size: float = TEXT_PT, bullet: bool = False) -> None:
        """A paragraph."""
        font, indent = BOLD if bold else FONT, 10.0 if bullet else 0.0
        lines = lines_of(text, font, size, self.inner - indent)
        self.need(min(len(lines), 3) * size * LEADING)
        if bullet:
            with self.tags.artifact():
                self.canvas.setFont(FONT, size)
                self.canvas.drawString(MARGIN, self.y - size, "•")
        meant = self._meant(text)
        with self.tags.item(meant) if bullet else self.tags.element("P", meant, drawn=False):
            self._flowing(lines, font, size, MARGIN + indent)
        self.gap(size * 0.35)

    def _flowing(self, lines: Sequence[str], font: str, size: float, x: float) -> None:
        """Lines that go on overleaf where a page ends; those of one page are one piece of what is open."""
        rest = list(lines)
        while rest:
            self.need(size * LEADING)
            here = max(1, int((self.y - MARGIN) / (size * LEADING)))
            with self.tags.more_of_it():
                self._lines(rest[:here], font, size, x)
            rest = rest[here:]

    def _lines(self, lines: Sequence[str], font: str, size: float, x: float) -> None:
        self.canvas.setFont(font, size)
        for line in lines:
            self.y -= size * LEADING
            self.canvas.drawString(x, self.y + size * (LEADING - 1), line)

    def table(
        self,
        heads: Sequence[str],
        rows: Sequence[Sequence[str]],
        shares: Sequence[float],
        numbers: Collection[int] = (),
    ) -> None:
        """A table that goes on overleaf with its heads; `shares` of the width by column, `numbers`: columns set to the right."""
        widths = [self.inner * share / sum(shares) for share in shares]
        head = self._cells(heads, widths, BOLD)
        self.need(_row_height(head) + 3 * TABLE_PT * LEADING)
        with self.tags.element("Table", drawn=False):
            self._row(head, heads, widths, numbers, BOLD)
            for row in rows:
                cells = self._cells(row, widths, FONT)
                if self.y - _row_height(cells) < MARGIN:
                    self.new_page()
                    with self.tags.artifact():
                        self._draw_row(head, widths, numbers, BOLD)
                self._row(cells, row, widths, numbers, FONT)
        self.gap(TABLE_PT * 0.8)

    def _cells(self, texts: Sequence[str], widths: Sequence[float], font: str) -> list[list[str]]:
        return [lines_of(text, font, TABLE_PT, width - 2 * CELL_PAD) for text, width in zip(texts, widths, strict=True)]

    def _row(
        self,
        cells: list[list[str]],
        texts: Sequence[str],
        widths: Sequence[float],
        numbers: Collection[int],
        font: str,
    ) -> None:
        """A row, each cell an element of its own."""
        kind, more = ("TH", HEAD_OF_COLUMN) if font == BOLD else ("TD", "")
        x = MARGIN
        with self.tags.element("TR", drawn=False):
            for column, (lines, text, width) in enumerate(zip(cells, texts, widths, strict=True)):
                with self.tags.element(kind, more + self._meant(text)):
                    self._cell(lines, x, width, column in numbers, font)
                x += width
        with self.tags.artifact():
            self._rule(_row_height(cells), font)

    def _draw_row(self, cells: list[list[str]], widths: Sequence[float], numbers: Collection[int], font: str) -> None:
        """A row that is drawn again and not read again."""
        x = MARGIN
        for column, (lines, width) in enumerate(zip(cells, widths, strict=True)):
            self._cell(lines, x, width, column in numbers, font)
            x += width
        self._rule(_row_height(cells), font)

    def _cell(self, lines: Sequence[str], x: float, width: float, is_number: bool, font: str) -> None:
        self.canvas.setFont(font, TABLE_PT)
        y = self.y - CELL_PAD
        for line in lines:
            y -= TABLE_PT * LEADING
            at = y + TABLE_PT * (LEADING - 1)
            if is_number:
                self.canvas.drawRightString(x + width - CELL_PAD, at, line)
            else:
                self.canvas.drawString(x + CELL_PAD, at, line)

    def _rule(self, height: float, font: str) -> None:
        self.y -= height
        self.canvas.setLineWidth(0.8 if font == BOLD else 0.3)
        self.canvas.setStrokeColorRGB(*(INK if font == BOLD else RULE))
        self.canvas.line(MARGIN, self.y, MARGIN + self.inner, self.y)

    def pictures(self, pictures: Sequence[Picture], across: int, height: float, missing: str) -> None:
        """Small pictures side by side, `across` in a row, each at most so high [pt]; `missing` is said where there is none."""
        width = self.inner / across
        for start in range(0, len(pictures), across):
            row = pictures[start : start + across]
            captions = [lines_of(each.caption, FONT, SMALL_PT, width - 6)[:3] for each in row]
            below = max(len(each) for each in captions) * SMALL_PT * LEADING + 6
            self.need(height + below)
            for place, (each, caption) in enumerate(zip(row, captions, strict=True)):
                self._picture(each, caption, MARGIN + place * width, width - 6, height, missing)
            self.y -= height + below

    def _picture(
        self, picture: Picture, caption: Sequence[str], x: float, width: float, height: float, missing: str
    ) -> None:
        size = self._size(picture)
        said = missing if size is None else picture.caption or picture.name
        with self.tags.element("Figure", read_instead(said)):
            if size is None:
                self.canvas.setStrokeColorRGB(*RULE)
                self.canvas.rect(x, self.y - height, width, height)
                self.canvas.setFont(FONT, SMALL_PT)
                self.canvas.drawString(x + 4, self.y - height / 2, lines_of(missing, FONT, SMALL_PT, width - 8)[0])
            else:
                scale = min(width / size[0], height / size[1])
                self.canvas.drawImage(self._held, x, self.y - size[1] * scale, size[0] * scale, size[1] * scale)
        if not any(caption):
            return
        with self.tags.element("P"):
            self.canvas.setFont(FONT, SMALL_PT)
            for place, line in enumerate(caption, 1):
                self.canvas.drawString(x, self.y - height - place * SMALL_PT * LEADING, line)

    def figure(self, said: str, draw: Callable[[], None]) -> None:
        """What is drawn by somebody else: one picture, and what is read in its place."""
        with self.tags.element("Figure", read_instead(said)):
            draw()

    def _size(self, picture: Picture) -> tuple[int, int] | None:
        """Width and height [px]; fetched once, then only named."""
        self._held = _Jpeg(picture.name, b"")
        if picture.name not in self._sizes:
            data = picture.jpeg()
            size = None if data is None else jpeg_size(data)
            if data is None or size is None:
                return None
            self._held = _Jpeg(picture.name, data)
            self._sizes[picture.name] = size
            self.picture_bytes += len(data)
        return self._sizes[picture.name]


def numbered(drawn: Callable[[int], Paper]) -> bytes:
    """A document whose pages say of how many they are: drawn once to count them, and once with their number.

    Parameters
    ----------
    drawn : callable
        Draws the whole, told the number of pages; 0 while they are counted.
    """
    return drawn(drawn(0).page).finished()


def jpeg_size(data: bytes) -> tuple[int, int] | None:
    """Width and height that the header of a JPEG tells [px]; None where it is none."""
    try:
        width, height, *_ = readJPEGInfo(BytesIO(data))
    except (PDFError, OSError, ValueError, struct.error):
        return None
    return int(width), int(height)


def _row_height(cells: Sequence[Sequence[str]]) -> float:
    return max(len(lines) for lines in cells) * TABLE_PT * LEADING + 2 * CELL_PAD


def lines_of(text: str, font: str, size: float, width: float) -> list[str]:
    """A text in lines of at most so many points; words that are longer than a line are broken."""
    return wrapped(" ".join(_broken(text, font, size, width)), font, size, width, LINES_MOST) or [""]


def _broken(text: str, font: str, size: float, width: float) -> Iterator[str]:
    for word in printable(text).split(" "):
        rest = word
        while width_of(rest, font, size) > width and len(rest) > 1:
            taken = len(rest)
            while taken > 1 and width_of(rest[:taken], font, size) > width:
                taken -= 1
            yield rest[:taken]
            rest = rest[taken:]
        yield rest


__all__ = ["FONT", "MARGIN", "Paper", "Picture", "jpeg_size", "lines_of"]
