"""A stage of the make sheet: begun, read, done or left out, with what was read and what went in."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone

from batches.making import sealing
from batches.making.actions.brine import batch_lay_in_brine
from batches.making.actions.serving import serve_checks
from batches.making.actions.uses import UseTyped, write_uses
from batches.making.course import EVENTS
from batches.making.judging import judged
from batches.making.models import Make, ProcedureStage, StageKind, StageMark, StageReading
from haccp.checks.actions import event_correct, event_record, event_withdraw
from haccp.checks.reliability import fitness
from haccp.ledger import actions as ledger
from haccp.lots.models import LotEvent
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Instrument, Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.errors import InputError
from haccp.science.making.flocculation import set_time
from haccp.science.units import read_typed

What = StageMark.What
CLOCK_TOLERANCE = timedelta(minutes=2)


@dataclass(frozen=True, slots=True)
class ReadingTyped:
    """what: a StageReading.What. text as typed, in unit."""

    what: str
    text: str
    unit: str = ""
    instrument_id: UUID | None = None


@transaction.atomic
def stage_record(
    *,
    scope: Scope,
    mark_id: UUID,
    make_id: UUID,
    stage_id: UUID,
    what: str,
    at: datetime,
    readings: Sequence[ReadingTyped] = (),
    uses: Sequence[UseTyped] = (),
    note: str = "",
    exception: str = "",
    brine_id: UUID | None = None,
    corrects_id: UUID | None = None,
    reason: str = "",
    now: datetime | None = None,
) -> StageMark:
    """Adds a mark to a stage.

    Moves: lock the premises; find batch and stage here; refuse a moment that cannot be; read and judge each value by
    the stage's limits; write and seal; link what went in; record the event of the make that the stage stands for, so
    that the plan's checks fall due; record those of the plan's checks that ask for what was read just now.
    brine_id: what the batch is laid in, at a stage of salting. corrects_id, reason: the mark that was wrong, and why.
    The same mark_id sent again gives the mark already there. Raises ActionError with a sentence per field, Conflict
    for a stage that somebody has done already.
    """
    scope.require(Right.RECORD)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    now = now or timezone.now()
    there = StageMark.objects.filter(pk=mark_id).first()
    if there is not None:
        if (there.make_id, there.stage_id, there.what, there.note) != (make_id, stage_id, what, note.strip()):
            raise Conflict("This was already sent with other content; start a new entry.")
        return there
    make = Make.objects.select_related("lot", "lot__premises").filter(lot__premises=scope.premises, pk=make_id).first()
    stage = ProcedureStage.objects.filter(procedure=make.procedure_id, pk=stage_id).first() if make else None
    if make is None or stage is None:
        raise ActionError("This batch's procedure has no such stage.", field="stage")
    if what not in What.values:
        raise ActionError("Say whether the stage began, was read, is done or was left out.", field="what")
    others = list(make.marks.filter(corrected_by__isnull=True).select_related("stage").order_by("at", "recorded_at"))
    corrected = _corrected(others, stage, corrects_id, reason)
    others = [one for one in others if one is not corrected]
    _refuse_moment(make, stage, what, at, now, others)
    mark = StageMark(
        id=mark_id,
        make=make,
        stage=stage,
        what=what,
        at=at,
        note=note.strip(),
        corrects=corrected,
        reason=reason.strip() if corrected else "",
        recorded_at=now,
        recorded_by=scope.user,
    )
    rows = _read(scope, mark, readings)
    mark.save(force_insert=True)
    StageReading.objects.bulk_create(rows)
    ledger.seal(
        log_id=scope.log_id,
        kind="make.stage",
        subject=f"stage_mark:{mark.id}",
        body=sealing.mark_body(mark),
        actor=scope.actor,
        at=now,
    )
    write_uses(scope=scope, make=make, stage=stage, uses=uses, used_at=at, exception=exception, now=now)
    if brine_id is not None and stage.kind == StageKind.SALT and what in (What.BEGUN, What.DONE):
        batch_lay_in_brine(
            scope=scope, use_id=uuid5(mark.pk, "brine"), brine_id=brine_id, make_id=make.pk, laid_in_at=at, now=now
        )
    _record_event(scope, mark, stage, now)
    serve_checks(scope, mark, rows, now)
    return mark


def _corrected(
    others: Sequence[StageMark], stage: ProcedureStage, corrects_id: UUID | None, reason: str
) -> StageMark | None:
    if corrects_id is None:
        return None
    found = next((one for one in others if one.pk == corrects_id and one.stage_id == stage.pk), None)
    if found is None:
        raise Conflict("This entry was corrected meanwhile; open the sheet again and correct its latest version.")
    if not reason.strip():
        raise ActionError("Say why the entry is corrected; both stay on file.", field="reason")
    return found


def _refuse_moment(
    make: Make, stage: ProcedureStage, what: str, at: datetime, now: datetime, others: Sequence[StageMark]
) -> None:
    own = [one for one in others if one.stage_id == stage.pk]
    began = next((one.at for one in own if one.what == What.BEGUN), None)
    done = next((one for one in own if one.what == What.DONE), None)
    sentence = ""
    if at > now + CLOCK_TOLERANCE:
        sentence = "That time is in the future; correct the time."
    elif at < make.lot.begun_at:
        sentence = f"That is before {make.lot.code} began; correct the time."
    elif what == What.DONE and began is not None and at < began:
        sentence = "That is before the stage began; correct the time."
    elif what == What.BEGUN and done is not None and at > done.at:
        sentence = "That is after the stage was done; correct the time."
    if sentence:
        raise ActionError(sentence, field="at")
    if what in (What.DONE, What.BEGUN) and any(one.what == what for one in own):
        raise Conflict(f"Somebody has already noted this of “{stage.name}”; correct that entry if it is wrong.")
    if stage.kind == StageKind.FLOCCULATION and what == What.DONE and stage.multiplier is not None:
        _refuse_flocculation(stage, at, others)


def _refuse_flocculation(stage: ProcedureStage, at: datetime, others: Sequence[StageMark]) -> None:
    rennet = [one.at for one in others if one.stage.kind == StageKind.RENNET and one.what in (What.BEGUN, What.DONE)]
    if not rennet:
        raise ActionError("Note first when the rennet went in: the set time counts from it.", field="at")
    try:
        set_time((at - min(rennet)).total_seconds(), stage.multiplier or 1.0)
    except InputError as error:
        raise ActionError(str(error), field="at") from error


def _read(scope: Scope, mark: StageMark, readings: Sequence[ReadingTyped]) -> list[StageReading]:
    """Reads every value; all that cannot be used is said at once, each beside its field."""
    wrong: dict[str, str] = {}
    rows: list[StageReading] = []
    for typed in readings:
        row = StageReading(mark=mark, what=typed.what)
        try:
            if typed.what not in StageReading.What.values:
                raise ActionError("Choose what was read from the list.")
            read = read_typed(row.quantity, typed.text.strip(), typed.unit)
            row.instrument = _instrument(scope, typed.instrument_id)
        except InputError as error:
            wrong[typed.what] = str(error)
            continue
        except ActionError as error:
            wrong[typed.what] = error.message
            continue
        row.value_si, row.typed_text, row.typed_unit = read.value_si, read.text, read.unit
        uncertainty, unfit = fitness(row.instrument, scope.premises, mark.at, {row.quantity: [row.value_si]})
        row.expanded_uncertainty, row.unfit = uncertainty, unfit or ""
        row.ruling, row.said = judged(mark.stage, row, mark.at)
        rows.append(row)
    if wrong:
        first = next(iter(wrong.values()))
        raise ActionError(first if len(wrong) == 1 else f"{len(wrong)} entries need correcting.", fields=wrong)
    return rows


def _instrument(scope: Scope, instrument_id: UUID | None) -> Instrument | None:
    if instrument_id is None:
        return None
    found = Instrument.objects.filter(premises=scope.premises, pk=instrument_id).first()
    if found is None:
        raise ActionError("There is no such instrument at this dairy; choose one from the list.")
    return found


def _record_event(scope: Scope, mark: StageMark, stage: ProcedureStage, now: datetime) -> None:
    """Once for each kind: the first mark of the first such stage. A correction moves the event of the mark."""
    kind = EVENTS.get(StageKind(stage.kind))
    if kind is None:
        return
    stood_for = _event_of(mark.corrects, kind)
    if mark.what not in (What.BEGUN, What.DONE):
        if stood_for is not None:
            _take_back(scope, mark, kind, stood_for, now)
        return
    if stood_for is not None:
        if stood_for.occurred_at != mark.at:
            event_correct(
                scope=scope,
                event_id=uuid5(mark.pk, kind),
                corrects_id=stood_for.pk,
                occurred_at=mark.at,
                reason=mark.reason,
                now=now,
            )
        return
    if mark.make.lot.events.filter(kind=kind).exists():
        return
    event_record(
        scope=scope,
        lot_id=mark.make.pk,
        kind=kind,
        occurred_at=mark.at,
        event_id=uuid5(mark.pk, kind),
        note="",
        now=now,
    )


def _take_back(scope: Scope, mark: StageMark, kind: str, stood_for: LotEvent, now: datetime) -> None:
    """The stage was left out after all: its event never happened, unless another mark says that it did."""
    kinds = [stage for stage, event in EVENTS.items() if event == kind]
    other = (
        mark.make.marks.filter(corrected_by__isnull=True, what__in=(What.BEGUN, What.DONE), stage__kind__in=kinds)
        .order_by("at", "recorded_at")
        .first()
    )
    event_id = uuid5(mark.pk, kind)
    if other is None:
        event_withdraw(scope=scope, event_id=event_id, corrects_id=stood_for.pk, reason=mark.reason, now=now)
    elif other.at != stood_for.occurred_at:
        event_correct(
            scope=scope,
            event_id=event_id,
            corrects_id=stood_for.pk,
            occurred_at=other.at,
            reason=mark.reason,
            now=now,
        )


def _event_of(mark: StageMark | None, kind: str) -> LotEvent | None:
    """The event that still stands for a mark, or for one that it corrected."""
    while mark is not None:
        found = LotEvent.objects.filter(pk=uuid5(mark.pk, kind)).first()
        if found is not None:
            return found
        mark = mark.corrects
    return None
