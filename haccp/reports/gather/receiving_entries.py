"""What was found of milk and ingredients that came in, whether they were accepted, and what changed of them since."""

from datetime import UTC, datetime, time
from typing import Any

from django.db.models import QuerySet

from batches.intake.models import Acceptance, MilkCount, MilkFinding, StockChange
from batches.making.models import BrineChange
from haccp.reports.gather.journal import Source, Told, in_period, on_days
from haccp.reports.gather.scope import PackScope


def _findings(scope: PackScope) -> QuerySet[Any]:
    rows = MilkFinding.objects.filter(lot__premises=scope.period.premises_id)
    found = in_period(scope, rows, "observed_at", "lot", scope.milk_ids)
    return found.select_related("lot", "instrument", "recorded_by")


def _finding(row: MilkFinding, scope: PackScope) -> Told:
    units = scope.period.units
    beside = "" if row.value_si is None else units.beside(row.kind, row.value_si, row.typed_unit)
    value = row.get_answer_display() if row.answer else f"{row.typed_text} {row.typed_unit}".strip() + beside
    parts = [f"{row.get_kind_display()}: {value}"]
    if row.instrument is not None:
        parts.append(row.instrument.name + (f" ({row.unfit})" if row.unfit else ""))
    parts.append(row.note)
    bad = row.answer in (MilkFinding.Answer.POSITIVE, MilkFinding.Answer.OFF)
    text = "; ".join(filter(None, parts))
    return Told(row.observed_at, "found", row.lot.code, text, row.recorded_by.name, row.lot_id, bad)


def _acceptances(scope: PackScope) -> QuerySet[Any]:
    rows = Acceptance.objects.filter(lot__premises=scope.period.premises_id)
    return in_period(scope, rows, "decided_at", "lot", scope.milk_ids).select_related("lot", "decided_by")


def _acceptance(row: Acceptance, scope: PackScope) -> Told:
    refused = row.decision == Acceptance.Decision.REFUSED
    what = str(row.get_decision_display())
    return Told(row.decided_at, what, row.lot.code, row.reason, row.decided_by.name, row.lot_id, refused)


def _stock_changes(scope: PackScope) -> QuerySet[Any]:
    rows = StockChange.objects.filter(lot__premises=scope.period.premises_id)
    return in_period(scope, rows, "changed_at", "lot", scope.milk_ids).select_related("lot", "changed_by")


def _stock_change(row: StockChange, scope: PackScope) -> Told:
    text = f"{row.typed_text} {row.typed_unit}: {row.reason}"
    return Told(row.changed_at, "stock corrected", row.lot.code, text, row.changed_by.name, row.lot_id)


def _counts(scope: PackScope) -> QuerySet[Any]:
    rows = MilkCount.objects.filter(premises=scope.period.premises_id)
    return on_days(scope, rows, "sampled_on").select_related("supplier", "recorded_by", "corrects")


def _count(row: MilkCount, scope: PackScope) -> Told:
    parts = [f"{row.get_quantity_display()} {row.typed_text} {row.typed_unit}", row.get_species_display()]
    parts.append(row.laboratory)
    if row.corrects is not None:
        parts.append(f"corrects {row.corrects.typed_text}: {row.note}")
    else:
        parts.append(row.note)
    noon = datetime.combine(row.sampled_on, time(12), scope.period.zone).astimezone(UTC)
    text = ", ".join(filter(None, map(str, parts)))
    return Told(noon, "milk counted", row.supplier.name, text, row.recorded_by.name)


def _brine_changes(scope: PackScope) -> QuerySet[Any]:
    rows = BrineChange.objects.filter(brine__lot__premises=scope.period.premises_id)
    found = in_period(scope, rows, "at", "brine", scope.milk_ids)
    return found.select_related("brine__lot", "brine__tank", "salt__parent", "recorded_by")


def _brine_change(row: BrineChange, scope: PackScope) -> Told:
    parts = []
    if row.typed_water:
        parts.append(f"{row.typed_water} {row.water_unit} of water")
    if row.salt is not None:
        parts.append(f"{row.typed_salt} {row.salt_unit} of salt, lot {row.salt.parent.code}")
    text = "; ".join([*parts, row.note] if row.note else parts)
    what = f"brine {row.get_what_display()}"
    return Told(row.at, what, row.brine.lot.code, text, row.recorded_by.name, row.brine.lot_id)


RECEIVING = (
    Source("finding", _findings, _finding),
    Source("acceptance", _acceptances, _acceptance),
    Source("stock", _stock_changes, _stock_change),
    Source("count", _counts, _count),
    Source("brine_change", _brine_changes, _brine_change),
)
