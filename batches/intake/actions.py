"""Milk arrives: its lot and what falls due from it."""

from datetime import datetime, timedelta
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone

from batches.intake.models import MilkLot
from haccp.checks.actions import event_record
from haccp.lots import actions as lots
from haccp.lots.kinds import EventKind
from haccp.lots.models import Lot
from haccp.plan.models import MilkSpecies
from haccp.plan.queries import revision_in_force
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.errors import InputError
from haccp.science.units import read_typed

CLOCK_TOLERANCE = timedelta(minutes=2)


@transaction.atomic
def milk_receive(
    *,
    scope: Scope,
    lot_id: UUID,
    species: str,
    source: str,
    volume: str,
    volume_unit: str,
    received_at: datetime,
    place_id: UUID | None = None,
    now: datetime | None = None,
) -> MilkLot:
    """Opens a milk lot; its acceptance checks (temperature, residue test) fall due from the event.

    volume as typed, in volume_unit. The same lot_id sent again gives the lot already there. Raises ActionError with
    a sentence per field.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    there = MilkLot.objects.select_related("lot").filter(pk=lot_id).first()
    if there is not None:
        kept = (there.lot.premises_id, there.species, there.source, there.typed_volume, there.typed_unit)
        sent = (scope.premises.id, species, source.strip(), volume.strip(), volume_unit)
        if kept != sent or there.lot.begun_at != received_at:
            raise Conflict("This milk was already sent with other content; start a new entry.")
        return there
    volume_l = _checked(species, source, volume, volume_unit, received_at, now)
    revision = revision_in_force(scope.premises, received_at)
    if revision is None:
        raise ActionError("No approved plan was in force then; have the plan approved before recording milk.")
    lot = lots.lot_open(
        scope=scope,
        lot_id=lot_id,
        kind=Lot.Kind.MILK,
        code=_next_code(scope.premises, species, received_at),
        revision=revision,
        begun_at=received_at,
        at=now,
    )
    milk = MilkLot.objects.create(
        lot=lot,
        species=species,
        source=source.strip(),
        volume_l=volume_l,
        typed_volume=volume.strip(),
        typed_unit=volume_unit,
    )
    event_record(
        scope=scope,
        lot_id=lot.id,
        kind=EventKind.MILK_RECEIVED,
        occurred_at=received_at,
        event_id=_event_id(lot_id),
        place_id=place_id,
        now=now,
    )
    return milk


def _checked(species: str, source: str, volume: str, volume_unit: str, received_at: datetime, now: datetime) -> float:
    """The volume in litres; all that cannot be used is said at once."""
    wrong: dict[str, str] = {}
    volume_l = 0.0
    if species not in MilkSpecies.values:
        wrong["species"] = "Choose the animals the milk came from."
    if not source.strip():
        wrong["source"] = "Say whose milk it is: your own herd, or the supplier."
    if received_at > now + CLOCK_TOLERANCE:
        wrong["received_at"] = "That time is in the future; correct the time."
    try:
        volume_l = read_typed("volume", volume, volume_unit).value_si
        if volume_l <= 0:
            wrong["volume"] = "Enter how much milk there was, more than nothing."
    except InputError as error:
        wrong["volume"] = str(error)
    if wrong:
        raise ActionError(next(iter(wrong.values())), fields=wrong)
    return volume_l


def _next_code(premises: Premises, species: str, received_at: datetime) -> str:
    """M-<day>-<first letter of the species><count>, unique because the premises' row is locked."""
    stem = f"M{received_at.astimezone(premises.zone):%y%m%d}-{species[0].upper()}"
    count = Lot.objects.for_premises(premises).filter(code__startswith=stem).count()
    return f"{stem}{count + 1}"


def _event_id(lot_id: UUID) -> UUID:
    """One arrival per lot, under an id that a repeated request makes again."""
    return uuid5(lot_id, EventKind.MILK_RECEIVED)
