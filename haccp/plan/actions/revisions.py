"""Revisions: drafted, copied, approved. An approved one is frozen by the database."""

from datetime import datetime

from django.db import transaction
from django.db.models import Max

from haccp.ledger import actions as ledger
from haccp.ledger.canonical import sha256_of
from haccp.plan import consequences
from haccp.plan.actions.editable import editable
from haccp.plan.document.file import as_json
from haccp.plan.document.own_review import review_parts
from haccp.plan.findings import Finding, examine
from haccp.plan.models import PlanRevision
from haccp.plan.queries import circumstances_of, revision_in_force
from haccp.plan.rows import HEADER, Names, add_parts, read_plan
from haccp.premises.actions import confirm_identity
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.working_days import REVIEW_WITHIN_WORKING_DAYS

APPROVAL_STATEMENT = "I approve this revision of the food-safety plan; it is in force from the date stated."
SENTENCES_SHOWN = 3


@transaction.atomic
def revision_draft(*, scope: Scope, scope_statement: str, change_summary: str, at: datetime) -> PlanRevision:
    """A new draft with the next number, empty but for the check of its own review."""
    draft = revision_bare(scope=scope, scope_statement=scope_statement, change_summary=change_summary, at=at)
    add_parts(draft, review_parts(read_plan(draft)), Names.of(draft))
    return draft


@transaction.atomic
def revision_bare(*, scope: Scope, scope_statement: str, change_summary: str, at: datetime) -> PlanRevision:
    """A new draft with nothing in it, for the parts of another plan."""
    scope.require(Right.EDIT_PLAN)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    last = PlanRevision.objects.for_premises(scope.premises).aggregate(last=Max("number"))["last"] or 0
    return PlanRevision.objects.create(
        premises=scope.premises,
        number=last + 1,
        scope_statement=scope_statement,
        change_summary=change_summary,
        drafted_at=at,
        drafted_by=scope.user,
    )


@transaction.atomic
def revision_copy(
    *, scope: Scope, change_summary: str, at: datetime, source: PlanRevision | None = None
) -> PlanRevision:
    """A new draft with every part of the revision in force, or of source. Parts keep their keys.

    Raises ActionError where no revision is in force yet, or where source is of another dairy.
    """
    scope.require(Right.EDIT_PLAN)
    source = source or revision_in_force(scope.premises, at)
    if source is None:
        raise ActionError("No revision is in force yet; begin with an empty draft.")
    if source.premises_id != scope.premises.pk:
        raise ActionError("There is no such plan at this dairy.")
    document = read_plan(source)
    draft = revision_bare(scope=scope, scope_statement="", change_summary="", at=at)
    for name in HEADER:
        setattr(draft, name, getattr(document, name))
    draft.change_summary = change_summary
    draft.save(update_fields=HEADER)
    add_parts(draft, (part for _, part in document.parts()), Names.of(draft))
    return draft


@transaction.atomic
def revision_change(
    *,
    scope: Scope,
    revision: PlanRevision,
    scope_statement: str,
    change_summary: str,
    significant_from: int | None,
    always_significant_severity: int | None,
    review_every_months: int,
    records_reviewed_within: int = REVIEW_WITHIN_WORKING_DAYS,
) -> PlanRevision:
    """What a draft says of itself: its scope, why it was made, its threshold of significance, its review."""
    draft = editable(scope, revision)
    for field, value, low, high in (
        ("significant_from", significant_from, 1, 100),
        ("always_significant_severity", always_significant_severity, 1, 10),
        ("review_every_months", review_every_months, 1, 60),
        ("records_reviewed_within", records_reviewed_within, 1, 20),
    ):
        if value is not None and not low <= value <= high:
            raise ActionError(f"Give a number from {low} to {high}.", field=field)
    draft.scope_statement, draft.change_summary = scope_statement, change_summary
    draft.significant_from = significant_from
    draft.always_significant_severity = always_significant_severity
    draft.review_every_months = review_every_months
    draft.records_reviewed_within = records_reviewed_within
    draft.save(update_fields=HEADER)
    return draft


@transaction.atomic
def revision_discard(*, scope: Scope, revision: PlanRevision, at: datetime) -> PlanRevision:
    """Puts a draft away: nothing of it is lost, its number is not used again, and the log notes it.

    Sent twice, it is discarded once. Raises ActionError for a plan of another dairy and an approved one.
    """
    return _put_away(scope, revision, "plan.draft_discarded", at, at)


@transaction.atomic
def revision_restore(*, scope: Scope, revision: PlanRevision, at: datetime) -> PlanRevision:
    """Brings a discarded draft back as it was. Raises as revision_discard."""
    return _put_away(scope, revision, "plan.draft_restored", None, at)


def _put_away(
    scope: Scope, revision: PlanRevision, kind: str, discarded_at: datetime | None, at: datetime
) -> PlanRevision:
    scope.require(Right.EDIT_PLAN)
    locked = PlanRevision.objects.select_for_update(of=("self",)).filter(pk=revision.pk).first()
    if locked is None or locked.premises_id != scope.premises.pk:
        raise ActionError("There is no such plan at this dairy.")
    if locked.is_approved:
        raise ActionError(f"{locked} is approved and stays; a new revision takes its place.")
    if locked.is_discarded == (discarded_at is not None):
        return locked
    locked.discarded_at = discarded_at
    locked.save(update_fields=["discarded_at"])
    ledger.seal(
        log_id=scope.log_id,
        kind=kind,
        subject=f"plan:{locked.pk}",
        body={"revision": locked.number, "plan_sha256": sha256_of(as_json(read_plan(locked)))},
        actor=scope.actor,
        at=at,
    )
    return locked


@transaction.atomic
def revision_approve(
    *,
    scope: Scope,
    revision: PlanRevision,
    effective_from: datetime,
    password: str,
    at: datetime,
    seen_sha256: str = "",
    seen_plan_sha256: str = "",
) -> PlanRevision:
    """Signs a draft. From then on the database refuses any change to it or its parts.

    Moves: lock; examine the plan and refuse while a finding blocks; sign the whole plan as it is exported, with the
    findings that stood; freeze; let the rooms above follow (see haccp.plan.consequences).
    seen_sha256: of approval_content as the person saw it; seen_plan_sha256: of the plan alone as it is exported, where
    the start is typed on the page that shows it. When given, a plan that changed meanwhile is refused.
    Raises ActionError that names what blocks, Conflict for a revision that is approved already or was changed.
    """
    scope.require(Right.APPROVE_PLAN)
    method = confirm_identity(scope=scope, password=password)
    locked = PlanRevision.objects.select_for_update(of=("self",)).filter(pk=revision.pk).first()
    if locked is None or locked.premises_id != scope.premises.pk:
        raise ActionError("There is no such plan at this dairy.")
    if locked.is_approved:
        raise Conflict(f"{locked} is approved already.")
    if locked.is_discarded:
        raise Conflict(f"{locked} was discarded; bring it back before you approve it.")
    content, findings = approval_content(locked, effective_from, at)
    if (seen_sha256 and seen_sha256 != sha256_of(content)) or (
        seen_plan_sha256 and seen_plan_sha256 != sha256_of(content["plan"])
    ):
        raise Conflict(f"{locked} was changed since you read it; read it again before you approve it.")
    _refuse_blocked(findings)
    locked.approval = ledger.sign(
        log_id=scope.log_id,
        signer_id=str(scope.user.id),
        printed_name=scope.user.name,
        meaning="plan.approved",
        statement=APPROVAL_STATEMENT,
        content=content,
        method=method,
        at=at,
    )
    locked.effective_from = effective_from
    locked.save(update_fields=["approval", "effective_from"])
    consequences.revision_approved(locked, at)
    return locked


def approval_content(
    revision: PlanRevision, effective_from: datetime, at: datetime
) -> tuple[dict[str, object], list[Finding]]:
    """What an approval signs: the plan exactly as it is exported, its start, and the findings that stood."""
    document = read_plan(revision)
    findings = examine(document, circumstances_of(revision, document, at))
    content: dict[str, object] = {
        "revision": revision.number,
        "effective_from": effective_from,
        "plan": as_json(document),
        "findings": [finding.as_json() for finding in findings],
    }
    return content, findings


def _refuse_blocked(findings: list[Finding]) -> None:
    blocking = [finding for finding in findings if finding.blocks]
    if blocking:
        shown = " ".join(f"{finding.sentence} {finding.remedy}" for finding in blocking[:SENTENCES_SHOWN])
        rest = len(blocking) - SENTENCES_SHOWN
        more = f" And {rest} more: see the findings." if rest > 0 else ""
        raise ActionError(f"{shown}{more}")
