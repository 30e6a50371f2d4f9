"""Cheeses are looked after: turned, washed, brushed, pierced, weighed."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone

from batches.ripening import sealing
from batches.ripening.models import Care, CareKind, CareLot, CareRhythm, Weighing
from haccp.checks.reliability import fitness
from haccp.ledger import actions as ledger
from haccp.lots.models import Lot
from haccp.lots.queries import in_place_between
from haccp.plan.models import Product
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Instrument, Place, Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.errors import InputError
from haccp.science.units import read_typed

CLOCK_TOLERANCE = timedelta(minutes=2)
MOST_PIECES = 5000
LONGEST_RHYTHM = 365


@transaction.atomic
def care_give(
    *,
    scope: Scope,
    care_id: UUID,
    kind: str,
    done_at: datetime,
    lot_ids: Sequence[UUID] = (),
    room_id: UUID | None = None,
    note: str = "",
    now: datetime | None = None,
) -> Care:
    """Care given to the batches named, or to every batch that was in a room at that moment.

    The same care_id sent again gives the care already there. Raises ActionError for an empty room, a lot that is no
    batch of this dairy, and a moment before one of them began or after now.
    """
    scope.require(Right.RECORD)
    premises = Premises.objects.select_for_update().get(pk=scope.premises.pk)
    now = now or timezone.now()
    there = Care.objects.filter(pk=care_id).first()
    if there is not None:
        kept = (there.premises_id, there.kind, there.place_id, there.done_at, there.note)
        if kept != (premises.pk, kind, room_id, done_at, note.strip()):
            raise Conflict("This was already sent with other content; start a new one.")
        return there
    if kind not in CareKind.values:
        raise ActionError("Choose what was done from the list.", field="kind")
    if done_at > now + CLOCK_TOLERANCE:
        raise ActionError("That time is in the future; correct the time.", field="done_at")
    room, lots = _touched(premises, room_id, lot_ids, done_at)
    care = Care.objects.create(
        id=care_id,
        premises=premises,
        kind=kind,
        place=room,
        done_at=done_at,
        note=note.strip(),
        recorded_at=now,
        recorded_by=scope.user,
    )
    CareLot.objects.bulk_create(CareLot(id=uuid5(care_id, str(lot.pk)), care=care, lot=lot) for lot in lots)
    ledger.seal(
        log_id=scope.log_id,
        kind="care.given",
        subject=f"care:{care.id}",
        body=sealing.care_body(care),
        actor=scope.actor,
        at=now,
    )
    return care


def _touched(
    premises: Premises, room_id: UUID | None, lot_ids: Sequence[UUID], done_at: datetime
) -> tuple[Place | None, list[Lot]]:
    if room_id is not None:
        room = Place.objects.filter(premises=premises, pk=room_id).first()
        if room is None:
            raise ActionError("There is no such room at this dairy; choose one from the list.", field="room")
        inside = in_place_between(room, done_at, done_at)
        lots = [lot for lot in inside if lot.kind == Lot.Kind.BATCH]
        if not lots:
            raise ActionError(f"By what is recorded {room.name} was empty then; nothing was saved.", field="room")
        return room, lots
    lots = list(Lot.objects.for_premises(premises).batches().filter(pk__in=lot_ids))
    if not lots or len(lots) != len(set(lot_ids)):
        raise ActionError("Say which batches of this dairy it was done to.", field="lots")
    early = next((lot for lot in lots if done_at < lot.begun_at), None)
    if early is not None:
        raise ActionError(f"That is before {early.code} began; correct the time.", field="done_at")
    return None, lots


@transaction.atomic
def rhythm_set(
    *, scope: Scope, product_id: UUID, kind: str, every_days: int | None, now: datetime | None = None
) -> None:
    """How often a cheese needs a care; None takes the rhythm away. The change is sealed."""
    scope.require(Right.MANAGE)
    now = now or timezone.now()
    product = Product.objects.filter(premises=scope.premises, pk=product_id).first()
    if product is None:
        raise ActionError("Choose the cheese from the list.", field="product")
    if kind not in CareKind.values:
        raise ActionError("Choose the kind of care from the list.", field="kind")
    if every_days is None:
        CareRhythm.objects.filter(product=product, kind=kind).delete()
    elif not 1 <= every_days <= LONGEST_RHYTHM:
        raise ActionError(f"Care is given every 1 to {LONGEST_RHYTHM} days.", field="every_days")
    else:
        CareRhythm.objects.update_or_create(product=product, kind=kind, defaults={"every_days": every_days})
    ledger.seal(
        log_id=scope.log_id,
        kind="care.rhythm",
        subject=f"product:{product.pk}",
        body={"kind": kind, "every_days": every_days},
        actor=scope.actor,
        at=now,
    )


@transaction.atomic
def weigh(
    *,
    scope: Scope,
    weighing_id: UUID,
    lot_id: UUID,
    mass: str,
    unit: str,
    weighed_at: datetime,
    pieces: int = 1,
    instrument_id: UUID | None = None,
    now: datetime | None = None,
) -> Weighing:
    """Weighs one or more wheels of a batch. mass as typed, of all of them together; on the scale named, if one is.

    The same weighing_id sent again gives the weighing already there. Raises ActionError with a sentence per field.
    """
    scope.require(Right.RECORD)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    now = now or timezone.now()
    there = Weighing.objects.filter(pk=weighing_id).first()
    if there is not None:
        if (there.lot_id, there.typed_mass, there.weighed_at, there.pieces) != (
            lot_id,
            mass.strip(),
            weighed_at,
            pieces,
        ):
            raise Conflict("This weighing was already sent with other content; start a new one.")
        return there
    lot = Lot.objects.for_premises(scope.premises).batches().filter(pk=lot_id).first()
    if lot is None:
        raise ActionError("There is no such batch at this dairy.", field="lot")
    scale = _scale(scope, instrument_id)
    mass_kg = _mass(lot, mass, unit, pieces, weighed_at, now)
    _uncertainty, unfit = fitness(scale, scope.premises, weighed_at, {"mass": [mass_kg]})
    weighing = Weighing.objects.create(
        id=weighing_id,
        lot=lot,
        pieces=pieces,
        mass_kg=mass_kg,
        typed_mass=mass.strip(),
        typed_unit=unit,
        instrument=scale,
        instrument_unfit=unfit or "",
        weighed_at=weighed_at,
        recorded_at=now,
        recorded_by=scope.user,
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="lot.weighed",
        subject=f"weighing:{weighing.id}",
        body=sealing.weighing_body(weighing),
        actor=scope.actor,
        at=now,
    )
    return weighing


def _scale(scope: Scope, instrument_id: UUID | None) -> Instrument | None:
    if instrument_id is None:
        return None
    scale = Instrument.objects.filter(premises=scope.premises, pk=instrument_id, kind=Instrument.Kind.SCALE).first()
    if scale is None:
        raise ActionError("There is no such scale at this dairy; choose one from the list.", field="instrument")
    return scale


def _mass(lot: Lot, mass: str, unit: str, pieces: int, weighed_at: datetime, now: datetime) -> float:
    wrong: dict[str, str] = {}
    mass_kg = 0.0
    try:
        mass_kg = read_typed("mass", mass, unit).value_si
        if mass_kg <= 0:
            wrong["mass"] = "Enter what it weighs, more than nothing."
    except InputError as error:
        wrong["mass"] = str(error)
    if not 1 <= pieces <= MOST_PIECES:
        wrong["pieces"] = f"Say how many wheels lay on the scale: 1 to {MOST_PIECES}."
    if weighed_at > now + CLOCK_TOLERANCE:
        wrong["weighed_at"] = "That time is in the future; correct the time."
    elif weighed_at < lot.begun_at:
        wrong["weighed_at"] = f"That is before {lot.code} began; correct the time."
    if wrong:
        raise ActionError(next(iter(wrong.values())), fields=wrong)
    return mass_kg
