"""Every check of a plan as a form to be written on, for the day on which the power is out."""

from dataclasses import dataclass
from uuid import UUID

from haccp.plan.models import Check, Measure, PlanRevision
from haccp.plan.queries import checks_of
from haccp.reports.gather.scope import natural_order
from haccp.science.schedule import describe
from haccp.science.units import quantity_of, unit_of


@dataclass(frozen=True, slots=True)
class Blank:
    """One thing to write down. hint: its unit, the answers to choose from, or what is to be kept."""

    label: str
    hint: str


@dataclass(frozen=True, slots=True)
class FormSheet:
    """about: what each line is written about ("Batch"), empty for the dairy or one place."""

    check_id: UUID
    point: str
    is_critical: bool
    check: str
    how: str
    when: str
    who: str
    where: str
    limits: tuple[str, ...]
    corrective_action: str
    about: str
    blanks: tuple[Blank, ...]
    needs_instrument: bool


def form_sheets(revision: PlanRevision, check_id: UUID | None = None) -> tuple[FormSheet, ...]:
    """Of one check or of all, critical control points first; a constant number of queries."""
    checks = [check for check in checks_of(revision) if check_id is None or check.id == check_id]
    ordered = sorted(
        checks,
        key=lambda one: (not one.control_point.is_critical, natural_order(one.control_point.code), one.name),
    )
    return tuple(_form(check) for check in ordered)


def _form(check: Check) -> FormSheet:
    measures = list(check.measures.all())
    limits = {limit.statement: None for measure in measures for limit in measure.limits.all()}
    about = {Check.Subject.MILK: "Milk lot", Check.Subject.BATCH: "Batch"}.get(Check.Subject(check.subject), "")
    return FormSheet(
        check_id=check.id,
        point=str(check.control_point),
        is_critical=check.control_point.is_critical,
        check=check.name,
        how=check.how,
        when=describe(check.cadence, window_before_s=check.window_before_s, grace_s=check.grace_s),
        who=check.who,
        where=check.place.name if check.place else check.get_subject_display(),
        limits=tuple(limits),
        corrective_action=check.control_point.corrective_action,
        about=about,
        blanks=tuple(_blank(measure) for measure in measures),
        needs_instrument=bool(check.instrument_kind),
    )


def _blank(measure: Measure) -> Blank:
    if measure.kind == Measure.Kind.RECORDER_FILE:
        return Blank(measure.label, "recorder on? keep its file")
    if measure.kind == Measure.Kind.ANSWER:
        return Blank(measure.label, " / ".join(map(str, measure.choices)))
    if measure.quantity:
        quantity = quantity_of(measure.quantity)
        return Blank(measure.label, unit_of(quantity, measure.unit).symbol if measure.unit else quantity.si_unit)
    return Blank(measure.label, "")
