"""Instruments that the pack's records name, with what their calibration says."""

from dataclasses import dataclass
from datetime import date
from uuid import UUID

from haccp.checks.models import Record
from haccp.premises.models import Instrument
from haccp.reports.gather.scope import PackScope, in_groups


@dataclass(frozen=True, slots=True)
class InstrumentLine:
    """uncertainty: U (k = 2), in the unit of what it measures. unfit: why it cannot be relied on, or empty."""

    name: str
    kind: str
    serial: str
    place: str
    uncertainty: float
    calibrated_on: date | None
    valid_until: date | None
    retired_on: date | None
    records: int
    unfit: str


def instrument_lines(scope: PackScope) -> tuple[InstrumentLine, ...]:
    """By name: those in use at the whole dairy, or those that a chosen part of the records names."""
    counts: dict[UUID, int] = {}
    for group in in_groups(scope.record_ids):
        for one in Record.objects.filter(id__in=group, instrument__isnull=False).values_list("instrument", flat=True):
            if one is not None:
                counts[one] = counts.get(one, 0) + 1
    period = scope.period
    rows = Instrument.objects.filter(premises=period.premises_id).select_related("place").order_by("name", "id")
    last_day = min(period.last_day, period.asked_at.astimezone(period.zone).date())
    lines = []
    for row in rows:
        gone = row.retired_at is not None and row.retired_at < period.start
        if row.id not in counts and (gone or not scope.choice.is_whole):
            continue
        lines.append(
            InstrumentLine(
                name=row.name,
                kind=row.get_kind_display(),
                serial=row.serial,
                place=row.place.name if row.place else "",
                uncertainty=row.expanded_uncertainty,
                calibrated_on=row.calibrated_on,
                valid_until=row.calibration_valid_until,
                retired_on=row.retired_at.astimezone(period.zone).date() if row.retired_at else None,
                records=counts.get(row.id, 0),
                unfit=row.unfit_on(last_day) or "",
            )
        )
    return tuple(lines)
