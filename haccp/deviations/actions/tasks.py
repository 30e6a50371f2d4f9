"""Tasks of a corrective action, the evidence of it, and the end of a lot that was not to go on."""

import hashlib
import zlib
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from haccp.deviations import sealing
from haccp.deviations.actions.steps import deviation_for_update
from haccp.deviations.models import Deviation, Evidence, LotEnd, Task, TaskDone
from haccp.deviations.queries import ENDS_LOT, guide
from haccp.ledger import actions as ledger
from haccp.lots import actions as lots
from haccp.lots.models import Hold
from haccp.premises.contents import refuse_disguised
from haccp.premises.errors import ActionError, Conflict, TooLarge
from haccp.premises.models import User
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

MOST_EVIDENCE_BYTES = 10 * 1024 * 1024
CLOCK_TOLERANCE = timedelta(minutes=2)


@transaction.atomic
def task_add(
    *,
    scope: Scope,
    task_id: UUID,
    deviation_id: UUID,
    title: str,
    owner_id: UUID,
    due_on: date,
    now: datetime | None = None,
) -> Task:
    """A task with its owner and its day; the deviation is not closed while it is open.

    Raises ActionError with a sentence per field, Conflict when the deviation is closed.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    deviation = deviation_for_update(scope, deviation_id)
    there = Task.objects.filter(pk=task_id).first()
    if there is not None:
        if (there.deviation_id, there.title, there.owner_id) != (deviation.pk, title.strip(), owner_id):
            raise Conflict("This task was already sent with other content; start a new one.")
        return there
    if hasattr(deviation, "closure"):
        raise Conflict(f"{deviation.reference} is closed; open a new deviation if there is more.")
    wrong: dict[str, str] = {}
    if not title.strip():
        wrong["title"] = "Say what is to be done."
    owner = User.objects.filter(
        pk=owner_id, memberships__premises=scope.premises, memberships__left_at__isnull=True
    ).first()
    if owner is None:
        wrong["owner"] = "Choose who does it: somebody who works here."
    if due_on < scope.premises.local_date(now):
        wrong["due_on"] = "That day has passed; give a day to come."
    if wrong or owner is None:
        raise ActionError(next(iter(wrong.values())), fields=wrong)
    return task_write(scope, deviation, task_id, Task.Kind.ACTION, title.strip(), owner, due_on, now)


def task_write(
    scope: Scope, deviation: Deviation, task_id: UUID, kind: str, title: str, owner: User, due_on: date, now: datetime
) -> Task:
    """Inside the transaction of task_add, or of the closure, which plans a look at the effectiveness."""
    task = Task.objects.create(
        id=task_id,
        deviation=deviation,
        kind=kind,
        title=title,
        owner=owner,
        due_on=due_on,
        recorded_at=now,
        recorded_by=scope.user,
    )
    _seal(scope, "deviation.task", f"task:{task.pk}", sealing.task_body(task), now)
    return task


@transaction.atomic
def task_do(
    *, scope: Scope, task_id: UUID, note: str, worked: bool | None = None, now: datetime | None = None
) -> TaskDone:
    """Done, with what was done or seen. worked: asked of a look at the effectiveness, and of no other task."""
    scope.require(Right.RECORD)
    now = now or timezone.now()
    task = (
        Task.objects.select_for_update(of=("self",))
        .filter(pk=task_id, deviation__premises=scope.premises)
        .select_related("deviation")
        .first()
    )
    if task is None:
        raise ActionError("There is no such task at this dairy.")
    there = TaskDone.objects.filter(task=task).first()
    if there is not None:
        if (there.note, there.worked) != (note.strip(), worked):
            raise Conflict("Somebody else has already recorded this task as done.")
        return there
    if not note.strip():
        raise ActionError("Say what was done, or what you saw.", field="note")
    looks = task.kind == Task.Kind.EFFECTIVENESS
    if looks and worked is None:
        raise ActionError("Say whether it worked.", field="worked")
    done = TaskDone.objects.create(
        task=task, note=note.strip(), worked=worked if looks else None, done_at=now, done_by=scope.user
    )
    _seal(scope, "deviation.task_done", f"task_done:{task.pk}", sealing.task_done_body(done), now)
    return done


@transaction.atomic
def evidence_attach(
    *,
    scope: Scope,
    evidence_id: UUID,
    deviation_id: UUID,
    content: bytes,
    filename: str,
    note: str = "",
    now: datetime | None = None,
) -> Evidence:
    """Keeps a file with the deviation, open or closed. Raises ActionError for an empty one, and for one that by its
    content is not taken or not what its name says; TooLarge over 10 MB."""
    scope.require(Right.RECORD)
    now = now or timezone.now()
    deviation = deviation_for_update(scope, deviation_id)
    digest = hashlib.sha256(content).hexdigest()
    there = Evidence.objects.filter(pk=evidence_id).first()
    if there is not None:
        if (there.deviation_id, there.sha256) != (deviation.pk, digest):
            raise Conflict("This file was already sent with other content; choose it again.")
        return there
    if not content:
        raise ActionError("The file is empty; choose another.", field="file")
    if len(content) > MOST_EVIDENCE_BYTES:
        raise TooLarge("A file of evidence may have at most 10 MB; send a smaller picture.", field="file")
    refuse_disguised(content, filename)
    evidence = Evidence.objects.create(
        id=evidence_id,
        deviation=deviation,
        filename=filename.strip()[:200] or "file",
        note=note.strip()[:400],
        sha256=digest,
        size_bytes=len(content),
        deflated=zlib.compress(content),
        attached_at=now,
        attached_by=scope.user,
    )
    _seal(scope, "deviation.evidence", f"evidence:{evidence.pk}", sealing.evidence_body(evidence), now)
    return evidence


@transaction.atomic
def lot_end_record(
    *,
    scope: Scope,
    end_id: UUID,
    deviation_id: UUID,
    lot_id: UUID,
    note: str,
    ended_at: datetime,
    now: datetime | None = None,
) -> LotEnd:
    """A lot was destroyed, fed or sent back as the closed deviation decided: its holds end, and it goes nowhere again.

    Raises ActionError while the deviation is open, or where it decided otherwise.
    """
    scope.require(Right.CLOSE_DEVIATION)
    now = now or timezone.now()
    deviation = deviation_for_update(scope, deviation_id)
    there = LotEnd.objects.filter(pk=end_id).first()
    if there is not None:
        if (there.lot_id, there.note) != (lot_id, note.strip()):
            raise Conflict("This was already sent with other content; start anew.")
        return there
    if not hasattr(deviation, "closure"):
        raise ActionError(f"{deviation.reference} is still open; close it first.")
    step = guide(deviation).disposition_of.get(lot_id)
    if step is None or step.lot is None or step.disposition not in ENDS_LOT:
        raise ActionError("This deviation did not decide that the lot comes to an end.", field="lot")
    if not note.strip():
        raise ActionError("Say how it was done, and who saw it.", field="note")
    if ended_at > now + CLOCK_TOLERANCE:
        raise ActionError("That time is in the future; correct the time.", field="ended_at")
    if LotEnd.objects.filter(lot=lot_id).exists():
        raise Conflict(f"The end of {step.lot.code} is already recorded.")
    end = LotEnd.objects.create(
        id=end_id,
        deviation=deviation,
        lot=step.lot,
        disposition=step.disposition,
        note=note.strip(),
        ended_at=ended_at,
        recorded_at=now,
        recorded_by=scope.user,
    )
    _seal(scope, "lot.ended", f"lot_end:{end.pk}", sealing.end_body(end), now)
    for hold in Hold.objects.standing().filter(lot=step.lot):
        reason = f"{deviation.reference}: {end.get_disposition_display()}. {end.note}"
        lots.hold_lift(scope=scope, hold=hold, reason=reason, at=now)
    return end


def _seal(scope: Scope, kind: str, subject: str, body: dict[str, object], at: datetime) -> None:
    ledger.seal(log_id=scope.log_id, kind=kind, subject=subject, body=body, actor=scope.actor, at=at)
