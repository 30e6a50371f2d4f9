"""Milk arrives: its lot and what falls due from it."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone

from batches.intake import sealing
from batches.intake.actions.findings import FindingTyped, write_findings
from batches.intake.models import MilkLot, Supplier
from haccp.checks.actions import event_record
from haccp.ledger import actions as ledger
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
OLDEST_MILKING = timedelta(hours=72)


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
    milked_from: datetime | None = None,
    milked_until: datetime | None = None,
    findings: Sequence[FindingTyped] = (),
    now: datetime | None = None,
) -> MilkLot:
    """Opens a milk lot; its acceptance checks (temperature, residue test) fall due from the event.

    volume as typed, in volume_unit. source: a supplier of that name is linked, whatever its capitals. findings: what
    was found on arrival. The same lot_id sent again gives the lot already there. Raises ActionError with a sentence
    per field.
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
    _check_milking(milked_from, milked_until, received_at)
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
        supplier=Supplier.objects.filter(premises=scope.premises, name__iexact=source.strip()).first(),
        volume_l=volume_l,
        typed_volume=volume.strip(),
        typed_unit=volume_unit,
        milked_from=milked_from,
        milked_until=milked_until,
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="milk.received",
        subject=f"milk:{milk.pk}",
        body=sealing.milk_body(milk),
        actor=scope.actor,
        at=now,
    )
    write_findings(scope=scope, milk=milk, findings=findings, now=now)
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


def _check_milking(milked_from: datetime | None, milked_until: datetime | None, received_at: datetime) -> None:
    wrong: dict[str, str] = {}
    if milked_from is not None and milked_from < received_at - OLDEST_MILKING:
        wrong["milked_from"] = "That is more than three days before the milk came in; correct the time."
    for field, moment in (("milked_from", milked_from), ("milked_until", milked_until)):
        if moment is not None and moment > received_at:
            wrong[field] = "The milking cannot be after the milk came in; correct one of the times."
    if milked_from is not None and milked_until is not None and milked_until < milked_from:
        wrong["milked_until"] = "The milking ended before it began; exchange the times."
    if wrong:
        raise ActionError(next(iter(wrong.values())), fields=wrong)


def _next_code(premises: Premises, species: str, received_at: datetime) -> str:
    """M-<day>-<first letter of the species><count>, unique because the premises' row is locked."""
    stem = f"M{received_at.astimezone(premises.zone):%y%m%d}-{species[0].upper()}"
    count = Lot.objects.for_premises(premises).filter(code__startswith=stem).count()
    return f"{stem}{count + 1}"


def _event_id(lot_id: UUID) -> UUID:
    """One arrival per lot, under an id that a repeated request makes again."""
    return uuid5(lot_id, EventKind.MILK_RECEIVED)
