"""Every write about calibrations: one function, one transaction."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from haccp.calibration import sealing
from haccp.calibration.doubting import put_in_doubt
from haccp.calibration.measuring import PointTyped, as_typed, measure, uncertainty_si
from haccp.calibration.models import Calibration
from haccp.calibration.queries import last_good_at
from haccp.ledger import actions as ledger
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Instrument, Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

CLOCK_TOLERANCE = timedelta(minutes=2)
LONGEST_VALIDITY = timedelta(days=5 * 366)


@transaction.atomic
def instrument_calibrate(
    *,
    scope: Scope,
    calibration_id: UUID,
    instrument_id: UUID,
    method: str,
    performed_at: datetime,
    points: Sequence[PointTyped],
    valid_until: date | None,
    unit: str = "",
    tolerance: str = "",
    expanded_uncertainty: str = "",
    pressure: str = "",
    pressure_unit: str = "hPa",
    altitude: str = "",
    buffer_temperature: str = "",
    reference: str = "",
    reference_uncertainty: str = "",
    note: str = "",
    now: datetime | None = None,
) -> Calibration:
    """Records a calibration as found and as left, and what follows from both.

    Moves: lock the premises; give back the calibration already there; judge what was typed; write and seal it; the
    instrument counts until valid_until where it was left good, and not at all where it was left out; found out, every
    record read with it since it was last known to be good is doubted, and a deviation is opened for each control
    point concerned. expanded_uncertainty: the instrument's U as typed, in unit; its present one where left empty.
    Raises ActionError with a sentence per field, Conflict for other content under the same id.
    """
    scope.require(Right.RECORD)
    premises = Premises.objects.select_for_update().get(pk=scope.premises.pk)
    now = now or timezone.now()
    instrument = Instrument.objects.select_for_update().filter(premises=premises, pk=instrument_id).first()
    if instrument is None:
        raise ActionError("There is no such instrument at this dairy; choose one from the list.", field="instrument")
    typed = as_typed(
        points=[[one.true, one.found, one.left] for one in points],
        unit=unit,
        tolerance=tolerance,
        expanded_uncertainty=expanded_uncertainty,
        pressure=f"{pressure} {pressure_unit}" if pressure else "",
        altitude=altitude,
        buffer_temperature=buffer_temperature,
        reference_uncertainty=reference_uncertainty,
    )
    there = Calibration.objects.filter(pk=calibration_id).first()
    if there is not None:
        if (there.instrument_id, there.method, there.performed_at, there.typed) != (
            instrument.pk,
            method,
            performed_at,
            typed,
        ):
            raise Conflict("This calibration was already sent with other content; start a new one.")
        return there
    _refuse_impossible(scope, instrument, performed_at, valid_until, now)
    uncertainty = (
        uncertainty_si(instrument, expanded_uncertainty, unit)
        if expanded_uncertainty.strip()
        else instrument.expanded_uncertainty
    )
    measured = measure(
        instrument=instrument,
        method=method,
        performed_at=performed_at,
        points=points,
        unit=unit,
        tolerance=tolerance,
        pressure=pressure,
        pressure_unit=pressure_unit,
        altitude=altitude,
        buffer_temperature=buffer_temperature,
        reference_uncertainty=reference_uncertainty,
    )
    since = last_good_at(instrument, performed_at)
    calibration = Calibration(
        id=calibration_id,
        premises=scope.premises,
        instrument=instrument,
        method=method,
        quantity=measured.quantity,
        performed_at=performed_at,
        points=measured.points,
        typed=dict(typed),
        tolerance=measured.tolerance,
        expanded_uncertainty=uncertainty,
        found_ruling=measured.found.ruling,
        found_reason=measured.found.reason,
        found_facts=measured.found.facts,
        left_ruling=measured.left.ruling,
        left_reason=measured.left.reason,
        left_facts=measured.left.facts,
        valid_until=valid_until if measured.left.ruling.is_satisfied else None,
        reference=reference.strip(),
        note=note.strip(),
        recorded_at=now,
        recorded_by=scope.user,
    )
    calibration.save(force_insert=True)
    ledger.seal(
        log_id=scope.log_id,
        kind="instrument.calibrated",
        subject=f"calibration:{calibration.id}",
        body=sealing.calibration_body(calibration),
        actor=scope.actor,
        at=now,
    )
    _set_fitness(scope, calibration)
    if not calibration.found_good:
        put_in_doubt(scope, calibration, measured.errors, since, at=now)
    return calibration


def _set_fitness(scope: Scope, calibration: Calibration) -> None:
    """The instrument as it stands from now on; one entered late does not undo a later one."""
    instrument = calibration.instrument
    if instrument.calibrations.filter(performed_at__gt=calibration.performed_at).exists():
        return
    day = scope.premises.local_date(calibration.performed_at)
    instrument.calibrated_on = day
    # Left out of order it counts no more from that day on
    instrument.calibration_valid_until = calibration.valid_until or day - timedelta(days=1)
    instrument.expanded_uncertainty = calibration.expanded_uncertainty
    instrument.save(update_fields=["calibrated_on", "calibration_valid_until", "expanded_uncertainty"])


def _refuse_impossible(
    scope: Scope, instrument: Instrument, performed_at: datetime, valid_until: date | None, now: datetime
) -> None:
    wrong: dict[str, str] = {}
    day = scope.premises.local_date(performed_at)
    if instrument.retired_at is not None and instrument.retired_at < performed_at:
        wrong["instrument"] = f"{instrument.name} was retired before that; it is not calibrated any more."
    if performed_at > now + CLOCK_TOLERANCE:
        wrong["performed_at"] = "That time is in the future; correct the time."
    if valid_until is None:
        wrong["valid_until"] = "Say until when it counts; calibrate it again by then."
    elif not day <= valid_until <= day + LONGEST_VALIDITY:
        wrong["valid_until"] = "It counts from the day of the calibration on, and five years at most; correct the day."
    if wrong:
        raise ActionError(next(iter(wrong.values())), fields=wrong)
