"""What is read on the make sheet serves the plan's checks where these ask for the same: nobody types it twice."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from uuid import UUID, uuid5

from django.db import transaction
from django.db.models import Q

from batches.making.course import EVENTS, ONE_AT_A_TIME
from batches.making.models import StageKind, StageMark, StageReading
from haccp.checks.actions import EntryTyped, Saved, record_amend, record_save
from haccp.checks.judging import applies
from haccp.checks.models import DueCheck, Record
from haccp.lots.queries import first_events, revision_ids_of
from haccp.plan.models import Check, Measure
from haccp.premises.errors import ActionError
from haccp.premises.scope import Scope


def serve_checks(scope: Scope, mark: StageMark, readings: Sequence[StageReading], now: datetime) -> list[Saved]:
    """Runs inside stage_record's transaction.

    A reading is the record of a check of the batch that requires this one number and nothing else: the one due at
    that moment, or, where a limit counts the time from an event that has begun, an extra one. A temperature serves
    only a check due from the very event that the stage stands for. A corrected mark amends the records of the one
    before. What a record would refuse (no instrument named where the plan asks for one) is left to the check itself.
    """
    if mark.corrects is not None and (served := records_of(mark.corrects)):
        return list(_amended(scope, mark, readings, served, now))
    return [
        saved
        for reading in readings
        for check, due in _served(mark, reading)
        if (saved := _record(scope, mark, reading, check, due, now)) is not None
    ]


def records_of(mark: StageMark) -> list[Record]:
    """The records of checks that a mark, or one that it corrected, stands for; in their latest version."""
    found: list[Record] = []
    ids = Check.objects.filter(revision__premises=mark.make.lot.premises_id).values_list("pk", flat=True)
    one: StageMark | None = mark
    while one is not None and not found:
        first = Record.objects.filter(pk__in=[uuid5(one.pk, str(pk)) for pk in ids])
        found = [_latest(record) for record in first]
        one = one.corrects
    return found


def _latest(record: Record) -> Record:
    while (later := Record.objects.filter(amends=record).first()) is not None:
        record = later
    return record


def checks_served(at: datetime, stage_kind: str, lot_id: UUID) -> list[DueCheck]:
    """Checks of a batch, due at a moment, that a reading at a stage of this kind would answer."""
    return [
        due
        for due in _open_at(at, lot_id)
        for measure in [_only_number(due.check_due)]
        if measure is not None and _is_the_same(measure.quantity, due.check_due, stage_kind)
    ]


def _served(mark: StageMark, reading: StageReading) -> Iterator[tuple[Check, DueCheck | None]]:
    answered = set()
    for due in _open_at(mark.at, mark.make_id):
        check = due.check_due
        measure = _only_number(check)
        if measure is None or measure.quantity != reading.quantity or check.pk in answered:
            continue
        if _is_the_same(reading.quantity, check, mark.stage.kind):
            answered.add(check.pk)
            yield check, due
    if reading.what in ONE_AT_A_TIME:
        yield from ((check, None) for check in _by_elapsed_time(mark, reading) if check.pk not in answered)


def _open_at(at: datetime, lot_id: UUID) -> Iterable[DueCheck]:
    """Not done yet; or flagged as missed while its reading stood on paper only: it is then a late entry."""
    unanswered = Q(settled_at__isnull=True) | Q(missed__isnull=False, records__isnull=True)
    return (
        DueCheck.objects.filter(unanswered, lot=lot_id, opens_at__lte=at, grace_ends_at__gt=at)
        .select_related("check_due")
        .prefetch_related("check_due__measures__limits__products")
        .order_by("due_at")
    )


def _is_the_same(quantity: str, check: Check, stage_kind: str) -> bool:
    if quantity in ONE_AT_A_TIME:
        return True
    event = EVENTS.get(StageKind(stage_kind))
    return quantity == StageReading.What.TEMPERATURE and event is not None and check.cadence.get("event") == event


def _by_elapsed_time(mark: StageMark, reading: StageReading) -> Iterator[Check]:
    """Checks whose limit still counts the time from something that has happened."""
    lot = mark.make.lot
    began = first_events(lot)
    under = revision_ids_of([lot])[lot.pk]
    asked = Check.objects.filter(revision=under, subject=Check.Subject.BATCH)
    for check in asked.prefetch_related("measures__limits__products", "products"):
        measure = _only_number(check)
        if measure is None or measure.quantity != reading.quantity:
            continue
        if check.products.all() and lot.product_id not in {one.pk for one in check.products.all()}:
            continue
        for limit in measure.limits.all():
            start = began.get(str(limit.parameters.get("from_event", "")))
            within = timedelta(seconds=float(limit.parameters.get("within_s", 0.0)))
            if limit.evaluator == "elapsed" and applies(limit, lot) and start and start <= mark.at <= start + within:
                yield check
                break


def _only_number(check: Check) -> Measure | None:
    """The one number that a check requires, where it requires nothing else."""
    required = [measure for measure in check.measures.all() if measure.required]
    return required[0] if len(required) == 1 and required[0].kind == Measure.Kind.NUMBER else None


def _record(
    scope: Scope, mark: StageMark, reading: StageReading, check: Check, due: DueCheck | None, now: datetime
) -> Saved | None:
    measure = _only_number(check)
    assert measure is not None
    try:
        with transaction.atomic():
            return record_save(
                scope=scope,
                record_id=uuid5(mark.pk, str(check.pk)),
                check_id=check.pk,
                entries={measure.pk: EntryTyped(reading.typed_text, reading.typed_unit)},
                observed_at=mark.at,
                due_id=due.pk if due else None,
                lot_id=mark.make_id,
                instrument_id=reading.instrument_id,
                note=f"Read on the make sheet: {mark.stage.name}.",
                now=now,
            )
    except ActionError:
        return None


def _amended(
    scope: Scope, mark: StageMark, readings: Sequence[StageReading], served: Iterable[Record], now: datetime
) -> Iterator[Saved]:
    for record in served:
        measure = _only_number(record.check_done)
        reading = next((one for one in readings if measure and one.quantity == measure.quantity), None)
        if measure is None or reading is None:
            continue
        yield record_amend(
            scope=scope,
            record_id=uuid5(mark.pk, str(record.check_done_id)),
            amends_id=record.pk,
            entries={measure.pk: EntryTyped(reading.typed_text, reading.typed_unit)},
            observed_at=mark.at,
            reason=mark.reason,
            instrument_id=reading.instrument_id,
            note=record.note,
            now=now,
        )
