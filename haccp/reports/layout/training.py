"""Who was trained in what: the competence that the plan names, and the records of its training checks."""

from collections.abc import Iterator

from reportlab.platypus import Spacer
from reportlab.platypus.flowables import Flowable

from haccp.reports.draw.marks import Heading, words
from haccp.reports.draw.rows import STRONG, Column, Line, Row, RowTable, Words
from haccp.reports.gather.plan_sheets import RevisionSheet
from haccp.reports.languages import own
from haccp.reports.layout.sheet import Sheet

KEY, TITLE = "training", own("Training and competence")
COLUMNS = (Column("Name", 2.4), Column("Duty", 2.6), Column("What makes them fit for it", 5.4))


def training_head(revisions: tuple[RevisionSheet, ...], has_checks: bool, sheet: Sheet) -> Iterator[Flowable]:
    """has_checks: whether records of training checks follow."""
    yield Heading(TITLE, KEY)
    team = revisions[0].document.team_members if revisions else ()
    if team:
        rows = (Row((Line((Words(one.name, STRONG), one.duty, one.competence)),)) for one in team)
        yield RowTable(COLUMNS, rows, sheet.paper.text_height)
        yield Spacer(1, 6)
    else:
        yield words(own("The plan in force names no team."))
    if not has_checks:
        yield words(own("The plan has no check of a training programme."))
