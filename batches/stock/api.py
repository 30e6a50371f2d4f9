"""The API of stock: pieces, customers and dispatches. The same actions as the pages, so the same refusals."""

from typing import Any, ClassVar
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from batches.stock import actions, queries
from batches.stock.models import Arrival, ArrivedLot, Customer, Dispatch, Item
from haccp.premises.api_access import WRITES, Pages, scope_of, sent_in
from haccp.premises.api_fields import Moment
from haccp.premises.api_once import IDEMPOTENCY, once


class ItemShape(serializers.ModelSerializer[Item]):
    lot = serializers.UUIDField(source="lot_id", read_only=True)
    now_kg = serializers.FloatField(read_only=True)
    is_here = serializers.BooleanField(read_only=True)

    class Meta:
        model = Item
        fields: ClassVar = ("id", "lot", "number", "kind", "weight_kg", "now_kg", "is_here", "best_before")


class CustomerShape(serializers.ModelSerializer[Customer]):
    class Meta:
        model = Customer
        fields: ClassVar = ("id", "name", "contact", "phone", "email", "address", "gln", "is_ours")


class DispatchShape(serializers.ModelSerializer[Dispatch]):
    items = serializers.SerializerMethodField()

    class Meta:
        model = Dispatch
        fields: ClassVar = ("id", "number", "customer", "document_type", "document_number", "dispatched_at", "items")

    def get_items(self, dispatch: Dispatch) -> list[str]:
        return [str(event.item_id) for event in dispatch.events.all()]


class DispatchNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    customer = serializers.UUIDField(allow_null=True, default=None)
    own_premises = serializers.UUIDField(
        allow_null=True, default=None, help_text="In the customer's place: another premises of the producer"
    )
    items = serializers.ListField(child=serializers.UUIDField(), min_length=1, max_length=500)
    document_type = serializers.CharField(max_length=40, default="delivery note")
    document_number = serializers.CharField(max_length=60)
    dispatched_at = Moment()
    note = serializers.CharField(max_length=5000, allow_blank=True, default="")


class ArrivingShape(serializers.ModelSerializer[Dispatch]):
    """A dispatch of another premises of the producer that has not arrived yet."""

    sent_from = serializers.CharField(source="premises.name", read_only=True)
    item_count = serializers.IntegerField(read_only=True)
    sent_kg = serializers.FloatField(read_only=True)
    items = serializers.SerializerMethodField()

    class Meta:
        model = Dispatch
        fields: ClassVar = (
            "id", "sent_from", "document_type", "document_number", "dispatched_at", "item_count", "sent_kg", "items",
        )  # fmt: skip

    def get_items(self, dispatch: Dispatch) -> list[str]:
        return [str(event.item_id) for event in dispatch.events.all()]


class ArrivedLotShape(serializers.ModelSerializer[ArrivedLot]):
    class Meta:
        model = ArrivedLot
        fields: ClassVar = ("lot", "cheese", "origin_code", "sent_pieces", "sent_kg", "pieces", "weight_kg")


class ArrivalShape(serializers.ModelSerializer[Arrival]):
    lots = ArrivedLotShape(many=True, read_only=True, help_text="What was sent and did not arrive is unexplained")

    class Meta:
        model = Arrival
        fields: ClassVar = ("id", "dispatch", "arrived_at", "note", "lots")


class ArrivalNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    dispatch = serializers.UUIDField()
    items = serializers.ListField(child=serializers.UUIDField(), max_length=500, help_text="Those that arrived")
    place = serializers.UUIDField(allow_null=True, default=None)
    arrived_at = Moment()
    note = serializers.CharField(max_length=5000, allow_blank=True, default="")


class ReturnNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    items = serializers.ListField(child=serializers.UUIDField(), min_length=1, max_length=500)
    returned_at = Moment()
    place = serializers.UUIDField(allow_null=True, default=None)
    note = serializers.CharField(max_length=5000, allow_blank=True, help_text="Why they came back")


class FirstSent(Pages):
    ordering = ("dispatched_at", "pk")


class ByEntry(Pages):
    ordering = ("-recorded_at", "-pk")


class StockItems(generics.ListAPIView[Item]):
    """Pieces of all batches, the last entered first, each with what it weighs now."""

    serializer_class = ItemShape
    pagination_class = ByEntry
    queryset = Item.objects.none()

    def get_queryset(self) -> QuerySet[Item]:
        return queries.items_of(scope_of(self.request).premises)


class Customers(generics.ListAPIView[Customer]):
    """Customers with how to reach them."""

    serializer_class = CustomerShape
    queryset = Customer.objects.none()

    def get_queryset(self) -> QuerySet[Customer]:
        return queries.customers_of(scope_of(self.request).premises)


class Dispatches(generics.ListAPIView[Dispatch]):
    """Dispatches, the last recorded first."""

    rights: ClassVar = WRITES
    serializer_class = DispatchShape
    pagination_class = ByEntry
    queryset = Dispatch.objects.none()

    def get_queryset(self) -> QuerySet[Dispatch]:
        return Dispatch.objects.filter(premises=scope_of(self.request).premises).prefetch_related("events")

    @extend_schema(request=DispatchNewShape, responses={201: DispatchShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request) -> Response:
        """Pieces leave for a customer, or for another premises of the producer.

        Refused for what is on hold, not released, or gone already.
        """
        sent = sent_in(request, DispatchNewShape)
        made = actions.dispatch_record(
            scope=scope_of(request),
            dispatch_id=sent["id"],
            customer_id=sent["customer"],
            own_premises_id=sent["own_premises"],
            item_ids=sent["items"],
            document_type=sent["document_type"],
            document_number=sent["document_number"],
            dispatched_at=sent["dispatched_at"],
            note=sent["note"],
        )
        return Response(DispatchShape(made).data, status=201)


class Returns(APIView):
    rights: ClassVar = WRITES

    @extend_schema(request=ReturnNewShape, responses={201: ItemShape(many=True)}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """Pieces of a dispatch come back: each is in stock again, as a piece of its own."""
        scope = scope_of(request)
        get_object_or_404(Dispatch, pk=pk, premises=scope.premises)
        sent = sent_in(request, ReturnNewShape)
        made = actions.items_return(
            scope=scope,
            request_id=sent["id"],
            dispatch_id=pk,
            item_ids=sent["items"],
            returned_at=sent["returned_at"],
            note=sent["note"],
            place_id=sent["place"],
        )
        found = queries.items_of(scope.premises).filter(pk__in=[item.pk for item in made])
        return Response(ItemShape(found, many=True).data, status=201)


class Arriving(generics.ListAPIView[Dispatch]):
    """What other premises of the producer sent here and nobody has accepted yet, the oldest first."""

    serializer_class = ArrivingShape
    pagination_class = FirstSent
    queryset = Dispatch.objects.none()

    def get_queryset(self) -> QuerySet[Dispatch]:
        return queries.arriving_at(scope_of(self.request).premises).prefetch_related("events")


class Arrivals(generics.ListAPIView[Arrival]):
    """What arrived from other premises of the producer, the last recorded first."""

    rights: ClassVar = WRITES
    serializer_class = ArrivalShape
    pagination_class = ByEntry
    queryset = Arrival.objects.none()

    def get_queryset(self) -> QuerySet[Arrival]:
        return queries.arrivals_of(scope_of(self.request).premises)

    @extend_schema(request=ArrivalNewShape, responses={201: ArrivalShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request) -> Response:
        """Accepts a dispatch: the pieces named are in stock here from then on, what is missing is unexplained."""
        sent = sent_in(request, ArrivalNewShape)
        made = actions.arrival_accept(
            scope=scope_of(request),
            arrival_id=sent["id"],
            dispatch_id=sent["dispatch"],
            item_ids=sent["items"],
            arrived_at=sent["arrived_at"],
            place_id=sent["place"],
            note=sent["note"],
        )
        return Response(ArrivalShape(made).data, status=201)
