"""What stands beside a recorder's file of a heat treatment, and the enzyme afterwards."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from batches.making import sealing
from batches.making.models import FlowDiversion, HeatSheet, Make, PhosphataseResult, ThermometerReading
from haccp.checks.models import Record
from haccp.checks.reliability import fitness
from haccp.ledger import actions as ledger
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Instrument, Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.errors import InputError
from haccp.science.units import read_typed

CLOCK_TOLERANCE = timedelta(minutes=2)
AROUND = timedelta(hours=1)  # how far outside the recording a thermometer may still have been read


@dataclass(frozen=True, slots=True)
class ThermometerTyped:
    """Texts as typed, "" where nothing was read. number: of the row, for the sentences beside its fields."""

    number: int
    at: datetime
    indicating: str = ""
    air_space: str = ""


@dataclass(frozen=True, slots=True)
class DiversionTyped:
    number: int
    began_at: datetime
    ended_at: datetime


@transaction.atomic
def heat_sheet_save(
    *,
    scope: Scope,
    sheet_id: UUID,
    record_id: UUID,
    process: str,
    fat: str,
    sweetened: bool = False,
    unit: str = "°C",
    thermometers: Sequence[ThermometerTyped] = (),
    diversions: Sequence[DiversionTyped] = (),
    cut_in: str = "",
    cut_out: str = "",
    tube_s: str = "",
    thermometer_id: UUID | None = None,
    air_thermometer_id: UUID | None = None,
    note: str = "",
    now: datetime | None = None,
) -> HeatSheet:
    """Adds a sheet to the record of a heat treatment; the last one counts, all are kept. Numbers as typed, temperatures
    in unit; thermometer_id, air_thermometer_id: the indicating one and that of the air space, where known.

    The same sheet_id sent again gives the sheet already there. Raises ActionError with a sentence per field.
    """
    scope.require(Right.RECORD)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    now = now or timezone.now()
    there = HeatSheet.objects.filter(pk=sheet_id).first()
    if there is not None:
        if (there.record_id, there.process, there.note) != (record_id, process, note.strip()):
            raise Conflict("This sheet was already sent with other content; start a new one.")
        return there
    record = Record.objects.for_premises(scope.premises).select_related("trace").filter(pk=record_id).first()
    if record is None or record.trace is None:
        raise ActionError("There is no recording of this heat treatment at this dairy.", field="record")
    wrong: dict[str, str] = {}
    if process not in HeatSheet.Process.values:
        wrong["process"] = "Say how the milk was treated."
    fat_percent = _number("fat", fat, "%", "fat", wrong)
    numbers = {
        "cut_in_c": _number("temperature", cut_in, unit, "cut_in", wrong),
        "cut_out_c": _number("temperature", cut_out, unit, "cut_out", wrong),
        "holding_tube_s": _number("hold_time", tube_s, "s", "tube_s", wrong),
    }
    if fat_percent is None and "fat" not in wrong:
        wrong["fat"] = "Type the fat of the milk in %: from 10 % the law asks for more heat."
    first, last = record.trace.started_at, record.trace.started_at + timedelta(seconds=record.trace.duration_s)
    named = {
        name: _instrument(scope, pk, name, wrong)
        for name, pk in (("thermometer", thermometer_id), ("air_thermometer", air_thermometer_id))
    }
    rows = [_thermometer(typed, unit, first, last, wrong) for typed in thermometers]
    away = [_diversion(typed, first, last, wrong) for typed in diversions]
    if wrong or fat_percent is None:
        raise ActionError(next(iter(wrong.values())), fields=wrong)
    unfit = {name: fitness(one, scope.premises, last)[1] or "" for name, one in named.items()}
    texts = {"fat": fat, "cut_in": cut_in, "cut_out": cut_out, "tube_s": tube_s}
    sheet = HeatSheet.objects.create(
        id=sheet_id,
        record=record,
        process=process,
        fat_percent=fat_percent,
        sweetened=sweetened,
        typed={"unit": unit} | {name: text.strip() for name, text in texts.items() if text.strip()},
        thermometer=named["thermometer"],
        thermometer_unfit=unfit["thermometer"],
        air_thermometer=named["air_thermometer"],
        air_thermometer_unfit=unfit["air_thermometer"],
        note=note.strip(),
        recorded_at=now,
        recorded_by=scope.user,
        **numbers,
    )
    for row in rows:
        row.sheet = sheet
        row.save(force_insert=True)
    for one in away:
        one.sheet = sheet
        one.save(force_insert=True)
    ledger.seal(
        log_id=scope.log_id,
        kind="make.heat",
        subject=f"heat_sheet:{sheet.id}",
        body=sealing.heat_body(sheet),
        actor=scope.actor,
        at=now,
    )
    return sheet


@transaction.atomic
def phosphatase_record(
    *,
    scope: Scope,
    result_id: UUID,
    make_id: UUID,
    activity: str,
    sampled_at: datetime,
    laboratory: str = "",
    now: datetime | None = None,
) -> PhosphataseResult:
    """Adds a result in mU/L, as typed. Raises ActionError with a sentence per field, Conflict."""
    scope.require(Right.RECORD)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    now = now or timezone.now()
    there = PhosphataseResult.objects.filter(pk=result_id).first()
    if there is not None:
        if (there.make_id, there.typed_text) != (make_id, activity.strip()):
            raise Conflict("This result was already sent with other content; start a new entry.")
        return there
    make = Make.objects.select_related("lot").filter(lot__premises=scope.premises, pk=make_id).first()
    if make is None:
        raise ActionError("There is no such batch at this dairy.", field="make")
    wrong: dict[str, str] = {}
    if sampled_at > now + CLOCK_TOLERANCE:
        wrong["sampled_at"] = "That time is in the future; correct the time."
    elif sampled_at < make.lot.begun_at:
        wrong["sampled_at"] = f"That is before {make.lot.code} began; correct the time."
    value = _number("phosphatase", activity, "mU/L", "activity", wrong)
    if wrong or value is None:
        raise ActionError(next(iter(wrong.values()), "Type the result in mU/L."), fields=wrong)
    row = PhosphataseResult.objects.create(
        id=result_id,
        make=make,
        activity_mu_per_l=value,
        typed_text=activity.strip(),
        sampled_at=sampled_at,
        laboratory=laboratory.strip(),
        recorded_at=now,
        recorded_by=scope.user,
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="make.phosphatase",
        subject=f"phosphatase:{row.id}",
        body=sealing.phosphatase_body(row),
        actor=scope.actor,
        at=now,
    )
    return row


def _number(quantity: str, text: str, unit: str, field: str, wrong: dict[str, str]) -> float | None:
    if not text.strip():
        return None
    try:
        return read_typed(quantity, text, unit).value_si
    except InputError as error:
        wrong[field] = str(error)
        return None


def _instrument(scope: Scope, pk: UUID | None, field: str, wrong: dict[str, str]) -> Instrument | None:
    if pk is None:
        return None
    found = Instrument.objects.filter(premises=scope.premises, pk=pk, kind=Instrument.Kind.THERMOMETER).first()
    if found is None:
        wrong[field] = "There is no such thermometer at this dairy; choose one from the list."
    return found


def _thermometer(
    one: ThermometerTyped, unit: str, first: datetime, last: datetime, wrong: dict[str, str]
) -> ThermometerReading:
    if not first - AROUND <= one.at <= last + AROUND:
        wrong[f"at_{one.number}"] = "That time is not within the recording; correct the time."
    texts = {"indicating": one.indicating.strip(), "air_space": one.air_space.strip()}
    return ThermometerReading(
        at=one.at,
        typed={"unit": unit} | {name: text for name, text in texts.items() if text},
        indicating_c=_number("temperature", one.indicating, unit, f"indicating_{one.number}", wrong),
        air_space_c=_number("temperature", one.air_space, unit, f"air_space_{one.number}", wrong),
    )


def _diversion(one: DiversionTyped, first: datetime, last: datetime, wrong: dict[str, str]) -> FlowDiversion:
    if one.ended_at <= one.began_at:
        wrong[f"until_{one.number}"] = "The diversion ended before it began; exchange the times."
    elif one.began_at < first or one.ended_at > last:
        wrong[f"from_{one.number}"] = "That time is not within the recording; correct the time."
    return FlowDiversion(began_at=one.began_at, ended_at=one.ended_at)
