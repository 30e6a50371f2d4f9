"""The API of brines: made up, refreshed, discarded, and the batches laid in them."""

from typing import Any, ClassVar
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from batches.making import actions
from batches.making.brines import Standing, brines_at
from batches.making.models import Brine, BrineChange, BrineUse
from haccp.premises.api_access import WRITES, Pages, scope_of, sent_in
from haccp.premises.api_fields import Moment
from haccp.premises.api_once import IDEMPOTENCY, once

What = BrineChange.What


class BrineShape(serializers.ModelSerializer[Brine]):
    id = serializers.UUIDField(source="lot_id", read_only=True)
    code = serializers.CharField(source="lot.code", read_only=True)
    made_at = serializers.DateTimeField(source="lot.begun_at", read_only=True)
    volume_l = serializers.FloatField(read_only=True, help_text="All water that went in")
    salt_kg = serializers.FloatField(read_only=True, help_text="All salt that went in")
    refreshed_at = serializers.DateTimeField(read_only=True, allow_null=True)
    discarded_at = serializers.DateTimeField(read_only=True, allow_null=True)
    is_held = serializers.BooleanField(read_only=True)

    class Meta:
        model = Brine
        fields: ClassVar[tuple[str, ...]] = (
            "id", "code", "tank", "water", "made_at", "volume_l", "salt_kg", "refreshed_at", "discarded_at", "is_held",
        )  # fmt: skip


class ChangeShape(serializers.ModelSerializer[BrineChange]):
    recorded_by = serializers.StringRelatedField[Any]()

    class Meta:
        model = BrineChange
        fields: ClassVar = ("id", "what", "water_l", "note", "at", "recorded_at", "recorded_by")


class LaidInShape(serializers.ModelSerializer[BrineUse]):
    batch = serializers.UUIDField(source="make_id", read_only=True)

    class Meta:
        model = BrineUse
        fields: ClassVar = ("id", "batch", "laid_in_at", "recorded_at")


class BrineDetailShape(BrineShape):
    changes = ChangeShape(many=True, read_only=True)
    uses = LaidInShape(many=True, read_only=True)

    class Meta(BrineShape.Meta):
        fields: ClassVar[tuple[str, ...]] = (*BrineShape.Meta.fields, "changes", "uses")


class BrineNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    tank = serializers.UUIDField()
    water = serializers.CharField(max_length=120, allow_blank=True, help_text="Where the water came from")
    volume = serializers.CharField(max_length=40, allow_blank=True)
    volume_unit = serializers.CharField(max_length=8, default="L")
    salt_lot = serializers.UUIDField()
    salt = serializers.CharField(max_length=40, allow_blank=True)
    salt_unit = serializers.CharField(max_length=8, default="kg")
    made_at = Moment()
    note = serializers.CharField(max_length=5000, allow_blank=True, default="")


class ChangeNewShape(serializers.Serializer[Any]):
    """To refresh: water, salt or a note of what was done. To discard: the note says why and where to."""

    id = serializers.UUIDField()
    what = serializers.ChoiceField([What.REFRESHED.value, What.DISCARDED.value])
    at = Moment()
    volume = serializers.CharField(max_length=40, allow_blank=True, default="")
    volume_unit = serializers.CharField(max_length=8, default="L")
    salt_lot = serializers.UUIDField(allow_null=True, default=None)
    salt = serializers.CharField(max_length=40, allow_blank=True, default="")
    salt_unit = serializers.CharField(max_length=8, default="kg")
    note = serializers.CharField(max_length=5000, allow_blank=True, default="")

    def validate(self, sent: dict[str, Any]) -> dict[str, Any]:
        poured = sent["what"] == What.DISCARDED
        if poured and (sent["volume"].strip() or sent["salt"].strip() or sent["salt_lot"] is not None):
            raise serializers.ValidationError("Nothing is added to a brine that is discarded: leave it out.")
        return sent


class LaidInNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    batch = serializers.UUIDField()
    laid_in_at = Moment()


class LatestFirst(Pages):
    ordering = ("-lot__begun_at", "-pk")


def _detail(request: Request, pk: UUID) -> dict[str, Any]:
    return dict(BrineDetailShape(_found(request, pk)).data)


def _found(request: Request, pk: UUID) -> Standing:
    brines = brines_at(scope_of(request).premises).prefetch_related("changes__recorded_by", "uses")
    return get_object_or_404(brines, pk=pk)


class Brines(generics.ListAPIView[Brine]):
    """Brines, the newest first, with what went into each and whether anything holds it."""

    rights: ClassVar = WRITES
    serializer_class = BrineShape
    pagination_class = LatestFirst
    queryset = Brine.objects.none()

    def get_queryset(self) -> QuerySet[Brine]:
        return brines_at(scope_of(self.request).premises)

    @extend_schema(request=BrineNewShape, responses={201: BrineDetailShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request) -> Response:
        """Makes up a brine in a tank that holds none."""
        sent = sent_in(request, BrineNewShape)
        actions.brine_make_up(
            scope=scope_of(request),
            lot_id=sent["id"],
            tank_id=sent["tank"],
            water=sent["water"],
            volume=sent["volume"],
            volume_unit=sent["volume_unit"],
            salt_id=sent["salt_lot"],
            salt=sent["salt"],
            salt_unit=sent["salt_unit"],
            made_at=sent["made_at"],
            note=sent["note"],
        )
        return Response(_detail(request, sent["id"]), status=201)


class BrineDetail(APIView):
    @extend_schema(responses=BrineDetailShape)
    def get(self, request: Request, pk: UUID) -> Response:
        """One brine: what was done to it, and what lay in it."""
        return Response(_detail(request, pk))


class Changes(APIView):
    rights: ClassVar = WRITES

    @extend_schema(request=ChangeNewShape, responses={201: BrineDetailShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """Refreshes or discards a brine."""
        _found(request, pk)
        scope, sent = scope_of(request), sent_in(request, ChangeNewShape)
        if sent["what"] == What.DISCARDED:
            actions.brine_discard(
                scope=scope, change_id=sent["id"], brine_id=pk, reason=sent["note"], discarded_at=sent["at"]
            )
        else:
            actions.brine_refresh(
                scope=scope,
                change_id=sent["id"],
                brine_id=pk,
                refreshed_at=sent["at"],
                volume=sent["volume"],
                volume_unit=sent["volume_unit"],
                salt_id=sent["salt_lot"],
                salt=sent["salt"],
                salt_unit=sent["salt_unit"],
                note=sent["note"],
            )
        return Response(_detail(request, pk), status=201)


class Batches(APIView):
    rights: ClassVar = WRITES

    @extend_schema(request=LaidInNewShape, responses={201: LaidInShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """Lays a batch in the brine. Refused while the brine is on hold."""
        _found(request, pk)
        sent = sent_in(request, LaidInNewShape)
        made = actions.batch_lay_in_brine(
            scope=scope_of(request),
            use_id=sent["id"],
            brine_id=pk,
            make_id=sent["batch"],
            laid_in_at=sent["laid_in_at"],
        )
        return Response(LaidInShape(made).data, status=201)
