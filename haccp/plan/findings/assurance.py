"""Steps 11 and 12: validation, verification, documents and records."""

from collections.abc import Iterator

from haccp.plan.findings.examined import Examined
from haccp.plan.findings.finding import Found, Severity, rule

STEP_11 = "CXC 1-1969 (2022), chapter two, step 11 (principle 6)"
STEP_12 = "CXC 1-1969 (2022), chapter two, step 12 (principle 7)"


@rule("verification.none", STEP_11, Severity.WARNS, remedy="Add one, such as a weekly review of the records.")
def no_verification(plan: Examined) -> Iterator[Found]:
    if not plan.document.verifications:
        yield Found(None, "No activity verifies that the plan as a whole is followed and works.")


@rule("verification.nobody", STEP_11, Severity.WARNS, remedy="Say whose task it is; not of who does the monitoring.")
def nobody(plan: Examined) -> Iterator[Found]:
    for row in plan.document.verifications:
        if not row.who.strip():
            yield Found(row, f"It is not said who does “{row.what}”.")


@rule("validation.no_document", STEP_11, Severity.WARNS, remedy="Name the document, and when it was made.")
def no_document(plan: Examined) -> Iterator[Found]:
    for validation in plan.document.validations:
        if not validation.document.strip():
            yield Found(validation, f"The validation “{validation.statement}” names no document.")


@rule("documents.none", STEP_12, Severity.WARNS, remedy="List the documents and records of the plan.")
def no_documents(plan: Examined) -> Iterator[Found]:
    if not plan.document.documents:
        yield Found(None, "The documents and records that belong to the plan are not listed.")


@rule("documents.no_retention", STEP_12, Severity.WARNS, remedy="Say for how long it is kept.")
def no_retention(plan: Examined) -> Iterator[Found]:
    for document in plan.document.documents:
        if document.kind == "record" and document.retention_days is None:
            yield Found(document, f"It is not said for how long “{document.name}” is kept.")
