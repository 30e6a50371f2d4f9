"""Equipment taken into use for a batch, and what follows when it was not clean."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone

from batches.hygiene.actions.sealed import seal
from batches.hygiene.cleanliness import Cleanliness, cleanliness
from batches.hygiene.models import UncleanUse
from batches.hygiene.queries import check_in_force
from haccp.checks.actions import event_record
from haccp.deviations.actions import deviation_report
from haccp.deviations.models import Deviation
from haccp.lots.kinds import EventKind
from haccp.lots.models import Lot, LotEvent
from haccp.premises.errors import ActionError
from haccp.premises.models import Place, Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope


@transaction.atomic
def equipment_use(
    *,
    scope: Scope,
    lot_id: UUID,
    place_ids: Sequence[UUID],
    used_at: datetime,
    use_id: UUID,
    in_spite_of: str = "",
    now: datetime | None = None,
) -> list[LotEvent]:
    """Records that equipment was used for a batch; what falls due from its use is planned.

    in_spite_of: why it was used though it was not clean, which opens a deviation for each such piece. Raises
    ActionError for one that is not clean without that, and for places that are not this dairy's.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    places = list(Place.objects.filter(premises=scope.premises, id__in=place_ids))
    lot = Lot.objects.for_premises(scope.premises).filter(id=lot_id).first()
    if lot is None or not places or len(places) != len(set(place_ids)):
        raise ActionError("Choose the equipment from the list.", field="places")
    events = []
    for place in places:
        event_id = uuid5(use_id, str(place.id))
        is_new = not LotEvent.every.filter(id=event_id).exists()
        found = refuse_unclean(place=place, at=used_at, in_spite_of=in_spite_of, field="places") if is_new else None
        events.append(
            event_record(
                scope=scope,
                lot_id=lot_id,
                kind=EventKind.EQUIPMENT_USED,
                occurred_at=used_at,
                event_id=event_id,
                place_id=place.id,
                now=now,
            )
        )
        if found is not None and not found.is_clean:
            unclean_use_open(scope=scope, lot=lot, found=found, used_at=used_at, in_spite_of=in_spite_of, now=now)
    return events


def refuse_unclean(*, place: Place, at: datetime, in_spite_of: str, field: str) -> Cleanliness:
    """How clean the place is. Raises ActionError when it is not, unless somebody says why it is used all the same."""
    found = cleanliness(place, at)
    if not found.is_clean and not in_spite_of.strip():
        raise ActionError(
            f"{place.name} cannot be used: {found.reason} Clean it and record that, or say below why it is used all "
            "the same; that opens a deviation.",
            fields={field: f"{place.name} is not clean.", "in_spite_of": found.reason},
        )
    return found


def unclean_use_open(
    *, scope: Scope, lot: Lot, found: Cleanliness, used_at: datetime, in_spite_of: str, now: datetime
) -> Deviation:
    """The deviation of a use in spite of uncleanness; inside the transaction that records the use."""
    assert found.lacking is not None
    check = check_in_force(scope.premises, found.lacking, used_at)
    if check is None:
        raise ActionError("The plan in force then has no check for cleaning this place; correct its method.")
    deviation = deviation_report(
        scope=scope,
        deviation_id=uuid5(lot.id, f"unclean {found.place.id} {used_at.isoformat()}"),
        control_point_id=check.control_point_id,
        summary=f"{found.place.name} was used for {lot.code} though it was not clean: {found.reason} "
        f"{scope.user.name}: {in_spite_of.strip()}",
        occurred_at=used_at,
        lot_ids=[lot.id],
        now=now,
    )
    row = UncleanUse.objects.create(deviation=deviation, place=found.place, why_unclean=found.reason)
    seal(scope, row, now)
    return deviation
