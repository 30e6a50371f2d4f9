"""Pieces leave for a customer."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID, uuid5

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from batches.stock import sealing
from batches.stock.actions.entering import (
    events_write,
    find_items,
    lock,
    refuse_future,
    refuse_what_may_not_leave,
)
from batches.stock.actions.own_premises import find_receiver
from batches.stock.models import Dispatch, ItemEvent, Transfer
from haccp.ledger import actions as ledger
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope


@transaction.atomic
def dispatch_record(
    *,
    scope: Scope,
    dispatch_id: UUID,
    customer_id: UUID | None = None,
    own_premises_id: UUID | None = None,
    item_ids: Sequence[UUID],
    document_type: str,
    document_number: str,
    dispatched_at: datetime,
    note: str = "",
    now: datetime | None = None,
) -> Dispatch:
    """Sends pieces to a customer, or to another premises of the producer, where they are to arrive as stock.

    The same dispatch_id sent again gives the dispatch already there.

    Moves: lock the premises, find pieces and customer, refuse what is on hold or not released, number the dispatch,
    end each piece. Raises ActionError with a sentence per field, Conflict when somebody else ended one of them first.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    lock(scope)
    there = Dispatch.objects.filter(pk=dispatch_id).first()
    if there is not None:
        if own_premises_id is not None:
            customer_id = there.customer_id if there.customer.own_premises_id == own_premises_id else None
        sent = set(there.events.values_list("item_id", flat=True))
        if (there.premises_id, there.customer_id, sent) != (scope.premises.pk, customer_id, set(item_ids)):
            raise Conflict("This dispatch was already sent with other content; start a new one.")
        return there
    customer, receiver = find_receiver(scope, customer_id, own_premises_id)
    if not document_number.strip():
        raise ActionError("Give the number of the delivery note or invoice that goes along.", field="document_number")
    refuse_future(dispatched_at, now, field="dispatched_at")
    items = find_items(scope, item_ids)
    refuse_what_may_not_leave(items)
    early = [str(item) for item in items if dispatched_at < item.entered_at]
    if early:
        raise ActionError(f"That is before {early[0]} came into stock; correct the time.", field="dispatched_at")
    last = Dispatch.objects.filter(premises=scope.premises).aggregate(last=Max("number"))["last"] or 0
    dispatch = Dispatch.objects.create(
        id=dispatch_id,
        premises=scope.premises,
        customer=customer,
        number=last + 1,
        document_type=document_type.strip() or "delivery note",
        document_number=document_number.strip(),
        dispatched_at=dispatched_at,
        note=note.strip(),
        recorded_at=now,
        recorded_by=scope.user,
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="stock.dispatched",
        subject=f"dispatch:{dispatch.pk}",
        body=sealing.dispatch_body(dispatch),
        actor=scope.actor,
        at=now,
    )
    if receiver is not None:
        _transfer(scope, dispatch, receiver, now)
    events = [
        ItemEvent(
            id=uuid5(dispatch_id, str(item.pk)),
            item=item,
            kind=ItemEvent.Kind.DISPATCHED,
            ends=True,
            weight_kg=item.now_kg,
            dispatch=dispatch,
            occurred_at=dispatched_at,
            recorded_at=now,
            recorded_by=scope.user,
        )
        for item in items
    ]
    events_write(scope, events, now)
    return dispatch


def _transfer(scope: Scope, dispatch: Dispatch, receiver: Premises, now: datetime) -> None:
    transfer = Transfer.objects.create(dispatch=dispatch, receiver=receiver)
    ledger.seal(
        log_id=scope.log_id,
        kind="stock.transfer",
        subject=f"transfer:{transfer.pk}",
        body=sealing.transfer_body(transfer),
        actor=scope.actor,
        at=now,
    )
