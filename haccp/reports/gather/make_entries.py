"""What was done in a make and to its cheese until it lay in stock: the make sheet, entry by entry."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.db.models import Prefetch, QuerySet

from batches.making.models import (
    BrineUse,
    HeatSheet,
    IngredientUse,
    MakeYield,
    PhosphataseResult,
    StageMark,
    StageReading,
)
from haccp.checks.wording import RULING_WORDS
from haccp.reports.gather.journal import Source, Told
from haccp.reports.gather.scope import PackScope

Ids = Sequence[UUID]


def _marks(ids: Ids) -> QuerySet[Any]:
    readings = Prefetch("readings", queryset=StageReading.objects.select_related("instrument").order_by("what"))
    rows = StageMark.objects.filter(make__in=ids).select_related("make__lot", "stage", "recorded_by", "corrects")
    return rows.prefetch_related(readings)


def _mark(row: StageMark, scope: PackScope) -> Told:
    parts = [_stage_reading(one, scope) for one in row.readings.all()]
    if row.corrects is not None:
        first = row.corrects.at.astimezone(scope.period.zone)
        parts.append(f"Corrects “{row.corrects.get_what_display()}” at {first:%H:%M}: {row.reason}")
    parts.append(row.note)
    bad = any(one.ruling in ("breached", "unproven") for one in row.readings.all())
    what = f"{row.stage.name}: {row.get_what_display()}"
    lot = row.make.lot
    return Told(row.at, what, lot.code, "\n".join(filter(None, parts)), row.recorded_by.name, lot.pk, bad)


def _stage_reading(one: StageReading, scope: PackScope) -> str:
    beside = scope.period.units.beside(one.quantity, one.value_si, one.typed_unit)
    words = f"{one.get_what_display()} {one.typed_text} {one.typed_unit}".strip() + beside
    if one.instrument is not None:
        words += f", {one.instrument.name}" + (f" ({one.unfit})" if one.unfit else "")
    if one.ruling:
        shown = RULING_WORDS[one.ruling]
        words += f": {shown.sign} {shown.word}" + (f", {one.said}" if one.said else "")
    return words


def _uses(ids: Ids) -> QuerySet[Any]:
    rows = IngredientUse.objects.filter(make__in=ids)
    return rows.select_related("make__lot", "link__parent__ingredient", "stage", "recorded_by")


def _use(row: IngredientUse, scope: PackScope) -> Told:
    parent = row.link.parent
    detail = getattr(parent, "ingredient", None)
    name = detail.name if detail else parent.get_kind_display()
    label = f", supplier's lot {detail.supplier_lot}" if detail and detail.supplier_lot else ""
    text = f"{row.typed_text} {row.typed_unit} of {name}, lot {parent.code}{label}"
    where = f"{row.stage.name}: " if row.stage else ""
    lot = row.make.lot
    return Told(row.used_at, f"{where}ingredient added", lot.code, text, row.recorded_by.name, lot.pk)


def _heat_sheets(ids: Ids) -> QuerySet[Any]:
    rows = HeatSheet.objects.filter(record__lot__in=ids).select_related(
        "record__lot", "recorded_by", "thermometer", "air_thermometer"
    )
    return rows.prefetch_related("thermometers", "diversions")


def _heat_sheet(row: HeatSheet, scope: PackScope) -> Told:
    zone, units = scope.period.zone, scope.period.units
    parts = [f"{row.get_process_display()}; fat {row.fat_percent:g} %" + ("; sweetened" if row.sweetened else "")]
    for one in row.thermometers.all():
        read = (
            [f"indicating thermometer {units.show('temperature', one.indicating_c)}"]
            if one.indicating_c is not None
            else []
        )
        if one.air_space_c is not None:
            read.append(f"air space {units.show('temperature', one.air_space_c)}")
        parts.append(f"{one.at.astimezone(zone):%H:%M:%S} {', '.join(read)}")
    for instrument, unfit in (
        (row.thermometer, row.thermometer_unfit),
        (row.air_thermometer, row.air_thermometer_unfit),
    ):
        if instrument is not None:
            parts.append(f"read with {instrument.name}" + (f" ({unfit})" if unfit else ""))
    if row.cut_in_c is not None and row.cut_out_c is not None:
        cut_in, cut_out = (units.show("temperature", one) for one in (row.cut_in_c, row.cut_out_c))
        parts.append(f"diversion valve cuts in at {cut_in}, out at {cut_out}")
    if row.holding_tube_s is not None:
        parts.append(f"holding tube {row.holding_tube_s:g} s")
    for flow in row.diversions.all():
        parts.append(
            f"flow diverted {flow.began_at.astimezone(zone):%H:%M:%S} to {flow.ended_at.astimezone(zone):%H:%M:%S}"
        )
    parts.append(row.note)
    lot = row.record.lot
    return Told(
        row.recorded_at,
        "heat treatment: sheet beside the recorder",
        lot.code if lot else "",
        "\n".join(filter(None, parts)),
        row.recorded_by.name,
        row.record.lot_id,
    )


def _phosphatase(ids: Ids) -> QuerySet[Any]:
    return PhosphataseResult.objects.filter(make__in=ids).select_related("make__lot", "recorded_by")


def _phosphatase_result(row: PhosphataseResult, scope: PackScope) -> Told:
    text = f"{row.typed_text} mU/L" + (f", {row.laboratory}" if row.laboratory else "")
    lot = row.make.lot
    return Told(row.sampled_at, "alkaline phosphatase", lot.code, text, row.recorded_by.name, lot.pk)


def _brinings(ids: Ids) -> QuerySet[Any]:
    return BrineUse.objects.filter(make__in=ids).select_related("make__lot", "brine__lot", "brine__tank", "recorded_by")


def _brining(row: BrineUse, scope: PackScope) -> Told:
    lot = row.make.lot
    return Told(row.laid_in_at, "laid in brine", lot.code, str(row.brine), row.recorded_by.name, lot.pk)


def _yields(ids: Ids) -> QuerySet[Any]:
    return MakeYield.objects.filter(make__in=ids).select_related("make__lot", "recorded_by")


def _yield(row: MakeYield, scope: PackScope) -> Told:
    beside = scope.period.units.beside("mass", row.cheese_kg, row.typed_unit)
    parts = [f"{row.typed_text} {row.typed_unit}{beside} of cheese"]
    for name in ("fat", "protein", "casein", "moisture"):
        value = getattr(row, f"{name}_percent")
        if value is not None:
            parts.append(f"{name} {value:g} %")
    parts.append(row.note)
    lot = row.make.lot
    return Told(row.weighed_at, "yield weighed", lot.code, ", ".join(filter(None, parts)), row.recorded_by.name, lot.pk)


MAKE = (
    Source("stage_mark", _marks, _mark),
    Source("use", _uses, _use),
    Source("heat_sheet", _heat_sheets, _heat_sheet),
    Source("phosphatase", _phosphatase, _phosphatase_result),
    Source("brine_use", _brinings, _brining),
    Source("yield", _yields, _yield),
)
