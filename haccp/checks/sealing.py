"""What the ledger says of records, missed checks and recorder files: made alike for sealing and for verifying."""

import hashlib
from collections.abc import Iterable
from typing import Any

from haccp.checks.models import (
    Absence,
    BackAgain,
    ClosedPeriod,
    FreeDay,
    Keeper,
    MissedCheck,
    MissedReason,
    PhotoFile,
    Reading,
    Record,
    Reopening,
    RulingRow,
    TraceFile,
)
from haccp.ledger.kept_bytes import agreed, sha256_of_inflated
from haccp.ledger.sealed_rows import register_rows


def record_body(record: Record, readings: Iterable[Reading], rulings: Iterable[RulingRow]) -> dict[str, Any]:
    return {
        "check": record.check_done_id,
        "revision": record.revision_id,
        "due": record.due_id,
        "lot": record.lot_id,
        "place": record.place_id,
        "instrument": record.instrument_id,
        "expanded_uncertainty": record.expanded_uncertainty,
        "instrument_unfit": record.instrument_unfit,
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


def missed_body(missed: MissedCheck) -> dict[str, Any]:
    due = missed.due
    return {
        "check": due.check_due_id,
        "lot": due.lot_id,
        "due": due.due_at,
        "missed": missed.missed_at,
        "flagged": missed.flagged_at,
    }


def reason_body(reason: MissedReason) -> dict[str, Any]:
    return {
        "missed": reason.missed_id,
        "text": reason.text,
        "by": reason.given_by_id,
        "given": reason.given_at,
    }


def closed_body(period: ClosedPeriod) -> dict[str, Any]:
    return {
        "without": period.without,
        "first": period.first,
        "last": period.last,
        "reason": period.reason,
        "by": period.said_by_id,
        "said": period.said_at,
    }


def reopening_body(reopening: Reopening) -> dict[str, Any]:
    return {
        "period": reopening.period_id,
        "on": reopening.on,
        "by": reopening.said_by_id,
        "said": reopening.said_at,
    }


def free_day_body(row: FreeDay) -> dict[str, Any]:
    return {"day": row.day, "free": row.is_free, "name": row.name, "by": row.said_by_id, "said": row.said_at}


def photo_body(photo: PhotoFile) -> dict[str, Any]:
    """The hash of what is kept, taken from the picture itself, so that a changed one is found."""
    return {
        "sent_sha256": photo.sent_sha256,
        "kept_sha256": agreed(hashlib.sha256(bytes(photo.kept)).hexdigest(), photo.kept_sha256),
        "width": photo.width,
        "height": photo.height,
        "by": photo.sent_by_id,
        "sent": photo.sent_at,
    }


def keeper_body(row: Keeper) -> dict[str, Any]:
    return {"check": row.check_key, "person": row.membership_id, "by": row.said_by_id, "said": row.said_at}


def absence_body(row: Absence) -> dict[str, Any]:
    return {
        "person": row.membership_id,
        "first": row.first,
        "last": row.last,
        "stand_in": row.stand_in_id,
        "note": row.note,
        "by": row.said_by_id,
        "said": row.said_at,
    }


def back_body(row: BackAgain) -> dict[str, Any]:
    return {"on": row.on, "by": row.said_by_id, "said": row.said_at}


def trace_body(trace: TraceFile) -> dict[str, Any]:
    """The raw file's hash stands for it; the samples' hash says that they were not touched either."""
    return {
        "filename": trace.filename,
        "sha256": agreed(sha256_of_inflated(trace.raw_deflated), trace.sha256),
        "samples_sha256": hashlib.sha256(bytes(trace.samples)).hexdigest(),
        "started": trace.started_at,
        "duration_s": trace.duration_s,
        "samples": trace.sample_count,
        "header": trace.header,
        "notes": trace.notes,
        "lot": trace.lot_id,
        "roles": trace.roles,
        "by": trace.uploaded_by_id,
        "uploaded": trace.uploaded_at,
    }


def register() -> None:
    """Says to the ledger how the rows of this room are read when it is verified."""
    register_rows(
        "record.saved",
        prefix="record",
        rows=lambda: Record.objects.filter(amends__isnull=True).prefetch_related("readings", "rulings"),
        body=_record,
        log_key="premises__log__key",
    )
    register_rows(
        "record.amended",
        prefix="record",
        rows=lambda: Record.objects.filter(amends__isnull=False).prefetch_related("readings", "rulings"),
        body=_record,
        log_key="premises__log__key",
    )
    register_rows(
        "check.missed",
        prefix="missed",
        rows=lambda: MissedCheck.objects.select_related("due"),
        body=missed_body,
        log_key="due__premises__log__key",
    )
    register_rows(
        "check.missed_reason",
        prefix="missed_reason",
        rows=MissedReason.objects.all,
        body=reason_body,
        log_key="missed__due__premises__log__key",
    )
    register_rows(
        "calendar.closed",
        prefix="closed_period",
        rows=ClosedPeriod.objects.all,
        body=closed_body,
        log_key="premises__log__key",
    )
    register_rows(
        "calendar.reopened",
        prefix="reopening",
        rows=Reopening.objects.all,
        body=reopening_body,
        log_key="period__premises__log__key",
    )
    register_rows(
        "calendar.free_day",
        prefix="free_day",
        rows=FreeDay.objects.all,
        body=free_day_body,
        log_key="premises__log__key",
    )
    register_rows(
        "photo.stored", prefix="photo", rows=PhotoFile.objects.all, body=photo_body, log_key="premises__log__key"
    )
    register_rows(
        "cover.keeper", prefix="keeper", rows=Keeper.objects.all, body=keeper_body, log_key="premises__log__key"
    )
    register_rows(
        "cover.absence",
        prefix="absence",
        rows=Absence.objects.all,
        body=absence_body,
        log_key="membership__premises__log__key",
    )
    register_rows(
        "cover.back",
        prefix="back",
        rows=BackAgain.objects.all,
        body=back_body,
        log_key="absence__membership__premises__log__key",
    )
    register_rows(
        "trace.stored",
        prefix="trace",
        rows=TraceFile.objects.all,
        body=trace_body,
        log_key="premises__log__key",
    )


def _record(record: Record) -> dict[str, Any]:
    return record_body(record, record.readings.all(), record.rulings.all())


def _reading_body(reading: Reading) -> dict[str, Any]:
    photo = {"photo": reading.photo_id} if reading.photo_id else {}
    return {
        **photo,
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
