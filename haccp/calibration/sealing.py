"""What the ledger says of calibrations and doubts: made the same way when a row is sealed and when it is verified."""

from haccp.calibration.models import Calibration, Doubt, DoubtedReading, LaterRuling
from haccp.ledger.sealed_rows import register_rows

Body = dict[str, object]


def calibration_body(one: Calibration) -> Body:
    return {
        "instrument": one.instrument_id,
        "method": one.method,
        "quantity": one.quantity,
        "performed": one.performed_at,
        "points": one.points,
        "typed": one.typed,
        "tolerance": one.tolerance,
        "expanded_uncertainty": one.expanded_uncertainty,
        "found": [one.found_ruling, one.found_reason, one.found_facts],
        "left": [one.left_ruling, one.left_reason, one.left_facts],
        "valid_until": one.valid_until,
        "reference": one.reference,
        "note": one.note,
        "recorded": one.recorded_at,
        "by": one.recorded_by_id,
    }


def doubt_body(doubt: Doubt) -> Body:
    return {
        "calibration": doubt.calibration_id,
        "record": doubt.record_id,
        "deviation": doubt.deviation_id,
        "reason": doubt.reason,
        "rulings": [_ruling_body(row) for row in sorted(doubt.rulings.all(), key=lambda row: str(row.limit_id))],
    }


def doubted_reading_body(one: DoubtedReading) -> Body:
    return {
        "calibration": one.calibration_id,
        "source": one.source,
        "about": one.about,
        "words": one.words,
        "read": one.read_at,
        "lot": one.lot_id,
        "place": one.place_id,
        "deviation": one.deviation_id,
        "reason": one.reason,
    }


def _ruling_body(row: LaterRuling) -> Body:
    return {
        "limit": row.limit_id,
        "ruling": str(row.ruling),
        "reason": row.reason,
        "corrected": [str(row.corrected_ruling), row.corrected_reason],
        "judged_by": row.judged_by,
    }


def register() -> None:
    register_rows(
        "instrument.calibrated",
        prefix="calibration",
        rows=Calibration.objects.all,
        body=calibration_body,
        log_key="premises__log__key",
    )
    register_rows(
        "record.doubted",
        prefix="doubt",
        rows=lambda: Doubt.objects.prefetch_related("rulings"),
        body=doubt_body,
        log_key="calibration__premises__log__key",
    )
    register_rows(
        "reading.doubted",
        prefix="doubted_reading",
        rows=DoubtedReading.objects.all,
        body=doubted_reading_body,
        log_key="calibration__premises__log__key",
    )
