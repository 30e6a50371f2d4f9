"""Writes about the places of a dairy, in the order in which a round walks through them."""

from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction
from django.utils import timezone

from haccp.premises.actions.site_rows import found_here, lock_premises, refuse_name, refuse_unseen
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Place
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.premises.site_log import seal_change
from haccp.premises.uses import uses_of_place

LAST_POSITION = 32_767


@transaction.atomic
def place_add(
    *,
    scope: Scope,
    name: str,
    kind: str,
    walking_order: int | None = None,
    place_id: UUID | None = None,
    at: datetime | None = None,
) -> Place:
    """Adds a place at the end of the walk, unless its order is given.

    The same id with the same name and kind is the same place again. Raises ActionError for a name or kind that cannot
    be stored; Conflict for a name in use, of a retired place too, and for an id in use.
    """
    scope.require(Right.MANAGE)
    lock_premises(scope)
    here = list(Place.objects.filter(premises=scope.premises))
    again = Place.objects.filter(pk=place_id).first() if place_id else None
    if again is not None:
        if again in here and (again.name, again.kind) == (" ".join(name.split()), kind):
            return again
        raise Conflict("This was sent before with other values; open the page again.")
    _refuse_kind(kind)
    if walking_order is None:
        walking_order = max((place.walking_order for place in here if place.retired_at is None), default=0) + 1
    _refuse_position(walking_order)
    moment = at or timezone.now()
    place = Place.objects.create(
        pk=place_id or uuid4(),
        premises=scope.premises,
        name=refuse_name(name, here, "place"),
        kind=kind,
        walking_order=walking_order,
        added_at=moment,
    )
    seal_change(scope, place, "added", moment)
    return place


@transaction.atomic
def place_change(
    *, scope: Scope, place_id: UUID, name: str, kind: str, seen_sha256: str = "", at: datetime | None = None
) -> Place:
    """Another name or kind; records keep the place. Raises as place_add, and Conflict for a change made meanwhile."""
    scope.require(Right.MANAGE)
    lock_premises(scope)
    place = found_here(Place, scope, place_id)
    refuse_unseen(place, seen_sha256)
    _refuse_kind(kind)
    new_name = refuse_name(name, Place.objects.filter(premises=scope.premises).exclude(pk=place.pk), "place")
    if (new_name, kind) != (place.name, place.kind):
        place.name, place.kind = new_name, kind
        place.save(update_fields=["name", "kind"])
        seal_change(scope, place, "changed", at or timezone.now())
    return place


@transaction.atomic
def place_move(*, scope: Scope, place_id: UUID, position: int, at: datetime | None = None) -> Place:
    """Puts a place at a position of the walk, counted from 1; the others close up. Sent twice, it stays there."""
    scope.require(Right.MANAGE)
    lock_premises(scope)
    place = found_here(Place, scope, place_id)
    if place.retired_at is not None:
        raise ActionError(f"{place.name} is retired, and no round comes past it.")
    walk = [one for one in Place.objects.filter(premises=scope.premises, retired_at__isnull=True) if one != place]
    _refuse_position(position)
    walk.insert(min(position, len(walk) + 1) - 1, place)
    moment = at or timezone.now()
    for order, one in enumerate(walk, start=1):
        if one.walking_order != order:
            one.walking_order = order
            one.save(update_fields=["walking_order"])
            seal_change(scope, one, "changed", moment)
    return next(one for one in walk if one == place)


@transaction.atomic
def place_retire(*, scope: Scope, place_id: UUID, at: datetime | None = None) -> Place:
    """Takes a place out of use; what was recorded there keeps it. Raises ActionError while something needs it."""
    scope.require(Right.MANAGE)
    lock_premises(scope)
    place = found_here(Place, scope, place_id)
    if place.retired_at is not None:
        return place
    needed = uses_of_place(place)
    if needed:
        rest = f" and {len(needed) - 3} more" if len(needed) > 3 else ""
        raise ActionError(
            f"{place.name} is still needed by {'; '.join(needed[:3])}{rest}. Change that first, then retire the place."
        )
    place.retired_at = at or timezone.now()
    place.save(update_fields=["retired_at"])
    seal_change(scope, place, "retired", place.retired_at)
    return place


@transaction.atomic
def place_restore(*, scope: Scope, place_id: UUID, at: datetime | None = None) -> Place:
    """Brings a retired place back to the end of the walk."""
    scope.require(Right.MANAGE)
    lock_premises(scope)
    place = found_here(Place, scope, place_id)
    if place.retired_at is not None:
        walk = Place.objects.filter(premises=scope.premises, retired_at__isnull=True)
        place.retired_at = None
        place.walking_order = max((one.walking_order for one in walk), default=0) + 1
        place.save(update_fields=["retired_at", "walking_order"])
        seal_change(scope, place, "restored", at or timezone.now())
    return place


def _refuse_kind(kind: str) -> None:
    if kind not in Place.Kind.values:
        raise ActionError("Choose what the place is.", field="kind")


def _refuse_position(position: int) -> None:
    if not 0 <= position <= LAST_POSITION:
        raise ActionError(f"Give a position in the walk from 1 to {LAST_POSITION}.", field="walking_order")
