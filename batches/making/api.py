"""The API of makes and of what happens to a batch."""

from typing import Any, ClassVar
from uuid import UUID

from django.db.models import Prefetch, QuerySet
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from batches.making import actions
from batches.making.models import Make
from haccp.checks.actions import event_record
from haccp.lots.kinds import EventKind
from haccp.lots.models import Lot, LotEvent
from haccp.lots.queries import standing_holds
from haccp.premises.api_access import WRITES, Pages, scope_of, sent_in
from haccp.premises.api_fields import Moment
from haccp.premises.api_once import IDEMPOTENCY, once


class EventShape(serializers.ModelSerializer[LotEvent]):
    class Meta:
        model = LotEvent
        fields = ("id", "kind", "place", "occurred_at", "recorded_at", "note")


class MakeShape(serializers.ModelSerializer[Make]):
    id = serializers.UUIDField(source="lot_id", read_only=True)
    code = serializers.CharField(source="lot.code", read_only=True)
    product = serializers.StringRelatedField[Any](source="lot.product")
    started_at = serializers.DateTimeField(source="lot.begun_at", read_only=True)
    is_held = serializers.SerializerMethodField()

    class Meta:
        model = Make
        fields: ClassVar[tuple[str, ...]] = ("id", "code", "product", "vat", "started_at", "is_held", "note")

    def get_is_held(self, make: Make) -> bool:
        """Annotated on lists (Lot.objects.with_hold), looked up for a single batch."""
        annotated: bool | None = getattr(make.lot, "is_held", None)
        return bool(standing_holds(make.lot)) if annotated is None else annotated


class MakeDetailShape(MakeShape):
    holds = serializers.SerializerMethodField()
    events = EventShape(source="lot.events", many=True, read_only=True)

    class Meta(MakeShape.Meta):
        fields: ClassVar[tuple[str, ...]] = (*MakeShape.Meta.fields, "holds", "events")

    @extend_schema_field(serializers.ListField(child=serializers.CharField()))
    def get_holds(self, make: Make) -> list[str]:
        return [hold.reason for hold in standing_holds(make.lot)]


class MilkInVatShape(serializers.Serializer[Any]):
    lot = serializers.UUIDField()
    litres = serializers.FloatField(min_value=0)


class MakeNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    product = serializers.UUIDField()
    vat = serializers.UUIDField()
    milk = MilkInVatShape(many=True)
    started_at = Moment()
    note = serializers.CharField(max_length=5000, allow_blank=True, default="")
    in_spite_of = serializers.CharField(
        max_length=1000,
        allow_blank=True,
        default="",
        help_text="Why a vat that is not clean is used all the same; opens a deviation",
    )
    exception = serializers.CharField(
        max_length=5000,
        allow_blank=True,
        default="",
        help_text="Why milk that may not be used is used all the same; opens a deviation",
    )

    def validate_milk(self, milk: list[dict[str, Any]]) -> list[dict[str, Any]]:
        if len({one["lot"] for one in milk}) != len(milk):
            raise serializers.ValidationError("The same milk is there twice; send one amount for each lot.")
        return milk


class EventNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    # A batch is laid in brine by naming the brine, on its page.
    kind = serializers.ChoiceField([one for one in EventKind.choices if one[0] != EventKind.LAID_IN_BRINE])
    occurred_at = Moment()
    place = serializers.UUIDField(allow_null=True, default=None)
    note = serializers.CharField(max_length=5000, allow_blank=True, default="")


class LatestFirst(Pages):
    ordering = ("-lot__begun_at", "-pk")


class Makes(generics.ListAPIView[Make]):
    """Makes, latest first, each with whether anything holds it."""

    rights: ClassVar = WRITES
    serializer_class = MakeShape
    pagination_class = LatestFirst
    queryset = Make.objects.none()

    def get_queryset(self) -> QuerySet[Make]:
        lots = Lot.objects.with_hold().select_related("product")
        return Make.objects.filter(lot__premises=scope_of(self.request).premises).prefetch_related(
            Prefetch("lot", queryset=lots)
        )

    @extend_schema(request=MakeNewShape, responses={201: MakeDetailShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request) -> Response:
        """Starts a make in a vat; its checks fall due."""
        sent = sent_in(request, MakeNewShape)
        make = actions.make_start(
            scope=scope_of(request),
            lot_id=sent["id"],
            product_id=sent["product"],
            vat_id=sent["vat"],
            milk_l={one["lot"]: one["litres"] for one in sent["milk"]},
            started_at=sent["started_at"],
            note=sent["note"],
            in_spite_of=sent["in_spite_of"],
            exception=sent["exception"],
        )
        return Response(MakeDetailShape(make).data, status=201)


class MakeDetail(generics.RetrieveAPIView[Make]):
    """One make with its events and what holds it."""

    serializer_class = MakeDetailShape
    queryset = Make.objects.none()

    def get_queryset(self) -> QuerySet[Make]:
        return Make.objects.filter(lot__premises=scope_of(self.request).premises).select_related("lot__product")


class Events(APIView):
    rights: ClassVar = WRITES

    @extend_schema(request=EventNewShape, responses={201: EventShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """Something happened to the batch: starter added, drained, placed in a room ..."""
        scope = scope_of(request)
        get_object_or_404(Make, pk=pk, lot__premises=scope.premises)
        sent = sent_in(request, EventNewShape)
        event = event_record(
            scope=scope,
            lot_id=pk,
            kind=sent["kind"],
            occurred_at=sent["occurred_at"],
            event_id=sent["id"],
            place_id=sent["place"],
            note=sent["note"],
        )
        return Response(EventShape(event).data, status=201)
