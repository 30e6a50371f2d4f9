"""The parts of a plan around its control points: team, products, flow, hazard worksheet, validation, documents."""

from collections.abc import Iterable, Iterator

from django.utils.translation import gettext
from reportlab.platypus import CondPageBreak, Spacer
from reportlab.platypus.flowables import Flowable

from haccp.drawing.pdf import PictureFlowable
from haccp.drawing.picture import Picture
from haccp.plan.document import Part, PlanDocument
from haccp.plan.document.parts import Hazard
from haccp.plan.flow_diagram import flow_sheets
from haccp.plan.labels import choice_word, label
from haccp.plan.workspace import facts
from haccp.reports.dates import day_words
from haccp.reports.draw.ink import SMALL_QUIET
from haccp.reports.draw.marks import Facts, Heading, words
from haccp.reports.draw.rows import LINK, Column, Line, Row, RowTable, Span, Words
from haccp.reports.draw.rows import STRONG as STRONG_FACE
from haccp.reports.gather.plan_sheets import RevisionSheet
from haccp.reports.gather.scope import natural_order
from haccp.reports.languages import own
from haccp.reports.layout.sheet import Sheet
from haccp.science.decision_tree import tree_of
from haccp.science.schedule import describe

STEPS = (Column("", 0.5), Column("Step", 2.4), Column("What happens", 5), Column("In", 2), Column("Out", 2))
HAZARDS = (
    Column("Hazard", 2.3),
    Column("L × S", 0.8),
    Column("Significant", 1.55),
    Column("Why", 3.0),
    Column("Control measure", 2.5),
    Column("Point", 1.1),
    Column("Decision tree", 2.7),
)
TEAM = (Column("Name", 2), Column("Duty", 2), Column("Competence", 4))
VALIDATIONS = (
    Column("Of", 1),
    Column("Evidence", 1.6),
    Column("What it shows", 3.4),
    Column("Document", 3),
    Column("When, by whom", 1.8),
)
VERIFICATIONS = (Column("Of", 1), Column("What", 2.6), Column("How", 3.2), Column("When", 2), Column("Who", 1.2))
DOCUMENTS = (
    Column("Name", 3),
    Column("Kind", 1),
    Column("Kept where", 2),
    Column("Responsible", 1.6),
    Column("Kept for", 1.2),
)
SCALE = (Column("Scale", 1.2), Column("Rank", 0.6), Column("Word", 2), Column("Meaning", 4))
SOURCES = (Column("Value of", 3), Column("Source", 4), Column("Jurisdiction", 1), Column("Edition", 1.2))
QUESTIONS = (Column("Question left to the producer", 4), Column("Answer", 4))
TREE_WORDS = {True: "yes", False: "no"}
# Of the height of the text: what a drawn piece of the flow may take, its heading beside it.
MOST_OF_A_SHEET = 0.86
ROOM_FOR_HEADING = 40


def before_control_points(revision: RevisionSheet, sheet: Sheet) -> Iterator[Flowable]:
    """Steps 1 to 7 of application."""
    document = revision.document
    yield from _table(
        "1  Team", "team", revision, sheet, TEAM, ((m.name, m.duty, m.competence) for m in document.team_members)
    )
    yield from _descriptions(revision, sheet)
    yield from _flow(revision, sheet)
    yield from _confirmations(revision, sheet)
    yield from worksheet(revision, sheet)
    yield CondPageBreak(120)
    yield _heading("7 to 10  Control points: limits, monitoring and corrective actions", "points", revision)


def after_control_points(revision: RevisionSheet, sheet: Sheet) -> Iterator[Flowable]:
    """Steps 11 and 12, and what was borrowed and asked."""
    document = revision.document
    yield from _table("11  Validation", "validation", revision, sheet, VALIDATIONS, _validations(document))
    yield from _table("11  Verification", "verification", revision, sheet, VERIFICATIONS, _verifications(document))
    yield from _reviews(revision, sheet)
    yield from _table("12  Documents and records", "documents", revision, sheet, DOCUMENTS, _documents(document))
    answered = ((one.question, one.answer or "still open") for one in document.judgements)
    yield from _table("Questions left to the producer", "questions", revision, sheet, QUESTIONS, answered)
    yield from _table("Sources of borrowed values", "sources", revision, sheet, SOURCES, _sources(document))


def _heading(title: str, key: str, revision: RevisionSheet) -> Heading:
    return Heading(gettext(title), f"revision-{revision.number}-{key}", 2)


def _table(
    title: str,
    key: str,
    revision: RevisionSheet,
    sheet: Sheet,
    columns: tuple[Column, ...],
    rows: Iterable[tuple[str, ...]],
) -> Iterator[Flowable]:
    found = list(rows)
    yield CondPageBreak(90)
    yield _heading(title, key, revision)
    if not found:
        yield words(own("The plan names none."))
        return
    made = (Row((Line((Words(row[0], STRONG_FACE), *(cell or "–" for cell in row[1:]))),)) for row in found)
    yield RowTable(columns, made, sheet.paper.text_height)
    yield Spacer(1, 4)


def _descriptions(revision: RevisionSheet, sheet: Sheet) -> Iterator[Flowable]:
    document = revision.document
    names = {product.code: product.name for product in document.products}
    yield CondPageBreak(90)
    yield _heading("2 and 3  Products and their intended use", "products", revision)
    if not document.descriptions:
        yield words(own("No product is described."))
    for description in document.descriptions:
        about = [("Product", f"{names.get(description.product, '')} ({description.product})")]
        about += [(fact.words.capitalize(), fact.value) for fact in facts(description, document)]
        yield Facts(tuple(about), size=9)
        yield Spacer(1, 6)


def _flow(revision: RevisionSheet, sheet: Sheet) -> Iterator[Flowable]:
    document = revision.document
    if not document.steps:
        return
    for place, (picture, off) in enumerate(flow_sheets(document, title=f"Flow of revision {revision.number}")):
        drawn = _fitting(picture, sheet)
        yield CondPageBreak(drawn.wrap(sheet.paper.text_width, sheet.paper.text_height)[1] + ROOM_FOR_HEADING)
        if place == 0:
            yield _heading("4  Flow diagram", "flow", revision)
        yield drawn
        if off:
            yield words(own("Leads on: ") + "; ".join(off), SMALL_QUIET)
        yield Spacer(1, 6)
    materials: dict[tuple[str, str], list[str]] = {}
    for one in document.materials:
        materials.setdefault((one.step, one.direction), []).append(one.name)
    rows = (
        (
            str(step.position),
            step.name,
            step.description,
            ", ".join(materials.get((step.key, "in"), ())),
            ", ".join(materials.get((step.key, "out"), ())),
        )
        for step in document.steps
    )
    yield from _table("The steps in words", "steps", revision, sheet, STEPS, rows)
    returning = [label(link, document) for link in document.links if link.kind != "flow"]
    if returning:
        yield words(own("Rework, branches and waste: ") + "; ".join(returning), SMALL_QUIET)


def _fitting(picture: Picture, sheet: Sheet) -> PictureFlowable:
    """As wide as the text, or as narrow as a sheet's height asks for."""
    tallest = sheet.paper.text_height * MOST_OF_A_SHEET
    width = min(sheet.paper.text_width, tallest * picture.width / picture.height)
    return PictureFlowable(picture, width)


def _confirmations(revision: RevisionSheet, sheet: Sheet) -> Iterator[Flowable]:
    yield CondPageBreak(60)
    yield _heading("5  Confirmation on site", "confirmation", revision)
    if not revision.confirmations:
        yield words(own("The flow, as it is drawn here, has not been confirmed on site."))
    for one in revision.confirmations:
        note = f": {one.note}" if one.note else ""
        yield words(f"Walked and found as drawn on {day_words(one.confirmed_on)} by {one.by}{note}.")


def worksheet(revision: RevisionSheet, sheet: Sheet) -> Iterator[Flowable]:
    """The scale of risk, and every hazard by its step with its way through the decision tree."""
    document = revision.document
    levels = ((choice_word(one.axis), str(one.rank), one.word, one.meaning) for one in document.risk_levels)
    yield from _table("6  The scale of likelihood and severity", "scale", revision, sheet, SCALE, levels)
    thresholds = []
    if document.significant_from:
        thresholds.append(f"A hazard is significant from likelihood × severity of {document.significant_from}.")
    if document.always_significant_severity:
        thresholds.append(f"Severity {document.always_significant_severity} and more is always significant.")
    if thresholds:
        yield words(" ".join(thresholds), SMALL_QUIET)
    yield CondPageBreak(120)
    yield _heading("6 and 7  Hazard worksheet and decision tree", "hazards", revision)
    if not document.hazards:
        yield words(own("No hazard is listed."))
        return
    yield RowTable(HAZARDS, _hazard_rows(document), sheet.paper.text_height)
    yield Spacer(1, 3)
    used = dict.fromkeys(tree_of(one.tree).title for one in document.decisions)
    asked = f" Decision tree: {'; '.join(used)}; Q1 to Q4 are its questions." if used else ""
    yield words(f"L × S: likelihood and severity as the plan grades them.{asked}", SMALL_QUIET)


def _hazard_rows(document: PlanDocument) -> Iterator[Row]:
    codes: dict[str, list[str]] = {}
    for point in document.control_points:
        for key in point.hazards:
            codes.setdefault(key, []).append(point.code)
    measures: dict[str, dict[str, None]] = {}
    for measure in document.control_measures:
        measures.setdefault(measure.hazard, {})[measure.description] = None
    trees: dict[str, list[str]] = {}
    for one in document.decisions:
        found = one.determination
        known = tree_of(one.tree).by_key
        path = ", ".join(f"{known[key].key.upper()} {TREE_WORDS[answer]}" for key, answer in found.path)
        trees.setdefault(one.hazard, []).append(f"{document.title_of(one.step)}: {path}: {found.in_short}")
    by_step: dict[str, list[Hazard]] = {}
    for hazard in document.hazards:
        by_step.setdefault(hazard.step, []).append(hazard)
    for step in document.steps:
        for place, hazard in enumerate(by_step.get(step.key, [])):
            head = (Span(Words(f"{step.position} {step.name}", LINK)),) if place == 0 else ()
            yield Row(
                (
                    *head,
                    Line(
                        (
                            f"{hazard.name} ({choice_word(hazard.kind)})",
                            f"{hazard.likelihood} × {hazard.severity}",
                            Words("yes", STRONG_FACE) if hazard.significant else "no",
                            hazard.justification,
                            "\n".join(measures.get(hazard.key, ())) or hazard.control_measure or "–",
                            ", ".join(codes.get(hazard.key, ())) or "–",
                            "\n".join(trees.get(hazard.key, ())) or ("not answered" if hazard.significant else "–"),
                        )
                    ),
                )
            )


def _code(document: PlanDocument, key: str | None) -> str:
    return str(getattr(document.by_key.get(key or ""), "code", "")) or "plan"


def _validations(document: PlanDocument) -> Iterator[tuple[str, ...]]:
    for one in sorted(document.validations, key=lambda one: natural_order(_code(document, one.control_point))):
        when = day_words(one.performed_on) if one.performed_on else ""
        yield (
            _code(document, one.control_point),
            choice_word(one.kind),
            one.statement,
            one.document,
            ", ".join(filter(None, (when, one.performed_by))),
        )


def _verifications(document: PlanDocument) -> Iterator[tuple[str, ...]]:
    for one in sorted(document.verifications, key=lambda one: natural_order(_code(document, one.control_point))):
        yield _code(document, one.control_point), one.what, one.how, describe(one.cadence), one.who


def _reviews(revision: RevisionSheet, sheet: Sheet) -> Iterator[Flowable]:
    document = revision.document
    yield CondPageBreak(70)
    yield _heading("11  Review", "review", revision)
    yield words(
        gettext("The records of each day are reviewed by a second person within {days} working days.").format(
            days=document.records_reviewed_within
        )
    )
    yield words(
        gettext("The plan is reviewed every {months} months, and when one of these occurs:").format(
            months=document.review_every_months
        )
    )
    for trigger in document.review_triggers:
        yield words(f"– {trigger.title}: {trigger.description}")
    if not document.review_triggers:
        yield words(own("Nothing is named."))
    for one in revision.reviews:
        yield words(f"Reviewed on {sheet.time.day(one.reviewed_at)} by {one.by}: {one.outcome}")


def _documents(document: PlanDocument) -> Iterator[tuple[str, ...]]:
    for one in document.documents:
        kept = f"{one.retention_days} days" if one.retention_days else ""
        yield one.name, choice_word(one.kind), one.kept_where, one.responsible, kept


def _sources(document: PlanDocument) -> Iterator[tuple[str, ...]]:
    for mark in document.borrowed:
        part: Part | None = document.by_key.get(mark.part)
        yield (label(part, document) if part else "the plan", mark.title, mark.jurisdiction, mark.edition)
