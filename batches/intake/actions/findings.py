"""What was found of a milk lot: typed values and answers, each kept as typed beside its SI value."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from batches.intake import sealing
from batches.intake.models import MilkFinding, MilkLot
from haccp.checks.reliability import fitness
from haccp.ledger import actions as ledger
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Instrument, Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.errors import InputError
from haccp.science.units import read_typed

Kind = MilkFinding.Kind
CLOCK_TOLERANCE = timedelta(minutes=2)
BEFORE_ARRIVAL = timedelta(hours=72)  # the oldest milking that a lot may hold, where no milking time was given
ANSWERS: dict[str, tuple[str, ...]] = {
    Kind.SENSES: (MilkFinding.Answer.GOOD, MilkFinding.Answer.OFF),
    Kind.RESIDUES: (MilkFinding.Answer.NEGATIVE, MilkFinding.Answer.POSITIVE),
}


@dataclass(frozen=True, slots=True)
class FindingTyped:
    """finding_id: made by the client. text: as typed, or one of the answers of the kind. field: where a sentence about
    it is shown; the kind when empty."""

    finding_id: UUID
    kind: str
    text: str
    observed_at: datetime
    unit: str = ""
    instrument_id: UUID | None = None
    note: str = ""
    field: str = ""


@transaction.atomic
def findings_record(
    *, scope: Scope, lot_id: UUID, findings: Sequence[FindingTyped], now: datetime | None = None
) -> list[MilkFinding]:
    """Adds findings to a milk lot; all or none. The same finding_id sent again gives the one already there.

    Raises ActionError with a sentence per field: a number that cannot be, a time before the milking or in the future.
    """
    scope.require(Right.RECORD)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    now = now or timezone.now()
    milk = MilkLot.objects.select_related("lot").filter(lot__premises=scope.premises, pk=lot_id).first()
    if milk is None:
        raise ActionError("There is no such milk at this dairy.", field="lot")
    if not findings:
        raise ActionError("Type at least one thing that was found.")
    return write_findings(scope=scope, milk=milk, findings=findings, now=now)


def write_findings(
    *, scope: Scope, milk: MilkLot, findings: Sequence[FindingTyped], now: datetime
) -> list[MilkFinding]:
    """Inside the transaction of the caller, which has locked the premises."""
    there = {one.pk: one for one in MilkFinding.objects.filter(pk__in=[typed.finding_id for typed in findings])}
    wrong: dict[str, str] = {}
    rows: list[MilkFinding] = []
    for typed in findings:
        if typed.finding_id in there:
            _refuse_other_content(there[typed.finding_id], typed, milk)
            rows.append(there[typed.finding_id])
            continue
        try:
            rows.append(_read(scope, milk, typed, now))
        except InputError as error:
            wrong[typed.field or typed.kind] = str(error)
        except ActionError as error:
            wrong[typed.field or typed.kind] = error.message
    if wrong:
        first = next(iter(wrong.values()))
        raise ActionError(first if len(wrong) == 1 else f"{len(wrong)} entries need correcting.", fields=wrong)
    fresh = [row for row in rows if row.pk not in there]
    MilkFinding.objects.bulk_create(fresh)
    for row in fresh:
        ledger.seal(
            log_id=scope.log_id,
            kind="milk.found",
            subject=f"finding:{row.id}",
            body=sealing.finding_body(row),
            actor=scope.actor,
            at=now,
        )
    return rows


def _read(scope: Scope, milk: MilkLot, typed: FindingTyped, now: datetime) -> MilkFinding:
    if typed.kind not in Kind.values:
        raise ActionError("Choose what was found from the list.")
    earliest = milk.milked_from or milk.lot.begun_at - BEFORE_ARRIVAL
    if typed.observed_at > now + CLOCK_TOLERANCE:
        raise ActionError("That time is in the future; correct the time.")
    if typed.observed_at < earliest:
        raise ActionError("That is before the milking; correct the time.")
    instrument = None
    if typed.instrument_id is not None:
        instrument = Instrument.objects.filter(premises=scope.premises, pk=typed.instrument_id).first()
        if instrument is None:
            raise ActionError("There is no such instrument at this dairy; choose one from the list.")
    row = MilkFinding(
        id=typed.finding_id,
        lot=milk.lot,
        kind=typed.kind,
        observed_at=typed.observed_at,
        instrument=instrument,
        note=typed.note.strip(),
        recorded_at=now,
        recorded_by=scope.user,
    )
    if typed.kind in ANSWERS:
        if typed.text not in ANSWERS[typed.kind]:
            raise ActionError(f"Choose one of: {', '.join(ANSWERS[typed.kind])}.")
        row.answer = typed.text
        return row
    read = read_typed(typed.kind, typed.text.strip(), typed.unit)
    row.value_si, row.typed_text, row.typed_unit = read.value_si, read.text, read.unit
    uncertainty, unfit = fitness(instrument, scope.premises, typed.observed_at, {typed.kind: [row.value_si]})
    row.expanded_uncertainty, row.unfit = uncertainty, unfit or ""
    return row


def _refuse_other_content(there: MilkFinding, typed: FindingTyped, milk: MilkLot) -> None:
    kept = (there.lot_id, there.kind, there.typed_text or there.answer, there.observed_at)
    if kept != (milk.pk, typed.kind, typed.text.strip(), typed.observed_at):
        raise Conflict("This finding was already sent with other content; start a new entry.")
