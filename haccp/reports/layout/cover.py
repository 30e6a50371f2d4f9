"""The first page: whose records, of when, for whom, and what they are not."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from django.utils.translation import gettext
from reportlab.platypus import Spacer
from reportlab.platypus.flowables import Flowable, HRFlowable

from haccp.reports.draw.document import CAUTION, REPLACED
from haccp.reports.draw.ink import ACCENT, COVER_LINE, COVER_NAME, COVER_TITLE
from haccp.reports.draw.marks import Facts, LateLine, Panel, words
from haccp.reports.gather.evidence import Evidence
from haccp.reports.gather.period import Period
from haccp.reports.languages import own
from haccp.reports.layout.sheet import Sheet

TITLE = own("Food-safety records")
CAUTIONS = (
    CAUTION,
    own("It records what the dairy planned, measured and did; it is not an approval, a certificate or legal advice."),
    own(
        "“Unproven” means that a reading, an instrument or a gap in a recording leaves it open whether the limit was "
        "met. It is never counted as met."
    ),
    own(
        "Nothing in here is changed afterwards: an amendment is shown beside what it amends, with its reason and "
        "author."
    ),
)


@dataclass(frozen=True, slots=True)
class Cover:
    """about: which part of the records it shows, empty for all."""

    period: Period
    evidence: Evidence
    made_at: datetime
    scope: tuple[str, ...]
    about: str = ""


def ledger_words(evidence: Evidence) -> str:
    attached = gettext("{count} sealed entries are attached").format(count=evidence.entry_count)
    return f"{evidence.fingerprint}  ({attached})"


def made_line(cover: Cover, sheet: Sheet) -> str:
    """The one line of a pack that depends on the clock."""
    return f"{sheet.time.moment(cover.made_at)} ({cover.period.zone.key})"


def cover_page(cover: Cover, sheet: Sheet) -> Iterator[Flowable]:
    period = cover.period
    yield Spacer(1, 50)
    yield words(TITLE, COVER_TITLE)
    yield HRFlowable(width="30%", thickness=3, color=ACCENT, hAlign="LEFT", spaceBefore=4, spaceAfter=22)
    yield words(period.premises, COVER_NAME)
    if period.producer != period.premises:
        yield words(period.producer, COVER_LINE)
    if period.address:
        yield words(period.address, COVER_LINE)
    if period.approval_number:
        yield words(gettext("Approval number {number}").format(number=period.approval_number), COVER_LINE)
    yield Spacer(1, 26)
    if cover.about:
        yield words(cover.about, COVER_NAME)
    yield words(sheet.time.span(period.first_day, period.last_day), COVER_NAME)
    yield words(gettext("Days and times are those of {zone}.").format(zone=period.zone.key), COVER_LINE)
    yield Spacer(1, 20)
    yield Facts(
        (
            ("Contains", ", ".join(cover.scope) + "."),
            ("Asked for by", f"{period.asked_by}, {sheet.time.moment(period.asked_at)}"),
            ("Made", made_line(cover, sheet)),
            ("Pack", str(period.pack_id)),
            ("Ledger", ledger_words(cover.evidence)),
        ),
        size=10.5,
        code=sheet.addresses.pack(period.pack_id) if period.pack_id else "",
    )
    yield Spacer(1, 6)
    yield LateLine(REPLACED)
    yield Spacer(1, 14)
    yield Panel(CAUTIONS)
