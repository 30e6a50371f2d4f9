"""Whether the plan is kept true: its review, its sources, and what was left open."""

from collections.abc import Iterator

from haccp.plan.document.own_review import is_review
from haccp.plan.document.parts import Part
from haccp.plan.findings.examined import Examined
from haccp.plan.findings.finding import Found, Severity, rule
from haccp.science.working_days import REVIEW_WITHIN_WORKING_DAYS

REVIEW = "CXC 1-1969 (2022), chapter two, step 11: review; Regulation (EC) 852/2004, article 5(2)"
RECORDS_US = "21 CFR 117.165(a)(4) (from memory)"
SOURCES = "the source that replaced it; see the finding"
OWN = "a value of a plan is the producer's own judgement (CXC 1-1969 (2022), chapter two, step 8)"


@rule("review.overdue", REVIEW, Severity.WARNS, remedy="Review the plan and sign the review.")
def overdue(plan: Examined) -> Iterator[Found]:
    here = plan.circumstances
    if here.review_due_on is not None and here.review_due_on < here.today:
        reasons = "; ".join(here.review_reasons)
        yield Found(None, f"A review of the plan has been due since {here.review_due_on:%Y-%m-%d}: {reasons}.")


@rule(
    "review.no_check", REVIEW, Severity.WARNS, remedy="Add a check that is due when the review of the plan falls due."
)
def no_check(plan: Examined) -> Iterator[Found]:
    if not any(is_review(check) for check in plan.document.checks):
        yield Found(None, "No check reminds anybody of the review of the plan.")


@rule("review.no_triggers", REVIEW, Severity.NOTES, remedy="Name what makes you review it before its yearly review.")
def no_triggers(plan: Examined) -> Iterator[Found]:
    if not plan.document.review_triggers:
        yield Found(None, "It is not said what makes the plan be reviewed before its time.")


@rule(
    "review.records_later_than_law", RECORDS_US, Severity.WARNS,
    remedy="Give seven working days at most, or keep with the plan the written reason why longer is reasonable.",
)  # fmt: skip
def records_later_than_law(plan: Examined) -> Iterator[Found]:
    given = plan.document.records_reviewed_within
    if plan.circumstances.jurisdiction == "US" and given > REVIEW_WITHIN_WORKING_DAYS:
        yield Found(
            None,
            f"The plan has each day reviewed within {given} working days; the law gives monitoring and "
            f"corrective-action records {REVIEW_WITHIN_WORKING_DAYS}.",
        )


@rule("source.superseded", SOURCES, Severity.WARNS, remedy="Read the new text, and correct the value if it changed.")
def superseded(plan: Examined) -> Iterator[Found]:
    for part, citation in _citations(plan):
        text = citation.lower()
        for old in plan.circumstances.superseded:
            if old.mark in text:
                since = f" since {old.since}" if old.since else ""
                yield Found(part, f"“{citation}” was replaced{since} by {old.by}.")
    for mark in plan.document.borrowed:
        by = plan.circumstances.replaced_entries.get(mark.entry)
        if by is not None:
            now = f": {by}" if by else ", and nothing took its place"
            yield Found(
                plan.document.by_key.get(mark.part, mark),
                f"The library's value behind “{mark.title}” was replaced{now}.",
            )


def _citations(plan: Examined) -> Iterator[tuple[Part, str]]:
    document = plan.document
    for limit in document.limits:
        yield limit, f"{limit.source_document} {limit.source_clause}".strip()
    for mark in document.borrowed:
        yield plan.document.by_key.get(mark.part, mark), mark.title
    for validation in document.validations:
        yield validation, validation.document


@rule(
    "source.other_jurisdiction", OWN, Severity.WARNS, remedy="Take the value of your own law, or say why this one fits."
)
def other_jurisdiction(plan: Examined) -> Iterator[Found]:
    here = plan.circumstances.jurisdiction
    for mark in plan.document.borrowed:
        home = mark.jurisdiction.split("-")[0]
        if home and home not in (here, "Codex"):
            yield Found(
                plan.document.by_key.get(mark.part, mark),
                f"A value was taken from {mark.jurisdiction}: {mark.title}. The dairy is under {here}.",
            )


@rule("judgement.open", OWN, Severity.BLOCKS, remedy="Answer it in your own words.")
def open_judgement(plan: Examined) -> Iterator[Found]:
    for judgement in plan.document.judgements:
        if judgement.is_open:
            yield Found(judgement, f"Still open: {judgement.question}")
