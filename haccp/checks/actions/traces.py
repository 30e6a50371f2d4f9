"""Keeps a recorder's file as it came, with the samples read out of it."""

import hashlib
import zlib
from datetime import datetime, timedelta
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from haccp.checks import sealing, trace_store
from haccp.checks.models import TraceFile
from haccp.ledger import actions as ledger
from haccp.lots.models import Lot
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.errors import InputError
from haccp.science.recorder import read_recorder_file

BEFORE_THE_LOT = timedelta(hours=24)


@transaction.atomic
def trace_store_file(
    *,
    scope: Scope,
    trace_id: UUID,
    data: bytes,
    filename: str,
    lot_id: UUID | None,
    unit_overrides: dict[str, str] | None = None,
    now: datetime | None = None,
) -> TraceFile:
    """Reads a recorder's file and keeps it byte for byte. Nothing is stored when it cannot be read.

    Raises ActionError on field "file" with the sentence that names the line and the remedy.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    lot = _lot(scope, lot_id)
    digest = hashlib.sha256(data).hexdigest()
    there = _already(scope, trace_id, digest, lot_id)
    if there is not None:
        return there
    try:
        read = read_recorder_file(
            data,
            filename=filename,
            time_zone=scope.premises.time_zone,
            expected_day=scope.premises.local_date(lot.begun_at) if lot else None,
            max_bytes=settings.RECORDER_FILE_MAX_BYTES,
            unit_overrides=unit_overrides,
            not_after=now + timedelta(minutes=10),
        )
    except InputError as error:
        raise ActionError(str(error), field="file") from error
    _refuse_other_day(lot, read.trace.at(read.trace.t_s[-1]))
    # Only now, so that reading a long file keeps nobody waiting; a twin of this upload may have been faster.
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    there = _already(scope, trace_id, digest, lot_id)
    if there is not None:
        return there
    stored = TraceFile.objects.create(
        id=trace_id,
        premises=scope.premises,
        lot=lot,
        filename=filename[-200:],
        sha256=digest,
        raw_deflated=zlib.compress(data, 6),
        samples=trace_store.pack(read.trace),
        started_at=read.trace.started_at,
        duration_s=read.trace.duration_s,
        sample_count=int(read.trace.t_s.size),
        roles=read.suggested_roles,
        header=read.header,
        notes=list(read.notes),
        uploaded_at=now,
        uploaded_by=scope.user,
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="trace.stored",
        subject=f"trace:{stored.id}",
        body=sealing.trace_body(stored),
        actor=scope.actor,
        at=now,
    )
    return stored


def _already(scope: Scope, trace_id: UUID, digest: str, lot_id: UUID | None) -> TraceFile | None:
    there = TraceFile.objects.filter(id=trace_id).first()
    if there is None:
        return None
    if (there.premises_id, there.sha256, there.lot_id) != (scope.premises.id, digest, lot_id):
        raise Conflict("This upload was already sent with another file or lot; start a new one.", field="file")
    return there


def _lot(scope: Scope, lot_id: UUID | None) -> Lot | None:
    if lot_id is None:
        return None
    lot = Lot.objects.for_premises(scope.premises).filter(id=lot_id).first()
    if lot is None:
        raise ActionError("There is no such lot at this dairy.", field="lot")
    return lot


def _refuse_other_day(lot: Lot | None, ends_at: datetime) -> None:
    """A file of another day is the likeliest mix-up at the vat; milk may have been heated a while before the make."""
    if lot is not None and ends_at < lot.begun_at - BEFORE_THE_LOT:
        raise ActionError(
            f"This recording ends at {ends_at:%Y-%m-%d %H:%M} UTC, more than a day before {lot.code} began. "
            "Choose the file of this make.",
            field="file",
        )
