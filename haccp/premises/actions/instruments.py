"""Writes about the instruments of a dairy and what their calibration certificates state."""

from datetime import date, datetime
from uuid import UUID, uuid4

from django.db import transaction
from django.utils import timezone

from haccp.premises.actions.site_rows import found_here, lock_premises, refuse_name, refuse_unseen
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Instrument, Place
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.premises.site_log import instrument_body, seal_change

LONGEST_SERIAL = 60
STATED = (
    "name",
    "kind",
    "serial",
    "place",
    "expanded_uncertainty",
    "uncertainty_typed",
    "calibrated_on",
    "calibration_valid_until",
)


@transaction.atomic
def instrument_add(
    *,
    scope: Scope,
    name: str,
    kind: str,
    expanded_uncertainty: float,
    uncertainty_typed: str = "",
    serial: str = "",
    place: Place | None = None,
    calibrated_on: date | None = None,
    calibration_valid_until: date | None = None,
    instrument_id: UUID | None = None,
    at: datetime | None = None,
) -> Instrument:
    """expanded_uncertainty: U (k = 2) in the unit of what it measures (see haccp.premises.uncertainty).

    The same id with the same values is the same instrument again. Raises ActionError for values that cannot be
    stored; Conflict for a name in use, of a retired instrument too, and for an id in use.
    """
    scope.require(Right.MANAGE)
    lock_premises(scope)
    here = Instrument.objects.filter(premises=scope.premises)
    instrument = Instrument(
        pk=instrument_id or uuid4(),
        premises=scope.premises,
        name=" ".join(name.split()),
        kind=kind,
        serial=serial.strip(),
        place=place,
        expanded_uncertainty=expanded_uncertainty,
        uncertainty_typed=uncertainty_typed,
        calibrated_on=calibrated_on,
        calibration_valid_until=calibration_valid_until,
    )
    again = Instrument.objects.filter(pk=instrument_id).first() if instrument_id else None
    if again is not None:
        if again.premises_id == scope.premises.pk and instrument_body(again) == instrument_body(instrument):
            return again
        raise Conflict("This was sent before with other values; open the page again.")
    _refuse_values(scope, instrument)
    instrument.name = refuse_name(name, here, "instrument")
    instrument.save(force_insert=True)
    seal_change(scope, instrument, "added", at or timezone.now())
    return instrument


@transaction.atomic
def instrument_change(
    *,
    scope: Scope,
    instrument_id: UUID,
    name: str,
    kind: str,
    expanded_uncertainty: float,
    uncertainty_typed: str = "",
    serial: str = "",
    place: Place | None = None,
    calibrated_on: date | None = None,
    calibration_valid_until: date | None = None,
    seen_sha256: str = "",
    at: datetime | None = None,
) -> Instrument:
    """What is stated of an instrument from now on; rulings made before keep the uncertainty they were made with.

    Raises as instrument_add, and Conflict for a change that somebody else made meanwhile.
    """
    scope.require(Right.MANAGE)
    lock_premises(scope)
    instrument = found_here(Instrument, scope, instrument_id)
    refuse_unseen(instrument, seen_sha256)
    before = instrument_body(instrument)
    others = Instrument.objects.filter(premises=scope.premises).exclude(pk=instrument.pk)
    instrument.name, instrument.kind = refuse_name(name, others, "instrument"), kind
    instrument.serial, instrument.place = serial.strip(), place
    instrument.expanded_uncertainty, instrument.uncertainty_typed = expanded_uncertainty, uncertainty_typed
    instrument.calibrated_on, instrument.calibration_valid_until = calibrated_on, calibration_valid_until
    _refuse_values(scope, instrument)
    if instrument_body(instrument) != before:
        instrument.save(update_fields=STATED)
        seal_change(scope, instrument, "changed", at or timezone.now())
    return instrument


@transaction.atomic
def instrument_retire(*, scope: Scope, instrument_id: UUID, at: datetime | None = None) -> Instrument:
    """Takes an instrument out of use: it is offered for no reading any more, and what it read keeps it."""
    scope.require(Right.MANAGE)
    lock_premises(scope)
    instrument = found_here(Instrument, scope, instrument_id)
    if instrument.retired_at is None:
        instrument.retired_at = at or timezone.now()
        instrument.save(update_fields=["retired_at"])
        seal_change(scope, instrument, "retired", instrument.retired_at)
    return instrument


@transaction.atomic
def instrument_restore(*, scope: Scope, instrument_id: UUID, at: datetime | None = None) -> Instrument:
    """Brings a retired instrument back, with the calibration that it had."""
    scope.require(Right.MANAGE)
    lock_premises(scope)
    instrument = found_here(Instrument, scope, instrument_id)
    if instrument.retired_at is not None:
        instrument.retired_at = None
        instrument.save(update_fields=["retired_at"])
        seal_change(scope, instrument, "restored", at or timezone.now())
    return instrument


def _refuse_values(scope: Scope, instrument: Instrument) -> None:
    if instrument.kind not in Instrument.Kind.values:
        raise ActionError("Choose what kind of instrument it is.", field="kind")
    if len(instrument.serial) > LONGEST_SERIAL:
        raise ActionError(f"Give a serial number of at most {LONGEST_SERIAL} characters.", field="serial")
    if instrument.place is not None and instrument.place.premises_id != scope.premises.pk:
        raise ActionError("There is no such place at this dairy.", field="place")
    if not 0 <= instrument.expanded_uncertainty < float("inf"):
        raise ActionError("An uncertainty is a number of 0 or more.", field="uncertainty")
    until = instrument.calibration_valid_until
    if until is not None and instrument.calibrated_on is None:
        raise ActionError("Say on which day it was calibrated.", field="calibrated_on")
    if until is not None and instrument.calibrated_on is not None and until < instrument.calibrated_on:
        raise ActionError(
            "The calibration would have run out before it was made; exchange the days.", field="calibration_valid_until"
        )
