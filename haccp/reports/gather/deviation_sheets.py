"""Deviations with all that was done about them."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Prefetch

from haccp.deviations.models import CorrectiveStep, Deviation, ImplicatedLot, LotEnd, Task, Widening
from haccp.deviations.models import Evidence as Attached
from haccp.reports.dates import day_words
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
                Prefetch("steps", queryset=CorrectiveStep.objects.select_related("lot", "recorded_by")),
                Prefetch(
                    "widenings", queryset=Widening.objects.select_related("recorded_by").prefetch_related("lots__lot")
                ),
                Prefetch("tasks", queryset=Task.objects.select_related("owner", "recorded_by", "done__done_by")),
                Prefetch("evidence", queryset=Attached.objects.select_related("attached_by").defer("deflated")),
                Prefetch("ends", queryset=LotEnd.objects.select_related("lot", "recorded_by")),
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
        steps=tuple(sorted(_steps(deviation, evidence), key=lambda step: (step.at, _number(step.ref)))),
        closed=_closed(deviation, evidence),
    )


def _number(ref: str) -> int:
    return int(ref[1:]) if ref[1:].isdigit() else 0


def _steps(deviation: Deviation, evidence: Evidence) -> Iterator[StepLine]:
    """Steps of the corrective action, further lots, what was to be done and was, what was attached, lots that ended."""
    yield from (_step(step, evidence) for step in deviation.steps.all())
    for wider in deviation.widenings.all():
        lots = "\n".join(sorted(one.lot.code for one in wider.lots.all()))
        ref = evidence.ref(f"widening:{wider.pk}")
        yield StepLine(ref, "further lots", lots, "", wider.reason, wider.recorded_by.name, wider.recorded_at)
    for task in deviation.tasks.all():
        words = f"{task.title}. {task.owner.name}, by {day_words(task.due_on)}"
        ref = evidence.ref(f"task:{task.pk}")
        yield StepLine(ref, str(task.get_kind_display()), "", "", words, task.recorded_by.name, task.recorded_at)
        done = getattr(task, "done", None)
        if done is not None:
            worked = "" if done.worked is None else "it worked" if done.worked else "it did not work"
            words = f"{task.title}: {done.note}"
            ref = evidence.ref(f"task_done:{task.pk}")
            yield StepLine(ref, "done", "", worked, words, done.done_by.name, done.done_at)
    for file in deviation.evidence.all():
        words = f"{file.filename}, {file.size_bytes} bytes, SHA-256 {file.sha256}. {file.note}".strip()
        ref = evidence.ref(f"evidence:{file.pk}")
        yield StepLine(ref, "attached", "", "", words, file.attached_by.name, file.attached_at)
    for end in deviation.ends.all():
        ref, how = evidence.ref(f"lot_end:{end.pk}"), str(end.get_disposition_display())
        yield StepLine(ref, "lot is no more", end.lot.code, how, end.note, end.recorded_by.name, end.ended_at)


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
