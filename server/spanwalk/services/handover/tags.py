"""Tags of a PDF: what each piece of a page is, in reading order, for who has it read aloud (ISO 32000-1, 14.6 to 14.8; read).

The library draws and knows no tags: marks are put into the pages' code around what it draws, and the tree of what they
mean is written as objects of ours.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from xml.sax.saxutils import escape

from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFName, PDFPage, PDFStream
from reportlab.pdfgen.canvas import Canvas

from spanwalk.services.handover.packed import with_packed
from spanwalk.services.labels.typesetting import unprintable

OF_PAGES = ["StructParents", "Tabs"]


class Element:
    """A piece of the document: its type (`P`, `Table`, `TD` …), what is read in its place, and what it is made of.

    `parts` are elements, or (page, mark) of what is drawn; `more` stands in its dictionary as it is.
    """

    __slots__ = ("kind", "more", "number", "parts")

    def __init__(self, kind: str, more: str = "") -> None:
        self.kind, self.more, self.number = kind, more, 0
        self.parts: list[Element | tuple[int, int]] = []


FIRST_NUMBER = 1_000_000
"""Of the tree: beyond all numbers that the library gives, and below 8,388,607, which is the most (ISO 32000-1, annex C)."""


class Tags:
    """The tags of one document while it is drawn from the top down.

    Parameters
    ----------
    canvas : Canvas
        On which it is drawn; nothing has been yet.
    """

    def __init__(self, canvas: Canvas) -> None:
        self.canvas = canvas
        self.root = Element("Document")
        self._open = [self.root]
        self._list: Element | None = None
        self._here: list[Element] = []
        self._pages: list[tuple[PDFPage, list[Element]]] = []
        self.count = 0

    @contextmanager
    def element(self, kind: str, more: str = "", drawn: bool = True) -> Iterator[None]:
        """An element around what is drawn or begun inside; `drawn`: all inside is one piece on this page.

        Parameters
        ----------
        kind : str
            A standard structure type (ISO 32000-1, table 333 and after).
        more : str
            More of its dictionary.
        drawn : bool
            Whether drawing follows at once; else other elements do.
        """
        if kind != "L":
            self._list = None
        new = Element(kind, more)
        self.count += 1
        self._open[-1].parts.append(new)
        self._open.append(new)
        if drawn:
            self._begin(new)
        yield
        if drawn:
            self._end()
        self._open.pop()

    @contextmanager
    def more_of_it(self) -> Iterator[None]:
        """More is drawn of the element that is open, perhaps on the next page."""
        self._begin(self._open[-1])
        yield
        self._end()

    @contextmanager
    def item(self, more: str = "") -> Iterator[None]:
        """A point of a list; points that follow each other are one list. `more` stands in the dictionary of what it says."""
        points = self._list
        if points is None:
            points = Element("L")
            self.count += 1
            self._open[-1].parts.append(points)
        self._open.append(points)
        with self.element("LI", drawn=False), self.element("LBody", more, drawn=False):
            yield
        self._open.pop()
        self._list = points

    @contextmanager
    def artifact(self) -> Iterator[None]:
        """What is drawn and not read: lines, feet of pages, heads that are said again."""
        self._put("/Artifact BMC")
        yield
        self._end()

    def _begin(self, element: Element) -> None:
        mark = len(self._here)
        self._here.append(element)
        element.parts.append((len(self._pages), mark))
        self._put(f"/{element.kind} <</MCID {mark}>> BDC")

    def _end(self) -> None:
        self._put("EMC")

    def _put(self, code: str) -> None:
        self.canvas._code.append(code)

    def page_ends(self) -> None:
        """The page that was drawn is in the document: it is told which elements its marks are of."""
        page = self.canvas._doc.Pages.pages[-1]
        page.__NoDefault__ = [*page.__NoDefault__, *OF_PAGES]
        page.StructParents, page.Tabs = len(self._pages), PDFName("S")
        self._pages.append((page, self._here))
        self._here = []

    def finished(self) -> bytes:
        """The whole file with its tree, and a catalogue that says that it is tagged."""
        document = self.canvas._doc
        document.Catalog.StructTreeRoot = f"{FIRST_NUMBER} 0 R"
        document.Catalog.MarkInfo = PDFDictionary({"Marked": "true"})
        document.Catalog.__NoDefault__ = [*document.Catalog.__NoDefault__, "Metadata"]
        document.Catalog.Metadata = document.Reference(_metadata(document.info.title))
        data = self.canvas.getpdfdata()
        numbers = document.idToObjectNumberAndVersion
        pages = [numbers[page.__InternalName__][0] for page, _ in self._pages]
        written = list(_walked(self.root))
        for number, (element, _) in enumerate(written, FIRST_NUMBER + 1):
            element.number = number
        objects = {
            element.number: _dictionary(element, FIRST_NUMBER if parent is None else parent.number, pages)
            for element, parent in written
        }
        return with_packed(document, data, {FIRST_NUMBER: self._tree(), **objects})

    def _tree(self) -> bytes:
        """The root of the tree, with the elements of each page's marks."""
        marks = (
            f"{place}[{' '.join(f'{each.number} 0 R' for each in here)}]" for place, (_, here) in enumerate(self._pages)
        )
        nums = "\n".join(marks)
        return (
            f"<</Type/StructTreeRoot/K[{self.root.number} 0 R]/ParentTree<</Nums[{nums}]>>"
            f"/ParentTreeNextKey {len(self._pages)}>>"
        ).encode("ascii")


def _metadata(title: str) -> PDFStream:
    """The title as XMP (ISO 16684-1), where readers of tags look for it; that the file is PDF/UA is not said in it."""
    text = (
        '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?><x:xmpmeta xmlns:x="adobe:ns:meta/">'
        '<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description rdf:about="" '
        'xmlns:dc="http://purl.org/dc/elements/1.1/"><dc:title><rdf:Alt><rdf:li xml:lang="x-default">'
        f'{escape(title)}</rdf:li></rdf:Alt></dc:title></rdf:Description></rdf:RDF></x:xmpmeta><?xpacket end="r"?>'
    )
    about = PDFDictionary({"Type": PDFName("Metadata"), "Subtype": PDFName("XML")})
    return PDFStream(about, text.encode("utf-8"), filters=[])


def _walked(root: Element) -> Iterator[tuple[Element, Element | None]]:
    """Each element with what it stands in, in reading order."""
    waiting: list[tuple[Element, Element | None]] = [(root, None)]
    while waiting:
        element, parent = waiting.pop()
        yield element, parent
        waiting += [(part, element) for part in reversed(element.parts) if isinstance(part, Element)]


def _dictionary(element: Element, parent: int, pages: list[int]) -> bytes:
    drawn = [part for part in element.parts if isinstance(part, tuple)]
    page = drawn[0][0] if drawn else None
    parts = [
        f"{part.number} 0 R"
        if isinstance(part, Element)
        else str(part[1])
        if part[0] == page
        else f"<</Type/MCR/Pg {pages[part[0]]} 0 R/MCID {part[1]}>>"
        for part in element.parts
    ]
    inside = f"/K[{' '.join(parts)}]" if len(parts) != 1 else f"/K {parts[0]}"
    where = f"/Pg {pages[page]} 0 R" if page is not None else ""
    return f"<</S/{element.kind}/P {parent} 0 R{where}{element.more}{inside if parts else ''}>>".encode("ascii")


def read_instead(text: str) -> str:
    """What is read in place of a picture, as part of its element's dictionary.

    >>> read_instead("A")
    '/Alt<FEFF0041>'
    """
    return f"/Alt<FEFF{text.encode('utf-16-be', 'replace').hex().upper()}>"


def meant_by(text: str) -> str:
    """What a text says in full, as part of its element's dictionary, where some of its letters are drawn as '□'; else nothing.

    >>> meant_by("A"), meant_by("א")
    ('', '/ActualText<FEFF05D0>')
    """
    if not unprintable([text]):
        return ""
    return f"/ActualText<FEFF{text.encode('utf-16-be', 'replace').hex().upper()}>"


HEAD_OF_COLUMN = "/A<</O/Table/Scope/Column>>"

__all__ = ["HEAD_OF_COLUMN", "Element", "Tags", "meant_by", "read_instead"]
