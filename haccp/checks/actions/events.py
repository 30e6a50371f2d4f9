"""Something happened to a lot: it is recorded, and what falls due from it is planned."""

from datetime import datetime, timedelta
from uuid import UUID, uuid5

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from haccp.checks.actions.plan_due import plan_due_for_lot, plan_due_for_use, retime_done
from haccp.checks.actions.records import EntryTyped, record_amend
from haccp.checks.models import DueCheck, Record
from haccp.checks.reviewing import days_changed
from haccp.lots import actions as lots
from haccp.lots.kinds import USES, EventKind
from haccp.lots.models import Lot, LotEvent
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Place, Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

CLOCK_TOLERANCE = timedelta(minutes=2)


@transaction.atomic
def event_record(
    *,
    scope: Scope,
    lot_id: UUID,
    kind: str,
    occurred_at: datetime,
    event_id: UUID,
    place_id: UUID | None = None,
    note: str = "",
    now: datetime | None = None,
) -> LotEvent:
    """Moves: lock the premises, find the lot here, refuse a future moment, add the event, plan the checks that follow.

    The same event_id sent again gives the event already there. Raises ActionError or Conflict.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    if kind not in EventKind.values:
        raise ActionError("Choose what happened from the list.", field="kind")
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    lot = Lot.objects.for_premises(scope.premises).filter(id=lot_id).select_related("premises", "revision").first()
    if lot is None:
        raise ActionError("There is no such lot at this dairy.", field="lot")
    there = LotEvent.every.filter(id=event_id).first()
    if there is not None:
        kept = (there.lot_id, there.kind, there.occurred_at, there.place_id, there.note)
        if kept != (lot.id, kind, occurred_at, place_id, note.strip()):
            raise Conflict("This event was already sent with other content; start a new one.")
        return there
    if occurred_at > now + CLOCK_TOLERANCE:
        raise ActionError("That time is in the future; correct the time.", field="occurred_at")
    place = _place(scope, place_id)
    days_changed(scope.premises, [occurred_at], now)
    event = lots.event_add(
        scope=scope,
        lot=lot,
        kind=kind,
        occurred_at=occurred_at,
        at=now,
        place=place,
        note=note.strip(),
        event_id=event_id,
    )
    plan_due_for_lot(lot=lot, now=now)
    if place is not None and kind in USES:
        plan_due_for_use(premises=lot.premises, place=place, used_at=occurred_at, now=now)
    return event


@transaction.atomic
def event_correct(
    *,
    scope: Scope,
    event_id: UUID,
    corrects_id: UUID,
    occurred_at: datetime,
    reason: str,
    now: datetime | None = None,
) -> LotEvent:
    """The time of an event was wrong.

    Moves: lock the premises; add an event that names the wrong one, which counts no more but stays on file; checks
    that were done for it stay done, those not done yet fall due by the right time; records that a limit by elapsed
    time judged from it are amended, so that they are judged by the right time.
    The same event_id sent again gives the event already there. Raises ActionError, Conflict where it was corrected.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    there = LotEvent.every.filter(id=event_id).first()
    if there is not None:
        if (there.corrects_id, there.occurred_at, there.reason) != (corrects_id, occurred_at, reason.strip()):
            raise Conflict("This was already sent with other content; start a new entry.")
        return there
    wrong = (
        LotEvent.every.filter(lot__premises=scope.premises, id=corrects_id)
        .select_related("lot__premises", "lot__revision", "lot__product", "place")
        .first()
    )
    if wrong is None:
        raise ActionError("There is no such event at this dairy.", field="corrects")
    if LotEvent.every.filter(corrects=wrong).exists():
        raise Conflict("This was corrected meanwhile; open the page again and correct its latest version.")
    if not reason.strip():
        raise ActionError("Say why the time is corrected; both stay on file.", field="reason")
    if occurred_at > now + CLOCK_TOLERANCE:
        raise ActionError("That time is in the future; correct the time.", field="occurred_at")
    days_changed(scope.premises, [wrong.occurred_at, occurred_at], now)
    event = lots.event_add(
        scope=scope,
        lot=wrong.lot,
        kind=wrong.kind,
        occurred_at=occurred_at,
        at=now,
        place=wrong.place,
        note=wrong.note,
        event_id=event_id,
        corrects=wrong,
        reason=reason.strip(),
    )
    retime_done(event=event, corrected=wrong)
    plan_due_for_lot(lot=wrong.lot, now=now)
    _judge_by_the_right_time(scope, event, wrong, now)
    return event


@transaction.atomic
def event_withdraw(
    *, scope: Scope, event_id: UUID, corrects_id: UUID, reason: str, now: datetime | None = None
) -> LotEvent:
    """An event never happened: it stays on file and counts no more; checks that fell due by it are taken back.

    Raises ActionError where a check was done for it, or a limit judged a record by the time since it: that record
    speaks of the event. Conflict where it was corrected meanwhile. The same event_id sent again gives the one there.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    there = LotEvent.every.filter(id=event_id).first()
    if there is not None:
        return there
    wrong = LotEvent.every.filter(lot__premises=scope.premises, id=corrects_id).select_related("lot__premises").first()
    if wrong is None:
        raise ActionError("There is no such event at this dairy.", field="corrects")
    if wrong.withdrawn or LotEvent.every.filter(corrects=wrong).exists():
        raise Conflict("This was corrected meanwhile; open the page again and correct its latest version.")
    if not reason.strip():
        raise ActionError("Say why it is taken back; both stay on file.", field="reason")
    resting = rests_on_event(wrong)
    if resting is not None:
        label = EventKind(wrong.kind).label
        raise ActionError(
            f"“{label}” cannot be taken back: “{resting.check_done.name}” was recorded by it. "
            "Correct its time instead, and say in a note what was left out.",
            field="what",
        )
    days_changed(scope.premises, [wrong.occurred_at], now)
    event = lots.event_add(
        scope=scope,
        lot=wrong.lot,
        kind=wrong.kind,
        occurred_at=wrong.occurred_at,
        at=now,
        place=wrong.place,
        note=wrong.note,
        event_id=event_id,
        corrects=wrong,
        reason=reason.strip(),
        withdrawn=True,
    )
    # Past its grace or not: what follows from something that never happened was never due
    slot = _slots_of(wrong)
    DueCheck.objects.filter(lot=wrong.lot, slot_key__startswith=slot, settled_at__isnull=True).delete()
    plan_due_for_lot(lot=wrong.lot, now=now)
    return event


def rests_on_event(event: LotEvent) -> Record | None:
    """A record that was made because of it, or judged by the time since it."""
    done = Record.objects.for_premises(event.lot.premises).current().filter(lot=event.lot)
    done = done.filter(
        Q(due__slot_key__startswith=_slots_of(event)) | Q(rulings__limit__parameters__from_event=event.kind)
    )
    return done.select_related("check_done").first()


def _slots_of(event: LotEvent) -> str:
    """What the keys of checks begin with that fall due by it (science.schedule)."""
    return f"{event.lot_id}|{event.kind}@"


def _judge_by_the_right_time(scope: Scope, event: LotEvent, wrong: LotEvent, now: datetime) -> None:
    """Amends what a limit by elapsed time judged from the event, in order of observation."""
    times = [one.astimezone(scope.premises.zone) for one in (wrong.occurred_at, event.occurred_at)]
    label = EventKind(event.kind).label
    why = f"The time of “{label}” was corrected from {times[0]:%H:%M} to {times[1]:%H:%M}: {event.reason}"
    judged = (
        Record.objects.for_premises(scope.premises)
        .current()
        .filter(lot=event.lot, rulings__limit__parameters__from_event=event.kind)
        .distinct()
        .prefetch_related("readings")
        .order_by("observed_at", "recorded_at")
    )
    for record in list(judged):
        record_amend(
            scope=scope,
            record_id=uuid5(event.pk, str(record.pk)),
            amends_id=record.pk,
            entries={
                one.measure_id: EntryTyped(
                    str(one.photo_id) if one.photo_id else one.typed_text or one.choice, one.typed_unit
                )
                for one in record.readings.all()
            },
            observed_at=record.observed_at,
            reason=why,
            instrument_id=record.instrument_id,
            note=record.note,
            now=now,
        )


def _place(scope: Scope, place_id: UUID | None) -> Place | None:
    if place_id is None:
        return None
    place = Place.objects.filter(premises=scope.premises, id=place_id).first()
    if place is None:
        raise ActionError("There is no such place at this dairy; choose one from the list.", field="place")
    return place
