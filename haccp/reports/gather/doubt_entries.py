"""Records and other readings that a later calibration put in doubt, each with what its limits say of it now."""

from typing import Any

from django.db.models import Q, QuerySet

from haccp.calibration.models import Doubt, DoubtedReading
from haccp.checks.wording import RULING_WORDS
from haccp.reports.gather.journal import Source, Told
from haccp.reports.gather.scope import PackScope


def _doubts(scope: PackScope) -> QuerySet[Any]:
    """Of deviations shown, and of calibrations of the period."""
    period = scope.period
    rows = Doubt.objects.filter(calibration__premises=period.premises_id)
    mine = Q(deviation__in=scope.deviation_ids)
    if scope.choice.is_whole:
        mine |= Q(calibration__performed_at__gte=period.start, calibration__performed_at__lt=period.end)
    found = rows.filter(mine).select_related(
        "calibration__instrument", "calibration__recorded_by", "deviation", "record__check_done", "record__lot"
    )
    return found.prefetch_related("rulings__limit")


def _doubt(row: Doubt, scope: PackScope) -> Told:
    record, zone = row.record, scope.period.zone
    read = record.observed_at.astimezone(zone)
    of = f" of {record.lot.code}" if record.lot else ""
    parts = [f"{record.check_done.name}{of}, {read:%Y-%m-%d %H:%M}: {row.reason}"]
    for one in row.rulings.all():
        shown = RULING_WORDS[one.ruling]
        parts.append(f"{one.limit.statement}: now {shown.sign} {shown.word}, {one.reason}")
        if one.corrected_ruling:
            help_words = RULING_WORDS[one.corrected_ruling].word
            parts.append(f"corrected by the error found it would be {help_words}: a help, and no ruling")
    parts.append(f"Deviation {row.deviation.reference}")
    at, by = row.calibration.performed_at, row.calibration.recorded_by.name
    about = row.calibration.instrument.name
    return Told(at, "put in doubt", about, "\n".join(parts), by, record.lot_id, is_bad=True)


def _readings(scope: PackScope) -> QuerySet[Any]:
    period = scope.period
    rows = DoubtedReading.objects.filter(calibration__premises=period.premises_id)
    mine = Q(deviation__in=scope.deviation_ids)
    if scope.choice.is_whole:
        mine |= Q(calibration__performed_at__gte=period.start, calibration__performed_at__lt=period.end)
    return rows.filter(mine).select_related("calibration__instrument", "calibration__recorded_by", "deviation")


def _reading(row: DoubtedReading, scope: PackScope) -> Told:
    read = row.read_at.astimezone(scope.period.zone)
    parts = [f"{row.words}, {read:%Y-%m-%d %H:%M}: {row.reason}"]
    if row.deviation is not None:
        parts.append(f"Deviation {row.deviation.reference}")
    at, by = row.calibration.performed_at, row.calibration.recorded_by.name
    about = row.calibration.instrument.name
    return Told(at, "put in doubt", about, "\n".join(parts), by, row.lot_id, is_bad=True)


DOUBTS = (Source("doubt", _doubts, _doubt), Source("doubted_reading", _readings, _reading))
