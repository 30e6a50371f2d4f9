"""What the ledger says of a record: made the same way when it is sealed and when it is verified."""

from collections.abc import Iterable, Sequence
from typing import Any

from haccp.checks.models import Reading, Record, RulingRow


def record_body(record: Record, readings: Iterable[Reading], rulings: Iterable[RulingRow]) -> dict[str, Any]:
    return {
        "check": record.check_done_id,
        "revision": record.revision_id,
        "due": record.due_id,
        "lot": record.lot_id,
        "place": record.place_id,
        "instrument": record.instrument_id,
        "trace": record.trace_id,
        "trace_roles": record.trace_roles,
        "observed": record.observed_at,
        "recorded": record.recorded_at,
        "device_time": record.device_at,
        "by": record.recorded_by_id,
        "note": record.note,
        "amends": record.amends_id,
        "amend_reason": record.amend_reason,
        "readings": [_reading_body(reading) for reading in sorted(readings, key=lambda row: str(row.measure_id))],
        "rulings": [_ruling_body(ruling) for ruling in sorted(rulings, key=lambda row: str(row.limit_id))],
    }


def record_bodies(subjects: Sequence[str]) -> dict[str, dict[str, Any]]:
    """For haccp.ledger.verification: the bodies as the rows say them today."""
    ids = [subject.removeprefix("record:") for subject in subjects]
    found = Record.objects.filter(id__in=ids).prefetch_related("readings", "rulings")
    return {f"record:{row.id}": record_body(row, row.readings.all(), row.rulings.all()) for row in found}


def _reading_body(reading: Reading) -> dict[str, Any]:
    return {
        "measure": reading.measure_id,
        "value_si": reading.value_si,
        "choice": reading.choice,
        "typed": reading.typed_text,
        "unit": reading.typed_unit,
    }


def _ruling_body(ruling: RulingRow) -> dict[str, Any]:
    return {
        "limit": ruling.limit_id,
        "ruling": str(ruling.ruling),
        "margin": ruling.margin,
        "code": ruling.code,
        "reason": ruling.reason,
        "facts": ruling.facts,
        "judged_by": ruling.judged_by,
    }
