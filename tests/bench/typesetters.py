"""The pages of a hand-over report drawn by three typesetters: time, memory, bytes, and whether the file is tagged.

Two of them are no part of the project. In an environment of its own, thrown away afterwards:

    .venv/bin/python tests/bench/typesetters.py write /tmp/pages 400
    python3 -m venv /tmp/typesetters && /tmp/typesetters/bin/pip install fpdf2 weasyprint pypdfium2
    for each in reportlab fpdf2 weasyprint; do PYTHON tests/bench/typesetters.py draw /tmp/pages $each; done

`PYTHON` is the project's own for reportlab. What is drawn is what one report drew: reportlab and fpdf2 put the same texts, lines
and pictures at the same places; weasyprint, which places by itself, gets the lines of a page as a table, and the pictures below.
"""

from __future__ import annotations

import html
import json
import re
import sys
import time
from collections import defaultdict
from pathlib import Path

DRAWN = ("drawString", "drawRightString", "setFont", "line", "rect", "drawImage", "showPage")
PAGE_HEIGHT_PT = 792.0
Call = tuple[str, list[object]]
Page = list[Call]


def write(folder: Path, rooms: int) -> None:
    """Draw one report by us, and write down what was drawn: calls by page, and the pictures beside them."""
    sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parents[2] / "server")]
    from tests.bench import handover

    handover.ROOMS = rooms
    folder.mkdir(parents=True, exist_ok=True)
    pages: list[Page] = [[]]
    pictures: dict[str, str] = {}
    for name, args, _ in handover.recorded().calls:
        if name == "showPage":
            pages.append([])
        elif name == "drawImage":
            pages[-1].append((name, [_kept(folder, pictures, args[0]), *map(float, args[1:5])]))  # type: ignore[arg-type]
        elif name in DRAWN:
            pages[-1].append((name, [each for each in args if isinstance(each, str | int | float)]))
    (folder / "pages.json").write_text(json.dumps([page for page in pages if page]), encoding="utf-8")
    print(len(pages), "pages,", len(pictures), "pictures")


def _kept(folder: Path, pictures: dict[str, str], image: object) -> str:
    """The name of a picture in the folder, kept once."""
    called = str(image)
    if called not in pictures:
        pictures[called] = f"picture-{len(pictures)}.jpg"
        (folder / pictures[called]).write_bytes(image.jpeg_fh().read())  # type: ignore[attr-defined]
    return pictures[called]


def by_reportlab(folder: Path, pages: list[Page]) -> bytes:
    """The same calls of the library alone; letters by its built-in font."""
    from io import BytesIO

    from reportlab import rl_config
    from reportlab.pdfgen.canvas import Canvas

    rl_config.useA85 = 0  # as ours: bytes as they are
    out = BytesIO()
    canvas = Canvas(out, pagesize=(612, PAGE_HEIGHT_PT), pageCompression=1, invariant=1)
    for page in pages:
        for name, args in page:
            if name == "setFont":
                canvas.setFont("Helvetica", args[1])
            elif name == "drawImage":
                canvas.drawImage(str(folder / str(args[0])), *args[1:])
            else:
                getattr(canvas, name)(*map(_plain, args))
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def by_fpdf2(folder: Path, pages: list[Page]) -> bytes:
    """The same texts, lines and pictures at the same places."""
    from fpdf import FPDF

    pdf = FPDF(unit="pt", format=(612, PAGE_HEIGHT_PT))
    pdf.set_auto_page_break(False)
    pdf.set_font("Helvetica", size=10)
    for page in pages:
        pdf.add_page()
        for name, args in page:
            if name == "setFont":
                pdf.set_font("Helvetica", size=float(str(args[1])))
            elif name in ("drawString", "drawRightString"):
                x, y, text = float(str(args[0])), PAGE_HEIGHT_PT - float(str(args[1])), str(_plain(args[2]))
                pdf.text(x - (pdf.get_string_width(text) if name == "drawRightString" else 0), y, text)
            elif name == "line":
                x, y, to_x, to_y = (float(str(each)) for each in args[:4])
                pdf.line(x, PAGE_HEIGHT_PT - y, to_x, PAGE_HEIGHT_PT - to_y)
            elif name == "rect":
                x, y, wide, high = (float(str(each)) for each in args[:4])
                pdf.rect(x, PAGE_HEIGHT_PT - y - high, wide, high)
            elif name == "drawImage":
                x, y, wide, high = (float(str(each)) for each in args[1:5])
                pdf.image(str(folder / str(args[0])), x, PAGE_HEIGHT_PT - y - high, wide, high)
    return bytes(pdf.output())


def by_weasyprint(folder: Path, pages: list[Page]) -> bytes:
    """The lines of each page as a table that it sets by itself, tagged."""
    from weasyprint import HTML

    body = "".join(_page_as_table(page) for page in pages)
    style = "@page{size:8.5in 11in;margin:.6in} table{break-after:page;font:8pt sans-serif} img{width:2.2in}"
    text = f'<html lang="en"><title>Report</title><style>{style}</style><body>{body}</body></html>'
    return bytes(HTML(string=text, base_url=str(folder) + "/").write_pdf(pdf_variant="pdf/ua-1"))


def _page_as_table(page: Page) -> str:
    rows: dict[float, list[str]] = defaultdict(list)
    for name, args in page:
        if name in ("drawString", "drawRightString"):
            rows[float(str(args[1]))].append(html.escape(str(args[2])))
    lines = ("".join(f"<td>{cell}</td>" for cell in rows[y]) for y in sorted(rows, reverse=True))
    images = "".join(f'<img alt="photo" src="{args[0]}">' for name, args in page if name == "drawImage")
    return f"<table>{''.join(f'<tr>{line}</tr>' for line in lines)}</table>{images}"


def _plain(value: object) -> object:
    """Text in the letters of the built-in fonts, which all three draw without a file of their own."""
    return re.sub(r"[^\x20-\x7e]", "?", value) if isinstance(value, str) else value


TYPESETTERS = {"reportlab": by_reportlab, "fpdf2": by_fpdf2, "weasyprint": by_weasyprint}


def draw(folder: Path, by: str) -> None:
    """Draw the pages once and say how it went."""
    pages: list[Page] = [
        [(name, args) for name, args in page] for page in json.loads((folder / "pages.json").read_text())
    ]
    start = time.process_time()
    made = TYPESETTERS[by](folder, pages)
    seconds = time.process_time() - start
    (line,) = [each for each in Path("/proc/self/status").read_text().splitlines() if each.startswith("VmHWM:")]
    most_mb = int(line.split()[1]) / 1024
    tagged = b"/StructTreeRoot" in made or _is_tagged(made)
    print(
        f"{by}: {seconds:.1f} s of a processor, {most_mb:.0f} MB, {len(made):,} bytes, tagged: {'yes' if tagged else 'no'}"
    )
    (folder / f"{by}.pdf").write_bytes(made)


def _is_tagged(made: bytes) -> bool:
    """Whether the catalogue says so, where it is packed."""
    try:
        import pypdfium2
        import pypdfium2.raw as pdfium
    except ImportError:
        return False
    return bool(pdfium.FPDFCatalog_IsTagged(pypdfium2.PdfDocument(made).raw))


if __name__ == "__main__":
    if sys.argv[1] == "write":
        write(Path(sys.argv[2]), int(sys.argv[3]))
    else:
        draw(Path(sys.argv[2]), sys.argv[3])
