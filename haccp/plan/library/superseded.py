"""What the library says was replaced, as the findings of a plan look for it."""

import datetime as dt
from collections.abc import Mapping

from haccp.plan.findings.superseded import Superseded
from haccp.plan.library.entries import Document
from haccp.plan.library.library import within


def superseded_sources(documents: Mapping[str, Document], jurisdiction: str, on: dt.date) -> tuple[Superseded, ...]:
    """By the words of each replaced text. One that goes on in force in this jurisdiction, as a retained law does, is
    none; nor is one whose end is still to come."""
    here = set(within(jurisdiction))
    kept = {
        mark
        for document in documents.values()
        if document.jurisdiction in here and not document.superseded_by
        for mark in document.cited_as
    }
    return tuple(
        Superseded(mark, _last_of(documents, document).title, _since(document))
        for document in documents.values()
        if document.superseded_by and (document.in_force_to is None or document.in_force_to < on)
        for mark in document.cited_as
        if mark not in kept
    )


def _last_of(documents: Mapping[str, Document], document: Document) -> Document:
    """What took its place, and what took the place of that."""
    seen = {document.id}
    while document.superseded_by in documents and document.superseded_by not in seen:
        document = documents[document.superseded_by]
        seen.add(document.id)
    return document


def _since(document: Document) -> str:
    return f"{document.in_force_to + dt.timedelta(days=1):%Y-%m-%d}" if document.in_force_to else ""
