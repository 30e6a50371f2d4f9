"""The API of rooms: care, weights, the air, and the ageing clock of a batch."""

from typing import Any, ClassVar
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from batches.ripening import actions
from batches.ripening.ageing_clock import BatchClock, clock_of
from batches.ripening.models import Care, CareKind, RoomLog, RoomReading, Weighing
from batches.ripening.queries import rooms_of
from haccp.lots.queries import lots_of
from haccp.premises.api_access import WRITES, scope_of
from haccp.premises.api_fields import Moment
from haccp.premises.api_once import IDEMPOTENCY, once


def _typed(longest: int = 40) -> serializers.CharField:
    return serializers.CharField(max_length=longest, allow_blank=True, default="")


class CareShape(serializers.ModelSerializer[Care]):
    lots = serializers.SlugRelatedField[Any](many=True, read_only=True, slug_field="lot_id")

    class Meta:
        model = Care
        fields = ("id", "kind", "place", "done_at", "note", "lots", "recorded_at")


class CareNewShape(serializers.Serializer[Any]):
    """room for every batch in it, or lots."""

    id = serializers.UUIDField()
    kind = serializers.ChoiceField(CareKind.choices)
    done_at = Moment()
    room = serializers.UUIDField(allow_null=True, default=None)
    lots = serializers.ListField(child=serializers.UUIDField(), default=list, max_length=500)
    note = _typed(2000)


class WeighingShape(serializers.ModelSerializer[Weighing]):
    class Meta:
        model = Weighing
        fields: ClassVar = (
            "id", "lot", "pieces", "mass_kg", "typed_mass", "typed_unit", "instrument", "instrument_unfit",
            "weighed_at", "recorded_at",
        )  # fmt: skip


class WeighingNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    lot = serializers.UUIDField()
    pieces = serializers.IntegerField(min_value=1, default=1)
    mass = serializers.CharField(max_length=40)
    unit = serializers.CharField(max_length=8, default="kg")
    instrument = serializers.UUIDField(allow_null=True, default=None, help_text="The scale")
    weighed_at = Moment()


class RoomReadingShape(serializers.ModelSerializer[RoomReading]):
    class Meta:
        model = RoomReading
        fields = ("id", "place", "read_at", "temperature_c", "relative_humidity", "typed", "instrument", "note")


class RoomReadingNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    read_at = Moment()
    temperature = _typed()
    temperature_unit = serializers.ChoiceField(["°C", "°F"], default="°C")
    wet_bulb = _typed()
    humidity = _typed()
    psychrometer = serializers.ChoiceField(["ASPIRATED", "NATURAL", "STILL"], default="ASPIRATED")
    pressure = _typed()
    instrument = serializers.UUIDField(allow_null=True, default=None)
    note = _typed(2000)


class LogShape(serializers.ModelSerializer[RoomLog]):
    class Meta:
        model = RoomLog
        fields = ("id", "place", "trace", "channel", "label", "quantity", "starts_at", "ends_at")


class ChannelShape(serializers.Serializer[Any]):
    channel = serializers.CharField(max_length=200)
    quantity = serializers.ChoiceField(RoomLog.Quantity.choices)
    name = serializers.CharField(max_length=80, allow_blank=True, default="")


class LogsNewShape(serializers.Serializer[Any]):
    """recorder_file: as POST recorder-files/ gave it."""

    recorder_file = serializers.UUIDField()
    channels = ChannelShape(many=True)
    instrument = serializers.UUIDField(allow_null=True, default=None)


class AgeingShape(serializers.Serializer[Any]):
    ruling = serializers.CharField(allow_null=True)
    sentence = serializers.CharField()
    counted_to = serializers.DateTimeField()
    earliest_release_at = serializers.DateTimeField(allow_null=True)
    rules = serializers.ListField(child=serializers.DictField())


class CareGiven(APIView):
    rights: ClassVar = WRITES

    @extend_schema(request=CareNewShape, responses={201: CareShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request) -> Response:
        """Turned, washed, brushed, pierced: batches, or all that is in a room."""
        sent = _sent(CareNewShape, request)
        care = actions.care_give(
            scope=scope_of(request),
            care_id=sent["id"],
            kind=sent["kind"],
            done_at=sent["done_at"],
            lot_ids=sent["lots"],
            room_id=sent["room"],
            note=sent["note"],
        )
        return Response(CareShape(care).data, status=201)


class Weighings(APIView):
    rights: ClassVar = WRITES

    @extend_schema(request=WeighingNewShape, responses={201: WeighingShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request) -> Response:
        """Wheels of a batch on a scale."""
        sent = _sent(WeighingNewShape, request)
        weighing = actions.weigh(
            scope=scope_of(request),
            weighing_id=sent["id"],
            lot_id=sent["lot"],
            mass=sent["mass"],
            unit=sent["unit"],
            weighed_at=sent["weighed_at"],
            pieces=sent["pieces"],
            instrument_id=sent["instrument"],
        )
        return Response(WeighingShape(weighing).data, status=201)


class Readings(APIView):
    rights: ClassVar = WRITES

    @extend_schema(request=RoomReadingNewShape, responses={201: RoomReadingShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, place_id: UUID) -> Response:
        """The air of a room as it was read; from dry and wet bulb the humidity is computed."""
        scope = scope_of(request)
        get_object_or_404(rooms_of(scope.premises), pk=place_id)
        sent = _sent(RoomReadingNewShape, request)
        reading = actions.room_read(
            scope=scope,
            reading_id=sent.pop("id"),
            room_id=place_id,
            instrument_id=sent.pop("instrument"),
            **sent,
        )
        return Response(RoomReadingShape(reading).data, status=201)


class Logs(APIView):
    rights: ClassVar = WRITES

    @extend_schema(request=LogsNewShape, responses={201: LogShape(many=True)}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, place_id: UUID) -> Response:
        """Says what the channels of a logger's file measure in this room."""
        scope = scope_of(request)
        get_object_or_404(rooms_of(scope.premises), pk=place_id)
        sent = _sent(LogsNewShape, request)
        logs = actions.logs_add(
            scope=scope,
            room_id=place_id,
            trace_id=sent["recorder_file"],
            channels=[actions.ChannelSaid(x["channel"], x["quantity"], x["name"]) for x in sent["channels"]],
            instrument_id=sent["instrument"],
        )
        return Response(LogShape(logs, many=True).data, status=201)


class Ageing(APIView):
    @extend_schema(responses=AgeingShape)
    def get(self, request: Request, pk: UUID) -> Response:
        """The ageing clock: which days are proven, by which rule, and when the batch may leave."""
        scope = scope_of(request)
        lot = get_object_or_404(lots_of(scope.premises).batches(), pk=pk)
        return Response(_ageing(clock_of(scope.premises, lot.pk, timezone.now())))


def _ageing(clock: BatchClock) -> dict[str, Any]:
    return {
        "ruling": clock.ruling,
        "sentence": clock.sentence,
        "counted_to": clock.counted_to,
        "earliest_release_at": clock.earliest_release_at,
        "rules": [
            {
                "clause": one.rule.clause,
                "days": one.rule.days,
                "lowest_c": one.rule.lowest_c,
                "ruling": one.verdict.ruling,
                "proven_s": one.proven_s,
                "unproven_s": one.unproven_s,
                "lost_s": one.lost_s,
                "earliest_release_at": one.earliest_release_at,
                "if_all_proven_at": one.if_all_proven_at,
                "changes": list(one.changes),
            }
            for one in clock.clocks
        ],
    }


def _sent(shape: type[serializers.Serializer[Any]], request: Request) -> dict[str, Any]:
    found = shape(data=request.data)
    found.is_valid(raise_exception=True)
    return dict(found.validated_data)
