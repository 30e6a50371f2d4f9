"""Forms to be written on by hand, one check a page, with the way back into the records."""

from collections.abc import Iterator
from datetime import datetime
from io import BytesIO

from reportlab.platypus import PageBreak, Spacer
from reportlab.platypus.flowables import Flowable

from haccp.plan.models import PlanRevision
from haccp.reports.dates import LocalTime
from haccp.reports.draw.blanks import BlankColumn, BlankTable
from haccp.reports.draw.document import DocumentFacts, PackDocument
from haccp.reports.draw.ink import SMALL, SMALL_QUIET
from haccp.reports.draw.lasting import archived
from haccp.reports.draw.marks import Facts, Heading, words
from haccp.reports.draw.paper import paper_of
from haccp.reports.gather.blank_forms import Blank, FormSheet
from haccp.reports.languages import own
from haccp.reports.layout.addresses import Addresses
from haccp.reports.layout.sheet import Sheet

AFTERWARDS = (
    "When the service is back, type each line in at the check's own page (the QR code leads to it): put the day and "
    "time of the line as the time of observation. It is kept as entered later, and judged as on that day. Keep this "
    "paper: it is the first record."
)
# Where a form has no room for every measure of a check side by side.
MOST_MEASURES = 6


def blank_forms_pdf(revision: PlanRevision, forms: tuple[FormSheet, ...], *, site: str, made_at: datetime) -> bytes:
    """One page or more for each form."""
    premises = revision.premises
    made = BytesIO()
    sheet = Sheet(
        paper_of(premises.jurisdiction), LocalTime(premises.zone), lambda count: None, addresses=Addresses(site)
    )
    facts = DocumentFacts(
        title=f"Forms of {premises.name}, plan revision {revision.number}",
        author=premises.name,
        subject="Blank forms for the checks of a HACCP plan",
        running_head=f"{premises.name} · forms, plan revision {revision.number}",
    )
    document = PackDocument(
        made,
        sheet.paper,
        facts,
    )
    document.draw(_pages(revision, forms, sheet, made_at))
    return archived(made.getvalue(), facts)


def _pages(revision: PlanRevision, forms: tuple[FormSheet, ...], sheet: Sheet, made_at: datetime) -> Iterator[Flowable]:
    if not forms:
        yield words(own("The plan names no check."))
    for place, form in enumerate(forms):
        parts = [form.blanks[at : at + MOST_MEASURES] for at in range(0, len(form.blanks), MOST_MEASURES)] or [()]
        for number, blanks in enumerate(parts, start=1):
            if place or number > 1:
                yield PageBreak()
            more = f" ({number} of {len(parts)})" if len(parts) > 1 else ""
            yield Heading(f"{form.check}{more}", f"form-{form.check_id}-{number}", 1)
            yield from _about(form, revision, sheet, made_at)
            yield BlankTable(_columns(form, blanks))


def _about(form: FormSheet, revision: PlanRevision, sheet: Sheet, made_at: datetime) -> Iterator[Flowable]:
    yield Facts(
        (
            ("Control point", form.point + (", critical" if form.is_critical else "")),
            ("Where", form.where),
            ("How", form.how),
            ("When", form.when),
            ("Who", form.who),
            ("Limits", "\n".join(form.limits)),
            ("If not met", form.corrective_action),
        ),
        size=8.6,
        code=sheet.addresses.extra_check(form.check_id),
    )
    yield words(AFTERWARDS, SMALL)
    printed = f"Plan revision {revision.number}. Printed {sheet.time.moment(made_at)}."
    yield words(f"{printed} Write in ink; strike out what is wrong so that it stays legible.", SMALL_QUIET)
    yield Spacer(1, 3)


def _columns(form: FormSheet, blanks: tuple[Blank, ...]) -> list[BlankColumn]:
    columns = [BlankColumn("Day", "", 1.0), BlankColumn("Time", "", 0.8)]
    if form.about:
        columns.append(BlankColumn(form.about, "code", 1.5))
    columns += [BlankColumn(one.label, one.hint, 1.5) for one in blanks]
    if form.needs_instrument:
        columns.append(BlankColumn("Instrument", "", 1.2))
    if form.limits:
        columns.append(BlankColumn("Limit met", "yes / no", 0.8))
    return [*columns, BlankColumn("Note, what was done", "", 2.4), BlankColumn("Name", "", 1.2)]
