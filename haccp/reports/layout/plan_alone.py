"""One revision of the plan as a document of its own."""

from datetime import datetime
from io import BytesIO
from itertools import chain

from haccp.plan.models import PlanRevision
from haccp.reports.dates import LocalTime
from haccp.reports.draw.document import CAUTION, DocumentFacts, PackDocument
from haccp.reports.draw.ink import SMALL_QUIET
from haccp.reports.draw.marks import words
from haccp.reports.draw.paper import paper_of
from haccp.reports.gather.plan_sheets import revision_sheet
from haccp.reports.layout import plan
from haccp.reports.layout.sheet import Sheet


def plan_pdf(revision: PlanRevision, *, until: datetime | None, made_at: datetime) -> bytes:
    """The bytes of the PDF. until: when a later revision came into force."""
    premises = revision.premises
    made = BytesIO()
    sheet = Sheet(paper_of(premises.jurisdiction), LocalTime(premises.zone), lambda count: None, has_records=False)
    state = "" if revision.is_approved else ", draft"
    document = PackDocument(
        made,
        sheet.paper,
        DocumentFacts(
            title=f"Food-safety plan of {premises.name}, revision {revision.number}{state}",
            author=premises.name,
            subject="HACCP plan of a dairy",
            running_head=f"{premises.name} · food-safety plan, revision {revision.number}{state}",
        ),
    )
    printed = words(f"Printed {sheet.time.moment(made_at)}. {CAUTION}", SMALL_QUIET)
    document.draw(chain(plan.plan((revision_sheet(revision, until),), sheet), [printed]))
    return made.getvalue()
