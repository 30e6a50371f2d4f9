"""Puts the records and their proofs into the finished PDF, as a file inside it."""

from pathlib import Path

import pikepdf

from haccp.reports.draw.document import DocumentFacts

RECORDS_FILE = "records.json"


def attach_records(path: Path, records: bytes, facts: DocumentFacts) -> None:
    """Rewrites the PDF at path with the attachment and its XMP metadata; the same input gives the same bytes."""
    with pikepdf.open(path, allow_overwriting_input=True) as pdf:
        attached = pikepdf.AttachedFileSpec(
            pdf,
            records,
            filename=RECORDS_FILE,
            description="The records of this pack as they were sealed, with the proofs that they are unchanged",
            mime_type="application/json",
            relationship=pikepdf.Name("/Data"),
        )
        pdf.attachments[RECORDS_FILE] = attached
        pdf.Root.AF = pikepdf.Array([attached.obj])
        for moment in ("/CreationDate", "/ModDate"):
            # ReportLab's fixed stand-in for the clock; the cover says when the pack was made.
            if moment in pdf.docinfo:
                del pdf.docinfo[moment]
        with pdf.open_metadata(set_pikepdf_as_editor=False, update_docinfo=False) as metadata:
            metadata["dc:title"] = facts.title
            metadata["dc:creator"] = [facts.author]
            metadata["dc:language"] = [facts.language]
            metadata["dc:description"] = facts.subject
        pdf.save(path, deterministic_id=True, compress_streams=True)
