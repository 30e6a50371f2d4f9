"""Cheeses move into and between rooms."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from haccp.checks.actions import event_record
from haccp.lots.kinds import EventKind
from haccp.lots.models import LotEvent
from haccp.premises.errors import ActionError
from haccp.premises.models import Place
from haccp.premises.scope import Scope

ROOMS = (Place.Kind.RIPENING_ROOM, Place.Kind.COLD_STORE)


@transaction.atomic
def batch_place(
    *,
    scope: Scope,
    lot_id: UUID,
    room_id: UUID,
    moved_at: datetime,
    event_id: UUID,
    now: datetime | None = None,
) -> LotEvent:
    """Records that a batch was placed in a room; it leaves the place it was in. Raises ActionError."""
    if not Place.objects.filter(premises=scope.premises, id=room_id, kind__in=ROOMS).exists():
        raise ActionError("Choose one of the ripening rooms or cold stores.", field="room")
    return event_record(
        scope=scope,
        lot_id=lot_id,
        kind=EventKind.PLACED_IN_ROOM,
        occurred_at=moved_at,
        event_id=event_id,
        place_id=room_id,
        now=now,
    )
