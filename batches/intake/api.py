"""The API of milk lots."""

from typing import Any, ClassVar

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response

from batches.intake import actions, queries
from batches.intake.models import MilkLot
from haccp.plan.models import MilkSpecies
from haccp.premises.api_access import Pages, scope_of
from haccp.premises.api_fields import Moment
from haccp.premises.api_once import IDEMPOTENCY, once
from haccp.premises.roles import Right


class MilkShape(serializers.ModelSerializer[MilkLot]):
    id = serializers.UUIDField(source="lot_id", read_only=True)
    code = serializers.CharField(source="lot.code", read_only=True)
    received_at = serializers.DateTimeField(source="lot.begun_at", read_only=True)

    class Meta:
        model = MilkLot
        fields = ("id", "code", "species", "source", "volume_l", "typed_volume", "typed_unit", "received_at")


class MilkNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    species = serializers.ChoiceField(MilkSpecies.choices)
    # "source" is taken by the serializer's own machinery for fields, not for names: it is a plain name here.
    source = serializers.CharField(max_length=120, allow_blank=True)  # type: ignore[assignment]
    volume = serializers.CharField(max_length=40, help_text="As typed: 180 or 180,5")
    volume_unit = serializers.CharField(max_length=8, default="L")
    received_at = Moment()
    place = serializers.UUIDField(allow_null=True, default=None)


class LatestFirst(Pages):
    ordering = ("-lot__begun_at", "-pk")


class Milk(generics.ListAPIView[MilkLot]):
    """Milk lots, latest first."""

    rights: ClassVar = {"POST": Right.RECORD}
    serializer_class = MilkShape
    pagination_class = LatestFirst
    queryset = MilkLot.objects.none()

    def get_queryset(self) -> QuerySet[MilkLot]:
        return queries.milk_of(scope_of(self.request).premises)

    @extend_schema(request=MilkNewShape, responses={201: MilkShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request) -> Response:
        """Milk arrived; its acceptance checks fall due."""
        shape = MilkNewShape(data=request.data)
        shape.is_valid(raise_exception=True)
        sent = shape.validated_data
        milk = actions.milk_receive(
            scope=scope_of(request),
            lot_id=sent["id"],
            species=sent["species"],
            source=sent["source"],
            volume=sent["volume"],
            volume_unit=sent["volume_unit"],
            received_at=sent["received_at"],
            place_id=sent["place"],
        )
        return Response(MilkShape(milk).data, status=201)


class MilkDetail(generics.RetrieveAPIView[MilkLot]):
    """One milk lot."""

    serializer_class = MilkShape
    queryset = MilkLot.objects.none()

    def get_queryset(self) -> QuerySet[MilkLot]:
        return queries.milk_of(scope_of(self.request).premises)
