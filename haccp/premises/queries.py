"""Reads about people and places."""

from uuid import UUID

from django.db.models import QuerySet
from django.utils import timezone

from haccp.premises.models import DeviceToken, Instrument, Membership, Place, Premises, User


def memberships_of(user: User) -> QuerySet[Membership]:
    return (
        Membership.objects.filter(user=user, left_at__isnull=True)
        .exclude(until__lte=timezone.now())
        .select_related("user", "premises", "premises__producer")
        .order_by("premises__name")
    )


def membership_in_use(user: User, chosen_id: str | None, *, only_there: bool = False) -> Membership | None:
    """The membership chosen in this session, or the only one the person has.

    only_there: none at other premises than the chosen one's, for who proved themselves there alone, by a PIN.
    """
    current = list(memberships_of(user)[:50])
    for membership in current:
        if str(membership.id) == chosen_id:
            return membership
    if not chosen_id or (len(current) == 1 and not only_there):
        return current[0] if len(current) == 1 and not only_there else None
    # The role changed meanwhile, which made another row: the person goes on where they were.
    chosen = Membership.objects.filter(pk=chosen_id, user=user).first()
    return next((one for one in current if chosen and one.premises_id == chosen.premises_id), None)


def people_of(premises: Premises) -> QuerySet[User]:
    """Who works here now, by name."""
    # Only a visitor's membership says until when.
    here = Membership.objects.filter(premises=premises, left_at__isnull=True, until__isnull=True)
    return User.objects.filter(pk__in=here.values("user")).order_by("name")


def own_premises_of(premises: Premises) -> QuerySet[Premises]:
    """The producer's other premises."""
    return Premises.objects.filter(producer=premises.producer_id).exclude(pk=premises.pk).order_by("name")


def places_of(premises: Premises) -> QuerySet[Place]:
    """Those in use, in the order of the walk."""
    return Place.objects.filter(premises=premises, retired_at__isnull=True)


def all_places_of(premises: Premises) -> QuerySet[Place]:
    """Retired ones too."""
    return Place.objects.filter(premises=premises)


def instruments_of(premises: Premises, kind: str | None = None) -> QuerySet[Instrument]:
    found = Instrument.objects.filter(premises=premises, retired_at__isnull=True)
    return found.filter(kind=kind) if kind else found


def all_instruments_of(premises: Premises) -> QuerySet[Instrument]:
    """Retired ones too, with their places."""
    return Instrument.objects.filter(premises=premises).select_related("place")


def person(premises: Premises, user_id: UUID) -> User | None:
    return User.objects.filter(memberships__premises=premises, id=user_id).first()


def devices_of(membership: Membership, *, everybody: bool) -> list[DeviceToken]:
    """Devices that may sign in: this person's, or everybody's at the premises."""
    found = DeviceToken.objects.filter(revoked_at__isnull=True).select_related("membership__user")
    mine = (
        found.filter(membership__premises=membership.premises_id) if everybody else found.filter(membership=membership)
    )
    return list(mine.order_by("membership__user__name", "name"))


def device_of(premises: Premises, device_id: UUID) -> DeviceToken | None:
    return DeviceToken.objects.filter(membership__premises=premises, id=device_id).first()
