"""What every action about stock does: lock, find, refuse, write and seal."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from uuid import UUID

from django.db import IntegrityError, transaction

from batches.stock import sealing
from batches.stock.models import Item, ItemEvent
from batches.stock.queries import Piece, items_of, why_not_leave
from haccp.ledger import actions as ledger
from haccp.lots.models import Lot
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Place, Premises
from haccp.premises.scope import Scope

CLOCK_TOLERANCE = timedelta(minutes=2)


def lock(scope: Scope) -> None:
    Premises.objects.select_for_update().get(pk=scope.premises.pk)


def refuse_future(moment: datetime, now: datetime, *, field: str) -> None:
    if moment > now + CLOCK_TOLERANCE:
        raise ActionError("That time is in the future; correct the time.", field=field)


def find_batch(scope: Scope, lot_id: UUID) -> Lot:
    lot = Lot.objects.for_premises(scope.premises).batches().filter(pk=lot_id).select_related("product").first()
    if lot is None:
        raise ActionError("There is no such batch at this dairy.", field="lot")
    return lot


def find_place(scope: Scope, place_id: UUID | None) -> Place | None:
    if place_id is None:
        return None
    place = Place.objects.filter(premises=scope.premises, pk=place_id).first()
    if place is None:
        raise ActionError("There is no such place at this dairy; choose one from the list.", field="place")
    return place


def find_items(scope: Scope, item_ids: Sequence[UUID]) -> list[Piece]:
    """In stock all of them, each with now_kg. Raises Conflict when one is not in stock any more."""
    wanted = list(dict.fromkeys(item_ids))
    if not wanted:
        raise ActionError("Choose at least one piece.", field="items")
    found = list(items_of(scope.premises).filter(pk__in=wanted))
    if len(found) != len(wanted):
        raise ActionError("One of these pieces is not known at this dairy.", field="items")
    gone = [str(item) for item in found if not item.is_here]
    if gone:
        raise Conflict(f"{', '.join(gone)}: not in stock any more. Somebody else was first.", field="items")
    return found


def refuse_what_may_not_leave(items: Sequence[Piece]) -> None:
    """Nothing on hold and nothing unreleased leaves."""
    why = why_not_leave({item.lot_id for item in items})
    told = {item.lot.code: why[item.lot_id] for item in items if item.lot_id in why}
    if told:
        words = "; ".join(f"{code} is {reason}" for code, reason in told.items())
        raise ActionError(f"This may not leave: {words}.", field="items")


def events_write(scope: Scope, events: Sequence[ItemEvent], at: datetime) -> None:
    """Raises Conflict where somebody else ended one of the items first; nothing is written then."""
    try:
        with transaction.atomic():
            ItemEvent.objects.bulk_create(events)
    except IntegrityError as error:
        raise Conflict("Somebody else was first: one of these is not in stock any more.", field="items") from error
    ledger.seal_many(
        log_id=scope.log_id,
        sealings=[ledger.Sealing("stock.event", f"item_event:{one.pk}", sealing.event_body(one)) for one in events],
        actor=scope.actor,
        at=at,
    )


def items_write(scope: Scope, items: Sequence[Item], at: datetime) -> None:
    Item.objects.bulk_create(items)
    ledger.seal_many(
        log_id=scope.log_id,
        sealings=[ledger.Sealing("stock.entered", f"item:{one.pk}", sealing.item_body(one)) for one in items],
        actor=scope.actor,
        at=at,
    )


def find_cheese(scope: Scope, lot_id: UUID) -> Lot:
    """A lot that has pieces in stock: made here, or at another premises of the producer."""
    lot = Lot.objects.for_premises(scope.premises).cheese().filter(pk=lot_id).select_related("product").first()
    if lot is None:
        raise ActionError("There is no such batch at this dairy.", field="lot")
    return lot
