"""What a batch was made in and with, and whether it was clean: for the release gate."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from batches.hygiene.models import Method, UncleanUse
from haccp.deviations.models import ImplicatedLot
from haccp.lots.kinds import USES
from haccp.lots.models import Lot, LotEvent
from haccp.premises.models import Place


@dataclass(frozen=True, slots=True)
class UseOfLot:
    """deviation_id: of a use in spite of uncleanness; None where the place was clean when it was taken into use."""

    lot: Lot
    place: Place
    used_at: datetime
    deviation_id: UUID | None


def uses_of(lots: Sequence[Lot]) -> list[UseOfLot]:
    """Uses of places of which cleaning was asked for at that time; three queries.

    Whoever took a place that was not clean into use had to say why, and that opened a deviation; so a use without one
    was of a clean place.
    """
    by_id = {lot.pk: lot for lot in lots}
    events = list(
        LotEvent.objects.filter(lot__in=by_id, kind__in=USES, place__isnull=False)
        .select_related("place")
        .order_by("occurred_at", "recorded_at")
    )
    asked_since: dict[UUID, datetime] = {}
    methods = Method.objects.filter(place__in={event.place_id for event in events}, before_use=True)
    for place_id, since in methods.order_by("-recorded_at").values_list("place_id", "recorded_at"):
        asked_since[place_id] = since
    unclean = {
        (row.place_id, lot_id): row.deviation_id
        for row in UncleanUse.objects.filter(deviation__implicated__lot__in=by_id).prefetch_related(
            "deviation__implicated"
        )
        for lot_id in (one.lot_id for one in row.deviation.implicated.all() if one.way == ImplicatedLot.Way.DIRECT)
    }
    return [
        UseOfLot(by_id[event.lot_id], event.place, event.occurred_at, unclean.get((event.place_id, event.lot_id)))
        for event in events
        if event.place is not None
        and event.place_id in asked_since
        and asked_since[event.place_id] <= event.occurred_at
    ]
