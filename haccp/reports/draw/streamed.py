"""A canvas that writes each page's drawing into the file as soon as the page is full.

ReportLab's own keeps every page's drawing unpacked until the document is saved, and then the finished file twice: of a
season's pack that is several times the file. Here only the small objects wait (the page's resources, bookmarks).
"""

import zlib
from contextlib import ExitStack
from typing import IO, Any

from reportlab.pdfbase import pdfdoc
from reportlab.pdfgen.canvas import Canvas

HEADER = b"%PDF-1.4\n%\xe2\xe3\xcf\xd3\n"


class _Written:
    """Stands for an object that is in the file already."""


class _Raw(pdfdoc.PDFObject):
    """A stream that is packed already."""

    def __init__(self, packed: bytes) -> None:
        self.packed = packed

    def format(self, document: Any) -> bytes:
        head = b"<< /Filter /FlateDecode /Length %d >>\nstream\n" % len(self.packed)
        return head + self.packed + b"\nendstream\n"


class StreamedCanvas(Canvas):
    """target: a path or a file open for writing, written from its start to its end."""

    _doc: Any
    _code: list[str]

    def __init__(self, target: Any, **settings: Any) -> None:
        super().__init__(target, **settings)
        self._opened = ExitStack()
        is_file = hasattr(target, "write")
        # The file is closed by save(), or with this canvas where the drawing fails.
        self._out: IO[bytes] = target if is_file else self._opened.enter_context(open(target, "wb"))  # noqa: SIM115
        self._at = 0
        self._put(HEADER)

    def abandon(self) -> None:
        """Closes the file of a document that will not be finished."""
        self._opened.close()

    def showPage(self) -> None:  # noqa: N802  (ReportLab's name)
        document = self._doc
        name = document.thisPageName()
        super().showPage()
        page = document.idToObject[name]
        drawing = page.stream.encode("utf-8")
        page.stream = None
        page.Contents = document.Reference(_Raw(zlib.compress(drawing)))
        self._write(page.Contents.name)

    def save(self) -> None:
        if self._code:
            self.showPage()
        document = self._doc
        for font in document.delayedFonts:
            font.addObjects(document)
        document.info.invariant = document.invariant
        document.info.digest(document.signature)
        document.Reference(document.Catalog)
        document.Reference(document.info)
        document.Outlines.prepare(document, self)
        if document.Outlines.ready < 0:
            document.Catalog.Outlines = None
        number = 1
        while number in document.numberToId:  # writing an object can register others after it
            name = document.numberToId[number]
            if document.idToObject[name] is not _Written:
                self._write(name)
            number += 1
        self._put_table(document)
        self._opened.close()

    def _write(self, name: str) -> None:
        document = self._doc
        data = pdfdoc.PDFIndirectObject(name, document.idToObject[name]).format(document)
        document.idToOffset[name] = self._at
        document.idToObject[name] = _Written
        self._put(data)

    def _put_table(self, document: Any) -> None:
        count, start = len(document.numberToId) + 1, self._at
        offsets = (document.idToOffset[document.numberToId[number]] for number in range(1, count))
        self._put(b"xref\n0 %d\n0000000000 65535 f \n" % count)
        self._put(b"".join(b"%010d 00000 n \n" % offset for offset in offsets))
        root, info = (document.Reference(one).format(document) for one in (document.Catalog, document.info))
        self._put(
            b"trailer\n<< /Size %d /Root %s /Info %s /ID %s >>\nstartxref\n%d\n%%%%EOF\n"
            % (count, root, info, document.ID().partition(b"%")[0].strip(), start)
        )

    def _put(self, data: bytes) -> None:
        self._out.write(data)
        self._at += len(data)


def link_outside(canvas: Any, address: str, box: tuple[float, float, float, float]) -> None:
    """A link to a page of the service; box relative to the canvas.

    It stands in the page's list itself, since a record's row has one each and ReportLab keeps each object that is
    registered in four tables.
    """
    edges = pdfdoc.PDFArray(canvas._absRect(box, 1)).format(canvas._doc)
    uri = pdfdoc.PDFString(address).format(canvas._doc)
    canvas._annotationrefs.append(
        b"<< /A << /S /URI /Type /Action /URI %s >> /Border [ 0 0 0 ] /F 4 /Rect %s /Subtype /Link /Type /Annot >>"
        % (uri, edges)
    )
