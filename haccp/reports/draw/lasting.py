"""What makes a finished PDF last: its colours named, its metadata in XMP, its records attached.

A paper without an attachment claims PDF/A-1b, and is held to it by an independent validator in the tests. One with its
records attached claims nothing, because PDF/A-1 allows no attachment, and no validator of PDF/A-3 is to be had in the
registries; its pages are made in the same way.
"""

import io
import os
import shutil
from html import escape
from pathlib import Path
from typing import IO, Protocol

import pikepdf

from haccp.reports.draw.document import DocumentFacts
from haccp.reports.draw.srgb import NAME, srgb_profile

RECORDS_FILE = "records.json"
MADE_WITH = "Curdward"
_XMP = """<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/">
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title>
<dc:creator><rdf:Seq><rdf:li>{author}</rdf:li></rdf:Seq></dc:creator>
<dc:description><rdf:Alt><rdf:li xml:lang="x-default">{subject}</rdf:li></rdf:Alt></dc:description>
<dc:language><rdf:Bag><rdf:li>{language}</rdf:li></rdf:Bag></dc:language>
</rdf:Description>
<rdf:Description rdf:about="" xmlns:pdf="http://ns.adobe.com/pdf/1.3/"><pdf:Producer>{made_with}</pdf:Producer>
</rdf:Description>
<rdf:Description rdf:about="" xmlns:xmp="http://ns.adobe.com/xap/1.0/"><xmp:CreatorTool>{made_with}</xmp:CreatorTool>
</rdf:Description>
{claim}</rdf:RDF></x:xmpmeta>
<?xpacket end="w"?>"""
_CLAIM = """<rdf:Description rdf:about="" xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/"><pdfaid:part>1</pdfaid:part>
<pdfaid:conformance>B</pdfaid:conformance></rdf:Description>
"""


class Records(Protocol):
    """JSON packed by zlib in a file, which goes into the PDF as it is, and its bytes when unpacked."""

    @property
    def records_deflated(self) -> IO[bytes]: ...
    @property
    def records_size(self) -> int: ...


def attach_records(path: Path, records: Records, facts: DocumentFacts) -> None:
    """Rewrites the PDF at path with the attachment and its metadata; the same input gives the same bytes.

    The attachment is copied from file to file and never stands in memory.
    """
    carried = path.with_suffix(".carried.pdf")
    finished = path.with_suffix(".finished.pdf")
    _write_carrier(carried, records)
    by_file = pikepdf.AccessMode.stream
    with pikepdf.open(path, access_mode=by_file) as pdf, pikepdf.open(carried, access_mode=by_file) as carrier:
        attached = pikepdf.AttachedFileSpec(
            pdf,
            b"",
            filename=RECORDS_FILE,
            description="The records of this pack as they were sealed, with the proofs that they are unchanged",
            mime_type="application/json",
            relationship=pikepdf.Name("/Data"),
        )
        file = pdf.copy_foreign(carrier.Root.Carried)
        for name in (pikepdf.Name("/F"), pikepdf.Name("/UF")):
            if name in attached.obj.EF:
                attached.obj.EF[name] = file
        pdf.attachments[RECORDS_FILE] = attached
        pdf.Root.AF = pikepdf.Array([attached.obj])
        _describe(pdf, facts, claim="")
        pdf.save(finished, deterministic_id=True, compress_streams=True)
    carried.unlink()
    finished.replace(path)


def _write_carrier(path: Path, records: Records) -> None:
    """A PDF of nothing but the attachment's stream: the library copies streams between files without reading them."""
    source = records.records_deflated
    length = source.seek(0, os.SEEK_END)
    source.seek(0)
    with path.open("wb") as file:
        file.write(b"%PDF-1.7\n")
        places = [file.tell()]
        file.write(b"1 0 obj\n<< /Type /Catalog /Pages 2 0 R /Carried 3 0 R >>\nendobj\n")
        places.append(file.tell())
        file.write(b"2 0 obj\n<< /Type /Pages /Kids [] /Count 0 >>\nendobj\n")
        places.append(file.tell())
        file.write(
            b"3 0 obj\n<< /Type /EmbeddedFile /Subtype /application#2Fjson /Filter /FlateDecode /Length %d "
            b"/Params << /Size %d >> >>\nstream\n" % (length, records.records_size)
        )
        shutil.copyfileobj(source, file)
        file.write(b"\nendstream\nendobj\n")
        table = file.tell()
        file.write(b"xref\n0 4\n0000000000 65535 f \n")
        file.write(b"".join(b"%010d 00000 n \n" % place for place in places))
        file.write(b"trailer\n<< /Size 4 /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % table)


def archived(content: bytes, facts: DocumentFacts) -> bytes:
    """A paper without attachments as PDF/A-1b."""
    made = io.BytesIO()
    with pikepdf.open(io.BytesIO(content)) as pdf:
        _describe(pdf, facts, claim=_CLAIM)
        # PDF/A-1 is PDF 1.4, which has no streams of objects.
        pdf.save(
            made,
            deterministic_id=True,
            compress_streams=True,
            object_stream_mode=pikepdf.ObjectStreamMode.disable,
            force_version="1.4",
        )
    return made.getvalue()


def _describe(pdf: pikepdf.Pdf, facts: DocumentFacts, *, claim: str) -> None:
    # ReportLab's fixed stand-in for the clock (the paper says when it was made), and what XMP does not repeat.
    for name in ("/CreationDate", "/ModDate", "/Keywords", "/Trapped"):
        if name in pdf.docinfo:
            del pdf.docinfo[name]
    profile = pdf.make_stream(srgb_profile(), N=3)
    intent = pikepdf.Dictionary(
        Type=pikepdf.Name("/OutputIntent"),
        S=pikepdf.Name("/GTS_PDFA1"),
        OutputConditionIdentifier=NAME.decode(),
        Info=NAME.decode(),
        DestOutputProfile=profile,
    )
    pdf.Root.OutputIntents = pikepdf.Array([pdf.make_indirect(intent)])
    words = {name: escape(str(getattr(facts, name))) for name in ("title", "author", "subject", "language")}
    xmp = _XMP.format(made_with=MADE_WITH, claim=claim, **words)
    pdf.Root.Metadata = pdf.make_stream(xmp.encode(), Type=pikepdf.Name("/Metadata"), Subtype=pikepdf.Name("/XML"))
