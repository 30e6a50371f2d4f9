"""Reads about being told."""

from uuid import UUID

from django.db.models import QuerySet

from haccp.notices.models import Alert, CalendarAddress, Delivery, Notice, PushDevice
from haccp.premises.models import Membership, Premises

LISTED = 50


def notices_of(membership: Membership) -> list[Notice]:
    """The last ones of a person, each with its deliveries."""
    found = Notice.objects.filter(membership=membership).prefetch_related("deliveries__device", "deliveries__sent")
    return list(found.order_by("-made_at")[:LISTED])


def failing(premises: Premises) -> QuerySet[Delivery]:
    """Deliveries at a dairy that have failed and wait, or were given up."""
    return (
        Delivery.objects.filter(notice__membership__premises=premises, sent_at__isnull=True)
        .exclude(last_error="")
        .select_related("notice__membership__user", "device")
        .order_by("-due_at")
    )


def alert_of(premises: Premises, deviation_id: UUID) -> Alert | None:
    return Alert.objects.filter(deviation__premises=premises, pk=deviation_id).select_related("taken_by").first()


def alerts_open(premises: Premises) -> list[Alert]:
    """Alerts that nobody has reacted to."""
    return list(
        Alert.objects.filter(deviation__premises=premises, taken_at__isnull=True, deviation__closure__isnull=True)
        .filter(deviation__steps__isnull=True)
        .select_related("deviation__control_point")
        .order_by("-raised_at")
    )


def calendar_address_of(membership: Membership) -> CalendarAddress | None:
    return CalendarAddress.objects.filter(membership=membership, revoked_at__isnull=True).first()


def devices_of(membership: Membership) -> list[PushDevice]:
    return list(PushDevice.objects.filter(membership=membership, ended_at__isnull=True).order_by("added_at"))
