"""Reads about deviations, and the guide that leads a tired person through one."""

from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from haccp.checks.daybook import JsonDict, Section
from haccp.deviations.models import CorrectiveStep, Deviation, DeviationQuerySet, ImplicatedLot
from haccp.ledger.canonical import sha256_of
from haccp.premises.models import Premises

Kind = CorrectiveStep.Kind
MISSING_WORDS = {
    Kind.CAUSE: "Record the cause.",
    Kind.CORRECTION: "Record how control was regained.",
    Kind.PREVENTION: "Record what prevents a recurrence.",
}


@dataclass(frozen=True, slots=True)
class Guide:
    """What stands, what is missing, and the plain data that a closing signature attests."""

    implicated: tuple[ImplicatedLot, ...]
    steps: tuple[CorrectiveStep, ...]
    step_of: dict[str, CorrectiveStep]  # the last one of each kind but disposition
    disposition_of: dict[UUID, CorrectiveStep]  # lot id -> the last one
    missing: tuple[str, ...]
    content: dict[str, object] = field(repr=False)
    content_sha256: str


def guide(deviation: Deviation) -> Guide:
    implicated = tuple(deviation.implicated.select_related("lot", "lot__product"))
    steps = tuple(deviation.steps.select_related("recorded_by", "lot").order_by("recorded_at", "id"))
    step_of = {step.kind: step for step in steps if step.kind != Kind.DISPOSITION}
    disposition_of = {step.lot_id: step for step in steps if step.lot_id is not None}
    content = _content(deviation, implicated, steps)
    return Guide(
        implicated=implicated,
        steps=steps,
        step_of=step_of,
        disposition_of=disposition_of,
        missing=tuple(_missing(implicated, step_of, disposition_of)),
        content=content,
        content_sha256=sha256_of(content),
    )


def deviations_of(premises: Premises) -> DeviationQuerySet:
    return Deviation.objects.for_premises(premises).select_related("control_point", "closure")


def open_count(premises: Premises) -> int:
    return Deviation.objects.for_premises(premises).open().count()


def day_section(premises: Premises, start: datetime, end: datetime) -> Section:
    """For the day book: deviations opened or closed that day."""
    opened = deviations_of(premises).filter(opened_at__gte=start, opened_at__lt=end).order_by("opened_at")
    closed = deviations_of(premises).filter(closure__closed_at__gte=start, closure__closed_at__lt=end)
    lines = [_day_line(one, "opened") for one in opened] + [_day_line(one, "closed") for one in closed]
    return Section("Deviations", tuple(lines))


def _day_line(deviation: Deviation, what: str) -> JsonDict:
    return {"id": str(deviation.id), "reference": deviation.reference, "what": what, "text": deviation.summary}


def _missing(
    implicated: tuple[ImplicatedLot, ...],
    step_of: dict[str, CorrectiveStep],
    disposition_of: dict[UUID, CorrectiveStep],
) -> list[str]:
    missing = [sentence for kind, sentence in MISSING_WORDS.items() if kind not in step_of]
    for one in implicated:
        step = disposition_of.get(one.lot_id)
        if step is None:
            missing.append(f"Decide what happens to {one.lot.code}.")
        elif step.disposition == CorrectiveStep.Disposition.KEEP_ON_HOLD:
            missing.append(f"{one.lot.code} is kept on hold until tested; decide when the result is there.")
    return missing


def _content(
    deviation: Deviation, implicated: tuple[ImplicatedLot, ...], steps: tuple[CorrectiveStep, ...]
) -> dict[str, object]:
    return {
        "deviation": deviation.reference,
        "summary": deviation.summary,
        "occurred": deviation.occurred_at,
        "implicated": [{"lot": one.lot.code, "why": one.why} for one in implicated],
        "steps": [
            {
                "kind": step.kind,
                "text": step.text,
                "lot": step.lot.code if step.lot else "",
                "disposition": step.disposition,
                "by": step.recorded_by.name,
                "at": step.recorded_at,
            }
            for step in steps
        ],
    }
