"""Calibrations of the instruments that a document shows, as found and as left."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Count

from haccp.reports.gather.evidence import Evidence
from haccp.reports.gather.scope import PackScope
from haccp.reports.gather.verifying import calibrations_in


@dataclass(frozen=True, slots=True)
class CalibrationLine:
    """found, left: (ruling, reason). doubted: how many earlier records and other readings it put in doubt."""

    ref: str
    at: datetime
    instrument: str
    method: str
    reference: str
    found: tuple[str, str]
    left: tuple[str, str]
    uncertainty: float
    valid_until: date | None
    doubted: int
    note: str
    by: str


def calibration_lines(scope: PackScope, evidence: Evidence) -> Iterator[CalibrationLine]:
    """Oldest first; one query."""
    rows = (
        calibrations_in(scope)
        .select_related("instrument", "recorded_by")
        .annotate(doubted=Count("doubts", distinct=True) + Count("doubted_readings", distinct=True))
    )
    for one in rows.order_by("performed_at", "id"):
        yield CalibrationLine(
            ref=evidence.ref(f"calibration:{one.id}"),
            at=one.performed_at,
            instrument=one.instrument.name,
            method=one.get_method_display(),
            reference=one.reference,
            found=(one.found_ruling, one.found_reason),
            left=(one.left_ruling, one.left_reason),
            uncertainty=one.expanded_uncertainty,
            valid_until=one.valid_until,
            doubted=one.doubted,
            note=one.note,
            by=one.recorded_by.name,
        )
