"""Reads about makes."""

from dataclasses import dataclass
from enum import StrEnum
from uuid import UUID

from django.db.models import Exists, OuterRef, QuerySet, Subquery

from batches.making.models import Make
from haccp.lots.kinds import EventKind
from haccp.lots.models import Hold, Lot, LotEvent, LotLink
from haccp.premises.models import Premises

MOVES = (EventKind.PLACED_IN_ROOM, EventKind.LEFT_ROOM)


class Part(StrEnum):
    """Which makes a list shows."""

    IN_PROGRESS = "making"
    IN_RIPENING = "ripening"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class MadeOf:
    """Milk, or another lot, that went into a batch; amount in `unit` (L or kg)."""

    lot: Lot
    amount: float
    unit: str


def makes_of(premises: Premises, part: Part = Part.ALL) -> QuerySet[Make]:
    """Newest first, each with is_held, and last_move and room_name by its last move (None before it)."""
    moves = LotEvent.objects.filter(lot=OuterRef("pk"), kind__in=MOVES).order_by("-occurred_at", "-recorded_at")
    makes = (
        Make.objects.filter(lot__premises=premises)
        .select_related("lot", "lot__product", "vat")
        .annotate(
            is_held=Exists(Hold.objects.standing().filter(lot=OuterRef("pk"))),
            last_move=Subquery(moves.values("kind")[:1]),
            room_name=Subquery(moves.values("place__name")[:1]),
        )
        .order_by("-lot__begun_at", "-lot__recorded_at")
    )
    if part is Part.IN_PROGRESS:
        return makes.filter(last_move__isnull=True)
    if part is Part.IN_RIPENING:
        return makes.filter(last_move=EventKind.PLACED_IN_ROOM)
    return makes


def events_of(lot: Lot) -> list[LotEvent]:
    return list(lot.events.select_related("place", "recorded_by").order_by("occurred_at", "recorded_at"))


def made_of(lot_id: UUID) -> list[MadeOf]:
    links = LotLink.objects.filter(child=lot_id).select_related("parent").order_by("parent__code")
    return [MadeOf(link.parent, link.amount, link.unit) for link in links]
