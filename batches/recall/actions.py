"""Every write of a recall. Each has the moment at which it was done, so that the record is its own stopwatch."""

from datetime import datetime
from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone

from batches.recall import sealing
from batches.recall.findings import findings
from batches.recall.models import Recall, RecallMark
from batches.stock.models import Customer
from haccp.ledger import actions as ledger
from haccp.lots.models import Lot
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

Kind = RecallMark.Kind
LONGEST_RHYTHM_DAYS = 3 * 366


@transaction.atomic
def recall_start(
    *,
    scope: Scope,
    recall_id: UUID,
    kind: str,
    reason: str,
    repeat_after_days: int = 365,
    now: datetime | None = None,
) -> Recall:
    """Starts the clock. The same recall_id sent again gives the one already there."""
    scope.require(Right.RECORD)
    now = now or timezone.now()
    there = Recall.objects.filter(pk=recall_id).first()
    if there is not None:
        if (there.premises_id, there.kind, there.reason) != (scope.premises.pk, kind, reason.strip()):
            raise Conflict("This was already sent with other content; start a new one.")
        return there
    wrong: dict[str, str] = {}
    if kind not in Recall.Kind.values:
        wrong["kind"] = "Say whether this is an exercise or a real recall."
    if not reason.strip():
        wrong["reason"] = "Say why, or what is being tried."
    if not 0 <= repeat_after_days <= LONGEST_RHYTHM_DAYS:
        wrong["repeat_after_days"] = "Give a number of days up to three years, or 0 for never."
    if wrong:
        raise ActionError(next(iter(wrong.values())), fields=wrong)
    recall = Recall.objects.create(
        id=recall_id,
        premises=scope.premises,
        kind=kind,
        reason=reason.strip(),
        repeat_after_days=repeat_after_days,
        started_at=now,
        started_by=scope.user,
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="recall.started",
        subject=f"recall:{recall.pk}",
        body=sealing.recall_body(recall),
        actor=scope.actor,
        at=now,
    )
    return recall


@transaction.atomic
def recall_choose(
    *, scope: Scope, recall_id: UUID, mark_id: UUID, lot_id: UUID, reach: str, now: datetime | None = None
) -> RecallMark:
    """Chooses the lot; what it reaches is computed at once, and its figures are kept with the moment."""
    scope.require(Right.RECORD)
    now = now or timezone.now()
    recall = _open_recall(scope, recall_id)
    lot = Lot.objects.for_premises(scope.premises).filter(pk=lot_id).first()
    if lot is None:
        raise ActionError("There is no such lot at this dairy; choose one from the list.", field="lot")
    if reach not in RecallMark.Reach.values:
        raise ActionError("Choose how far it reaches.", field="reach")
    found = findings(scope.premises, lot, reach, now)
    return _mark(scope, recall, mark_id, Kind.CHOSEN, now, lot=lot, reach=reach, figures=found.figures)


@transaction.atomic
def recall_reach(
    *, scope: Scope, recall_id: UUID, mark_id: UUID, customer_id: UUID, note: str = "", now: datetime | None = None
) -> RecallMark:
    """A customer was reached; note: by whom and what they said."""
    scope.require(Right.RECORD)
    customer = Customer.objects.filter(premises=scope.premises, pk=customer_id).first()
    if customer is None:
        raise ActionError("There is no such customer at this dairy.", field="customer")
    recall = _open_recall(scope, recall_id)
    return _mark(scope, recall, mark_id, Kind.REACHED, now or timezone.now(), customer=customer, note=note.strip())


@transaction.atomic
def recall_finish(
    *, scope: Scope, recall_id: UUID, mark_id: UUID, note: str, now: datetime | None = None
) -> RecallMark:
    """Stops the clock. note: what went well and what did not. Raises ActionError before a lot was chosen."""
    scope.require(Right.RECORD)
    now = now or timezone.now()
    recall = _open_recall(scope, recall_id)
    chosen = recall.marks.filter(kind=Kind.CHOSEN).select_related("lot").first()
    if chosen is None or chosen.lot is None:
        raise ActionError("Choose the lot first: nothing was traced yet.")
    if not note.strip():
        raise ActionError("Say what went well and what is to be done better.", field="note")
    figures = findings(scope.premises, chosen.lot, chosen.reach, chosen.at).figures
    return _mark(scope, recall, mark_id, Kind.FINISHED, now, note=note.strip(), figures=figures)


def _open_recall(scope: Scope, recall_id: UUID) -> Recall:
    """Locked, within the premises."""
    recall = Recall.objects.select_for_update(of=("self",)).filter(premises=scope.premises, pk=recall_id).first()
    if recall is None:
        raise ActionError("There is no such recall at this dairy.")
    return recall


def _mark(
    scope: Scope,
    recall: Recall,
    mark_id: UUID,
    kind: str,
    at: datetime,
    *,
    lot: Lot | None = None,
    reach: str = "",
    customer: Customer | None = None,
    note: str = "",
    figures: dict[str, object] | None = None,
) -> RecallMark:
    there = RecallMark.objects.filter(pk=mark_id).first()
    if there is not None:
        kept = (there.recall_id, there.kind, there.lot_id, there.reach, there.customer_id, there.note)
        ids = (lot.pk if lot else None, reach, customer.pk if customer else None, note)
        if kept != (recall.pk, kind, *ids):
            raise Conflict("This was already sent with other content; open the recall again.")
        return there
    if kind != Kind.NOTE and recall.marks.filter(kind=Kind.FINISHED).exists():
        raise Conflict("This recall is finished; start a new one if there is more.")
    try:
        with transaction.atomic():
            mark = RecallMark.objects.create(
                id=mark_id,
                recall=recall,
                kind=kind,
                lot=lot,
                reach=reach,
                customer=customer,
                note=note,
                figures=figures or {},
                at=at,
                by=scope.user,
            )
    except IntegrityError as error:
        raise Conflict("Somebody else has already recorded this; open the recall again.") from error
    ledger.seal(
        log_id=scope.log_id,
        kind="recall.marked",
        subject=f"recall_mark:{mark.pk}",
        body=sealing.mark_body(mark),
        actor=scope.actor,
        at=at,
    )
    return mark
