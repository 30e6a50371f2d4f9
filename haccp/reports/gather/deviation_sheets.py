"""Deviations with all that was done about them."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Prefetch

from haccp.deviations.models import CorrectiveStep, Deviation, ImplicatedLot
from haccp.reports.gather.counts import point_key
from haccp.reports.gather.evidence import Evidence
from haccp.reports.gather.scope import PackScope, in_groups

SHEETS_PER_QUERY = 100


@dataclass(frozen=True, slots=True)
class StepLine:
    ref: str
    kind: str
    lot: str
    disposition: str
    text: str
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Closed:
    by: str
    at: datetime
    statement: str
    ref: str
    content_sha256: str


@dataclass(frozen=True, slots=True)
class DeviationSheet:
    """record: (ref, id) of the record whose ruling opened it, when that record is in the pack. steps: in the order they
    were sealed."""

    id: UUID
    reference: str
    ref: str
    control_point: str
    point_key: str
    is_critical: bool
    summary: str
    cause: str
    reason: str
    prescribed: str
    occurred_at: datetime
    opened_at: datetime
    opened_by: str
    exposed_from: datetime | None
    record: tuple[str, UUID] | None
    missed_ref: str
    implicated: tuple[tuple[str, str, str], ...]
    steps: tuple[StepLine, ...]
    closed: Closed | None


def deviation_sheets(scope: PackScope, evidence: Evidence) -> Iterator[DeviationSheet]:
    """By number, a hundred at a time; a constant number of queries for each."""
    shown = set(scope.record_ids)
    for group in in_groups(scope.deviation_ids, SHEETS_PER_QUERY):
        rows = (
            Deviation.objects.filter(id__in=group)
            .select_related("control_point", "opened_by", "ruling__record", "missed", "closure__signature")
            .prefetch_related(
                Prefetch("implicated", queryset=ImplicatedLot.objects.select_related("lot__product")),
                Prefetch(
                    "steps",
                    queryset=CorrectiveStep.objects.select_related("lot", "recorded_by"),
                ),
            )
        )
        found = {row.id: row for row in rows}
        yield from (_sheet(found[one], evidence, shown) for one in group)


def _sheet(deviation: Deviation, evidence: Evidence, shown: set[UUID]) -> DeviationSheet:
    ruling = deviation.ruling
    record = ruling.record_id if ruling else None
    point = deviation.control_point
    return DeviationSheet(
        id=deviation.id,
        reference=deviation.reference,
        ref=evidence.ref(f"deviation:{deviation.id}"),
        control_point=str(point),
        point_key=point_key(point.code),
        is_critical=point.is_critical,
        summary=deviation.summary,
        cause=deviation.get_cause_display(),
        reason=ruling.reason if ruling else "",
        prescribed=point.corrective_action,
        occurred_at=deviation.occurred_at,
        opened_at=deviation.opened_at,
        opened_by=deviation.opened_by.name if deviation.opened_by else "the schedule",
        exposed_from=deviation.exposed_from,
        record=(evidence.ref(f"record:{record}"), record) if record in shown and record is not None else None,
        missed_ref=evidence.ref(f"missed:{deviation.missed_id}") if deviation.missed_id else "",
        implicated=tuple(
            (one.lot.code, one.lot.product.name if one.lot.product else one.lot.get_kind_display(), one.why)
            for one in deviation.implicated.all()
        ),
        steps=tuple(
            _step(step, evidence)
            for step in sorted(
                deviation.steps.all(), key=lambda s: (s.recorded_at, evidence.entry_of.get(f"step:{s.id}", 0))
            )
        ),
        closed=_closed(deviation, evidence),
    )


def _step(step: CorrectiveStep, evidence: Evidence) -> StepLine:
    return StepLine(
        ref=evidence.ref(f"step:{step.id}"),
        kind=step.get_kind_display(),
        lot=step.lot.code if step.lot else "",
        disposition=step.get_disposition_display() if step.disposition else "",
        text=step.text,
        by=step.recorded_by.name,
        at=step.recorded_at,
    )


def _closed(deviation: Deviation, evidence: Evidence) -> Closed | None:
    closure = getattr(deviation, "closure", None)
    if closure is None:
        return None
    signature = closure.signature
    return Closed(
        by=signature.printed_name,
        at=signature.signed_at,
        statement=signature.statement,
        ref=evidence.ref(f"signature:{signature.id}"),
        content_sha256=signature.content_sha256,
    )
