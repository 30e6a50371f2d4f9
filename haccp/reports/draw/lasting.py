"""What makes a finished PDF last: its colours named, its metadata in XMP, its records attached.

A paper without an attachment claims PDF/A-1b, and is held to it by an independent validator in the tests. One with its
records attached claims nothing, because PDF/A-1 allows no attachment, and no validator of PDF/A-3 is to be had in the
registries; its pages are made in the same way.
"""

import io
from html import escape
from pathlib import Path
from typing import Protocol

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
    """JSON packed by zlib, which goes into the file as it is, and its bytes when unpacked."""

    @property
    def records_deflated(self) -> bytes: ...
    @property
    def records_size(self) -> int: ...


def attach_records(path: Path, records: Records, facts: DocumentFacts) -> None:
    """Rewrites the PDF at path with the attachment and its metadata; the same input gives the same bytes."""
    with pikepdf.open(path, allow_overwriting_input=True) as pdf:
        attached = pikepdf.AttachedFileSpec(
            pdf,
            b"",
            filename=RECORDS_FILE,
            description="The records of this pack as they were sealed, with the proofs that they are unchanged",
            mime_type="application/json",
            relationship=pikepdf.Name("/Data"),
        )
        file = attached.obj.EF.F
        file.write(records.records_deflated, filter=pikepdf.Name("/FlateDecode"))
        file.Params = pikepdf.Dictionary(Size=records.records_size)
        pdf.attachments[RECORDS_FILE] = attached
        pdf.Root.AF = pikepdf.Array([attached.obj])
        _describe(pdf, facts, claim="")
        pdf.save(path, deterministic_id=True, compress_streams=True)


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
