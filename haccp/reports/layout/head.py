"""The head of a document that has no cover: what it is, whose, of when, and how it is proven."""

from collections.abc import Iterator
from datetime import datetime

from reportlab.platypus import Spacer
from reportlab.platypus.flowables import Flowable

from haccp.reports.draw.document import REPLACED
from haccp.reports.draw.ink import COVER_NAME, DOCUMENT_TITLE, SMALL_QUIET
from haccp.reports.draw.marks import Facts, LateLine, words
from haccp.reports.gather.gathered import Gathered
from haccp.reports.languages import own
from haccp.reports.layout.cover import ledger_words
from haccp.reports.layout.sheet import Sheet


def document_head(
    title: str, about: str, gathered: Gathered, address: str, made_at: datetime, sheet: Sheet
) -> Iterator[Flowable]:
    """about: what the title is of, such as a batch's code. address: where its QR code leads, or empty."""
    period, evidence = gathered.scope.period, gathered.evidence
    yield words(title, DOCUMENT_TITLE)
    if about:
        yield words(about, COVER_NAME)
    yield Facts(
        (
            ("Dairy", ", ".join(part for part in (period.premises, period.approval_number) if part)),
            ("Days", sheet.time.span(period.first_day, period.last_day) + f" ({period.zone.key})"),
            ("Asked for by", period.asked_by),
            ("Made", sheet.time.moment(made_at)),
            ("Ledger", ledger_words(evidence)),
        ),
        size=9.5,
        code=address,
    )
    yield LateLine(REPLACED)
    yield words(own("How to verify this paper is said at its end."), SMALL_QUIET)
    yield Spacer(1, 2)
