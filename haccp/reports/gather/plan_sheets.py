"""The plan as a visitor reads it: the revision in force at the end of the period in full, and those before it."""

from dataclasses import dataclass
from datetime import date, datetime

from haccp.plan.document import PlanDocument
from haccp.plan.document.fingerprint import flow_sha256
from haccp.plan.models import Check, ControlPoint, CriticalLimit, FlowConfirmation, PlanReview, PlanRevision
from haccp.plan.queries import PlanInWords, in_words
from haccp.plan.rows import read_plan
from haccp.reports.gather.counts import point_key
from haccp.reports.gather.scope import PackScope, natural_order
from haccp.science.schedule import describe
from haccp.science.units import show


@dataclass(frozen=True, slots=True)
class StepRow:
    position: int
    name: str
    description: str
    products: str


@dataclass(frozen=True, slots=True)
class HazardRow:
    step: str
    kind: str
    name: str
    likelihood: int
    severity: int
    is_significant: bool
    justification: str
    control_measure: str
    control_points: str


@dataclass(frozen=True, slots=True)
class LimitRow:
    statement: str
    target: str
    source: str
    products: str


@dataclass(frozen=True, slots=True)
class CheckRow:
    """what: the measures. when: the cadence in words."""

    name: str
    what: str
    how: str
    when: str
    who: str
    where: str


@dataclass(frozen=True, slots=True)
class PointSheet:
    title: str
    key: str
    is_critical: bool
    step: str
    hazards: str
    programme: str
    limits: tuple[LimitRow, ...]
    checks: tuple[CheckRow, ...]
    corrective_action: str
    disposition: str
    verification: str


@dataclass(frozen=True, slots=True)
class ConfirmationRow:
    """Of the flow exactly as this revision has it."""

    confirmed_on: date
    by: str
    note: str


@dataclass(frozen=True, slots=True)
class ReviewRow:
    reviewed_at: datetime
    by: str
    outcome: str


@dataclass(frozen=True, slots=True)
class RevisionSheet:
    """until: when the next revision came into force, None while it is in force. effective_from: None for a draft."""

    number: int
    effective_from: datetime | None
    until: datetime | None
    scope_statement: str
    change_summary: str
    approved_by: str
    approved_at: datetime | None
    approval_statement: str
    products: tuple[str, ...]
    steps: tuple[StepRow, ...]
    hazards: tuple[HazardRow, ...]
    points: tuple[PointSheet, ...]
    document: PlanDocument
    confirmations: tuple[ConfirmationRow, ...]
    reviews: tuple[ReviewRow, ...]


def revision_sheet(revision: PlanRevision, until: datetime | None = None) -> RevisionSheet:
    """One revision, a draft too."""
    return _sheet(in_words(revision), until)


def revision_sheets(scope: PackScope) -> tuple[RevisionSheet, ...]:
    """The latest first; a constant number of queries for each revision."""
    rows = PlanRevision.objects.filter(id__in=scope.revision_ids).select_related("approval", "premises")
    by_id = {row.id: row for row in rows}
    sheets: list[RevisionSheet] = []
    until: datetime | None = None
    for revision_id in scope.revision_ids:
        plan = in_words(by_id[revision_id])
        sheets.append(_sheet(plan, until))
        until = plan.revision.effective_from
    return tuple(sheets)


def _sheet(plan: PlanInWords, until: datetime | None) -> RevisionSheet:
    revision = plan.revision
    approval = revision.approval
    document = read_plan(revision)
    fingerprint = flow_sha256(document)
    return RevisionSheet(
        number=revision.number,
        effective_from=revision.effective_from,
        until=until,
        scope_statement=revision.scope_statement,
        change_summary=revision.change_summary,
        approved_by=approval.printed_name if approval else "",
        approved_at=approval.signed_at if approval else None,
        approval_statement=approval.statement if approval else "",
        products=tuple(
            f"{product.name} ({product.code}): {product.get_species_display()} milk, {product.get_treatment_display()}"
            for product in plan.products
        ),
        steps=tuple(
            StepRow(step.position, step.name, step.description, _names(step.products.all())) for step in plan.steps
        ),
        hazards=tuple(
            HazardRow(
                hazard.step.name,
                hazard.get_kind_display(),
                hazard.name,
                hazard.likelihood,
                hazard.severity,
                hazard.significant,
                hazard.justification,
                hazard.control_measure,
                ", ".join(point.code for point in hazard.control_points.all()),
            )
            for hazard in plan.hazards
        ),
        points=tuple(_point(point) for point in _in_order(plan)),
        document=document,
        confirmations=tuple(
            ConfirmationRow(one.confirmed_on, one.signature.printed_name, one.note)
            for one in FlowConfirmation.objects.filter(
                revision__premises=revision.premises_id, flow_sha256=fingerprint
            ).select_related("signature")
        ),
        reviews=tuple(
            ReviewRow(one.reviewed_at, one.signature.printed_name, one.outcome)
            for one in PlanReview.objects.filter(revision=revision).select_related("signature")
        ),
    )


def _in_order(plan: PlanInWords) -> list[ControlPoint]:
    """Critical ones first, then by code."""
    return sorted(plan.control_points, key=lambda point: (not point.is_critical, natural_order(point.code)))


def _point(point: ControlPoint) -> PointSheet:
    return PointSheet(
        title=str(point),
        key=point_key(point.code),
        is_critical=point.is_critical,
        step=point.step.name if point.step else "",
        hazards="; ".join(hazard.name for hazard in point.hazards.all()),
        programme=point.programme,
        limits=tuple(_limit(limit) for limit in point.limits.all()),
        checks=tuple(_check(check) for check in point.checks.all()),
        corrective_action=point.corrective_action,
        disposition=point.disposition,
        verification=point.verification,
    )


def _limit(limit: CriticalLimit) -> LimitRow:
    return LimitRow(
        statement=limit.statement,
        target=_target(limit),
        source=", ".join(part for part in (limit.source_document, limit.source_clause) if part),
        products=_names(limit.products.all()),
    )


def _target(limit: CriticalLimit) -> str:
    low, high = (
        None if value is None else show(limit.quantity, value, limit.unit)
        for value in (limit.target_low, limit.target_high)
    )
    if low and high:
        return f"{low} to {high}"
    return f"at least {low}" if low else f"at most {high}" if high else ""


def _check(check: Check) -> CheckRow:
    return CheckRow(
        name=check.name,
        what=", ".join(measure.label for measure in check.measures.all()),
        how=check.how,
        when=describe(check.cadence, window_before_s=check.window_before_s, grace_s=check.grace_s),
        who=check.who,
        where=check.place.name if check.place else check.get_subject_display(),
    )


def _names(rows: object) -> str:
    return ", ".join(str(row) for row in rows)  # type: ignore[attr-defined]
