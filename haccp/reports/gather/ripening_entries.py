"""What was done to the cheese in the rooms, what it weighed, and what the rooms' own instruments showed."""

from typing import Any

from django.db.models import QuerySet

from batches.ripening.models import Care, RoomLog, RoomReading, Weighing
from haccp.reports.gather.journal import Source, Told, in_period
from haccp.reports.gather.scope import PackScope

MOST_NAMED = 12


def _care(scope: PackScope) -> QuerySet[Any]:
    rows = Care.objects.filter(premises=scope.period.premises_id)
    found = in_period(scope, rows, "done_at", "lots__lot").distinct()
    return found.select_related("place", "recorded_by").prefetch_related("lots__lot")


def _care_words(row: Care, scope: PackScope) -> Told:
    lots = sorted(one.lot.code for one in row.lots.all())
    more = f" and {len(lots) - MOST_NAMED} more" if len(lots) > MOST_NAMED else ""
    of = f"{', '.join(lots[:MOST_NAMED])}{more}"
    place = row.place.name if row.place else ""
    text = "; ".join(filter(None, (of, row.note)))
    return Told(row.done_at, str(row.get_kind_display()), place, text, row.recorded_by.name)


def _weighings(scope: PackScope) -> QuerySet[Any]:
    rows = Weighing.objects.filter(lot__premises=scope.period.premises_id)
    return in_period(scope, rows, "weighed_at", "lot").select_related("lot", "instrument", "recorded_by")


def _weighing(row: Weighing, scope: PackScope) -> Told:
    beside = scope.period.units.beside("mass", row.mass_kg, row.typed_unit)
    pieces = "1 piece" if row.pieces == 1 else f"{row.pieces} pieces"
    unfit = f" ({row.instrument_unfit})" if row.instrument_unfit else ""
    on = f", {row.instrument.name}{unfit}" if row.instrument else ""
    text = f"{pieces}: {row.typed_mass} {row.typed_unit}{beside}{on}"
    return Told(row.weighed_at, "weighed", row.lot.code, text, row.recorded_by.name, row.lot_id)


def _readings(scope: PackScope) -> QuerySet[Any]:
    rows = RoomReading.objects.filter(place__premises=scope.period.premises_id)
    return in_period(scope, rows, "read_at").select_related("place", "instrument", "recorded_by")


def _reading(row: RoomReading, scope: PackScope) -> Told:
    parts = []
    if row.temperature_c is not None:
        parts.append(scope.period.units.show("temperature", row.temperature_c))
    if row.relative_humidity is not None:
        parts.append(f"{row.relative_humidity:.0f} % relative humidity")
    if row.instrument is not None:
        parts.append(row.instrument.name + (f" ({row.instrument_unfit})" if row.instrument_unfit else ""))
    parts.append(row.note)
    return Told(row.read_at, "air read", row.place.name, ", ".join(filter(None, parts)), row.recorded_by.name)


def _logs(scope: PackScope) -> QuerySet[Any]:
    """Those that reach into the period."""
    rows = RoomLog.objects.filter(
        place__premises=scope.period.premises_id,
        starts_at__lt=scope.period.end,
        ends_at__gte=scope.period.start,
    ).defer("overview")
    found = rows.select_related("place", "trace", "instrument", "recorded_by")
    found = found.defer("overview", "trace__raw_deflated", "trace__samples")
    return found if scope.choice.is_whole else found.none()


def _log(row: RoomLog, scope: PackScope) -> Told:
    until = row.ends_at.astimezone(scope.period.zone)
    unfit = f" ({row.instrument_unfit})" if row.instrument_unfit else ""
    on = f", {row.instrument.name}{unfit}" if row.instrument else ""
    text = f"{row.get_quantity_display()}, {row.label}, file {row.trace.filename}, to {until:%Y-%m-%d %H:%M}{on}"
    return Told(row.starts_at, "logger's file", row.place.name, text, row.recorded_by.name)


CARE = (Source("care", _care, _care_words), Source("weighing", _weighings, _weighing))
ROOMS = (Source("room_reading", _readings, _reading), Source("room_log", _logs, _log))
