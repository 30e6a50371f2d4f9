"""One revision of the plan as a document of its own."""

from collections.abc import Iterator
from datetime import datetime
from io import BytesIO
from itertools import chain

from reportlab.platypus.flowables import Flowable

from haccp.plan.models import PlanRevision
from haccp.reports.dates import LocalTime
from haccp.reports.draw.document import CAUTION, DocumentFacts, PackDocument
from haccp.reports.draw.ink import SMALL_QUIET
from haccp.reports.draw.lasting import archived
from haccp.reports.draw.marks import words
from haccp.reports.draw.paper import paper_of
from haccp.reports.gather.plan_sheets import RevisionSheet, revision_sheet
from haccp.reports.layout import plan
from haccp.reports.layout.sheet import Sheet

# Which part of a plan -> what it is called.
SHEETS = {
    "all": "Food-safety plan",
    "limits": "Critical control points and their limits",
    "hazards": "Hazard worksheet",
}


def plan_pdf(revision: PlanRevision, part: str = "all", *, until: datetime | None, made_at: datetime) -> bytes:
    """The bytes of the PDF. part: one of SHEETS. until: when a later revision came into force."""
    premises = revision.premises
    made = BytesIO()
    sheet = Sheet(paper_of(premises.jurisdiction), LocalTime(premises.zone), lambda count: None, has_records=False)
    state = "" if revision.is_approved else ", draft"
    facts = DocumentFacts(
        title=f"{SHEETS[part]} of {premises.name}, revision {revision.number}{state}",
        author=premises.name,
        subject="HACCP plan of a dairy",
        running_head=f"{premises.name} · {SHEETS[part].lower()}, revision {revision.number}{state}",
    )
    document = PackDocument(
        made,
        sheet.paper,
        facts,
    )
    printed = words(f"Printed {sheet.time.moment(made_at)}. {CAUTION}", SMALL_QUIET)
    document.draw(chain(_part(part, revision_sheet(revision, until), sheet), [printed]))
    return archived(made.getvalue(), facts)


def _part(part: str, revision: RevisionSheet, sheet: Sheet) -> Iterator[Flowable]:
    if part == "hazards":
        return plan.worksheet_alone(revision, sheet)
    if part == "limits":
        return plan.plan((revision,), sheet, frozenset(one.key for one in revision.points if one.is_critical))
    return plan.plan((revision,), sheet)
