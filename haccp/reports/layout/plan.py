"""The plan in force, and what came before it in the period."""

from collections.abc import Iterator

from django.utils.translation import gettext
from reportlab.platypus import CondPageBreak, Spacer
from reportlab.platypus.flowables import Flowable

from haccp.reports.draw.ink import STRONG
from haccp.reports.draw.marks import ContentsLine, Facts, Heading, words
from haccp.reports.draw.rows import STRONG as STRONG_FACE
from haccp.reports.draw.rows import Column, Line, Row, RowTable, Words
from haccp.reports.gather.plan_sheets import LimitRow, PointSheet, RevisionSheet
from haccp.reports.languages import own
from haccp.reports.layout import plan_parts
from haccp.reports.layout.contents import Entry
from haccp.reports.layout.sheet import Sheet

KEY = "plan"
TITLE = own("The food-safety plan")
LIMITS = (Column("Critical limit", 3.4), Column("Target", 1.8), Column("Source", 3), Column("Products", 1.8))
CHECKS = (
    Column("Monitoring", 2.2),
    Column("What", 1.8),
    Column("How", 2.4),
    Column("When", 2.6),
    Column("Where", 1.2),
    Column("Who", 1.5),
)


def plan_entries(sheets: tuple[RevisionSheet, ...]) -> Iterator[Entry]:
    for sheet in sheets:
        yield Entry(_title(sheet), revision_key(sheet), 1)


def revision_key(sheet: RevisionSheet) -> str:
    return f"revision-{sheet.number}"


def _title(sheet: RevisionSheet) -> str:
    if sheet.effective_from is None:
        return gettext("Revision {number}, draft: not approved").format(number=sheet.number)
    said = gettext("Revision {number}, in force") if sheet.until is None else gettext("Revision {number}, superseded")
    return said.format(number=sheet.number)


def plan(sheets: tuple[RevisionSheet, ...], sheet: Sheet, keys: frozenset[str] | None = None) -> Iterator[Flowable]:
    """The first in full, all twelve steps of it; of the others what records of the period were judged by.

    keys: of the control points to be shown, and nothing around them; None for the plan in full.
    """
    yield Heading(TITLE, KEY)
    if not sheets:
        yield words(own("No approved plan was in force in this period."), STRONG)
        return
    for place, revision in enumerate(sheets):
        yield CondPageBreak(140)
        yield Heading(_title(revision), revision_key(revision), 1)
        yield from _about(revision, sheet)
        if keys is None and place == 0:
            yield from plan_parts.before_control_points(revision, sheet)
        sheets_of = [point for point in revision.points if _is_shown(point, place, keys)]
        for point in sheets_of:
            yield from _point(point, revision, sheet)
        if keys is None and place == 0:
            yield from plan_parts.after_control_points(revision, sheet)


def worksheet_alone(revision: RevisionSheet, sheet: Sheet) -> Iterator[Flowable]:
    """The hazards of one revision, with the scale that they are graded on."""
    yield Heading(TITLE, KEY)
    yield Heading(_title(revision), revision_key(revision), 1)
    yield from _about(revision, sheet)
    yield from plan_parts.worksheet(revision, sheet)


def _is_shown(point: PointSheet, place: int, keys: frozenset[str] | None) -> bool:
    return point.key in keys if keys is not None else place == 0 or point.is_critical


def _about(revision: RevisionSheet, sheet: Sheet) -> Iterator[Flowable]:
    until = gettext(" until {moment}").format(moment=sheet.time.moment(revision.until)) if revision.until else ""
    approved = f"{revision.approved_by}, {sheet.time.moment(revision.approved_at)}" if revision.approved_at else ""
    yield Facts(
        (
            (
                "In force",
                gettext("from {moment}").format(moment=sheet.time.moment(revision.effective_from)) + until
                if revision.effective_from
                else "",
            ),
            ("Scope", revision.scope_statement),
            ("Products", "\n".join(revision.products)),
            ("What changed", revision.change_summary),
            ("Approved by", approved),
            ("Attested", f"“{revision.approval_statement}”" if revision.approval_statement else ""),
        )
    )


def _point(point: PointSheet, revision: RevisionSheet, sheet: Sheet) -> Iterator[Flowable]:
    yield CondPageBreak(130)
    yield Heading(point.title, f"{revision_key(revision)}-{point.key}", 2)
    if sheet.has_records:
        yield ContentsLine(gettext("Its records in this pack"), point.key, 1)
    yield Facts(
        (
            (
                "Kind",
                gettext("critical control point")
                if point.is_critical
                else f"prerequisite programme: {point.programme}",
            ),
            ("Step", point.step),
            ("Hazards", point.hazards),
            ("If the limit is not met", point.corrective_action),
            ("Product made meanwhile", point.disposition),
            ("Verification", point.verification),
        ),
        size=9,
    )
    yield Spacer(1, 4)
    if point.limits:
        yield RowTable(LIMITS, map(_limit, point.limits), sheet.paper.text_height)
        yield Spacer(1, 4)
    elif point.is_critical:
        yield words(own("No critical limit is set."), STRONG)
    if point.checks:
        checks = (
            Row((Line((Words(c.name, STRONG_FACE), c.what, c.how or "–", c.when, c.where, c.who or "–")),))
            for c in point.checks
        )
        yield RowTable(CHECKS, checks, sheet.paper.text_height)


def _limit(limit: LimitRow) -> Row:
    statement = Words(limit.statement, STRONG_FACE)
    return Row((Line((statement, limit.target or "–", limit.source or "–", limit.products or "all")),))
