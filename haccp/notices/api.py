"""The API of being told: what the device's person wants, the address of their calendar, what was sent, what failed."""

from typing import Any, ClassVar
from uuid import UUID

from django.conf import settings
from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.urls import reverse
from drf_spectacular.utils import extend_schema
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from haccp.notices import actions, queries
from haccp.notices.actions.outbox import wishes_of
from haccp.notices.models import Alert, CalendarAddress, Delivery, Notice, Wishes
from haccp.premises.api_access import WRITES, Pages, scope_of, sent_in
from haccp.premises.api_fields import ClockTime
from haccp.premises.api_once import IDEMPOTENCY, once
from haccp.premises.roles import Right

# What a person wants to be told is their own, whatever their role.
OWN: dict[str, Right] = {"PUT": Right.READ, "POST": Right.READ}


class WishesShape(serializers.ModelSerializer[Wishes]):
    """Times of the premises' zone. quiet_from and quiet_until: both, or neither (null) for no quiet hours."""

    digest_at = ClockTime(format="%H:%M")
    quiet_from = ClockTime(format="%H:%M", allow_null=True)
    quiet_until = ClockTime(format="%H:%M", allow_null=True)

    class Meta:
        model = Wishes
        fields: ClassVar[tuple[str, ...]] = (
            "alerts_by_email", "alerts_by_push", "digest_by_email", "digest_at", "quiet_from", "quiet_until",
            "wake_for_critical",
        )  # fmt: skip


class WishesNewShape(serializers.Serializer[Any]):
    alerts_by_email = serializers.BooleanField()
    alerts_by_push = serializers.BooleanField()
    digest_by_email = serializers.BooleanField()
    digest_at = ClockTime()
    quiet_from = ClockTime(allow_null=True)
    quiet_until = ClockTime(allow_null=True)
    wake_for_critical = serializers.BooleanField()


class DeliveryShape(serializers.ModelSerializer[Delivery]):
    class Meta:
        model = Delivery
        fields: ClassVar[tuple[str, ...]] = (
            "id", "channel", "due_at", "attempts", "last_error", "sent_at", "given_up_at",
        )  # fmt: skip


class NoticeShape(serializers.ModelSerializer[Notice]):
    deliveries = DeliveryShape(many=True, read_only=True)

    class Meta:
        model = Notice
        fields: ClassVar[tuple[str, ...]] = ("id", "kind", "subject", "text", "path", "made_at", "deliveries")


class FailingShape(DeliveryShape):
    person = serializers.CharField(source="notice.membership.user.name", read_only=True)
    subject = serializers.CharField(source="notice.subject", read_only=True)

    class Meta(DeliveryShape.Meta):
        fields: ClassVar[tuple[str, ...]] = (*DeliveryShape.Meta.fields, "person", "subject")


class FeedShape(serializers.Serializer[Any]):
    """address: only where it was made just now; it is kept nowhere."""

    is_there = serializers.BooleanField()
    made_at = serializers.DateTimeField(allow_null=True)
    last_read_at = serializers.DateTimeField(allow_null=True)
    address = serializers.CharField(allow_null=True)


class AlertShape(serializers.ModelSerializer[Alert]):
    taken_by = serializers.CharField(source="taken_by.name", read_only=True, default=None, allow_null=True)

    class Meta:
        model = Alert
        fields: ClassVar[tuple[str, ...]] = ("deviation", "raised_at", "level", "next_level_at", "taken_by", "taken_at")


class WishesOwn(APIView):
    rights: ClassVar = OWN

    @extend_schema(responses=WishesShape)
    def get(self, request: Request) -> Response:
        """What the person wants to be told, and their quiet hours."""
        return Response(WishesShape(wishes_of(scope_of(request).membership)).data)

    @extend_schema(request=WishesNewShape, responses=WishesShape, parameters=IDEMPOTENCY)
    @once
    def put(self, request: Request) -> Response:
        """Sets all of them."""
        sent = sent_in(request, WishesNewShape)
        return Response(WishesShape(actions.wishes_set(scope=scope_of(request), **sent)).data)


class LatestMade(Pages):
    ordering = ("-made_at", "-pk")


class Notices(generics.ListAPIView[Notice]):
    """What the person was told, latest first, each with how it was delivered."""

    serializer_class = NoticeShape
    pagination_class = LatestMade
    queryset = Notice.objects.none()

    def get_queryset(self) -> QuerySet[Notice]:
        return Notice.objects.filter(membership=scope_of(self.request).membership).prefetch_related("deliveries")


class LatestDue(Pages):
    ordering = ("-due_at", "-pk")


class Failing(generics.ListAPIView[Delivery]):
    """Deliveries of the whole dairy that failed and wait, or were given up."""

    rights: ClassVar = {"GET": Right.MANAGE}
    serializer_class = FailingShape
    pagination_class = LatestDue
    queryset = Delivery.objects.none()

    def get_queryset(self) -> QuerySet[Delivery]:
        return queries.failing(scope_of(self.request).premises)


class Feed(APIView):
    rights: ClassVar = OWN

    @extend_schema(responses=FeedShape)
    def get(self, request: Request) -> Response:
        """Whether the person has an iCalendar feed of their rounds, and when it was read last."""
        return Response(FeedShape(_feed(queries.calendar_address_of(scope_of(request).membership))).data)

    @extend_schema(request=None, responses={201: FeedShape})
    def post(self, request: Request) -> Response:
        """Makes a new secret address, which is told here and never again; an earlier one ends."""
        scope = scope_of(request)
        path = reverse("notices:feed", args=[actions.calendar_address_make(scope=scope)])
        address = settings.SITE_URL + path if settings.SITE_URL else request.build_absolute_uri(path)
        return Response(FeedShape(_feed(queries.calendar_address_of(scope.membership), address)).data, status=201)


class FeedEnded(APIView):
    rights: ClassVar = OWN

    @extend_schema(request=None, responses={201: FeedShape})
    def post(self, request: Request) -> Response:
        """The address answers no longer."""
        actions.calendar_address_revoke(scope=scope_of(request))
        return Response(FeedShape(_feed(None)).data, status=201)


def _feed(row: CalendarAddress | None, address: str | None = None) -> dict[str, Any]:
    return {
        "is_there": row is not None,
        "made_at": row.made_at if row else None,
        "last_read_at": row.last_read_at if row else None,
        "address": address,
    }


class AlertTaken(APIView):
    rights: ClassVar = WRITES

    @extend_schema(request=None, responses={201: AlertShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """“I take care of it”: nobody further is told. The first one stays."""
        scope = scope_of(request)
        get_object_or_404(Alert, pk=pk, deviation__premises=scope.premises)
        return Response(AlertShape(actions.alert_take(scope=scope, deviation_id=pk)).data, status=201)
