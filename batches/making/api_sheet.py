"""The API of the make sheet: the stages of a make as they stand, a stage noted, an ingredient used."""

from typing import Any, ClassVar
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from batches.making import actions
from batches.making.actions import ReadingTyped, UseTyped
from batches.making.models import IngredientUse, Make, StageMark, StageReading
from batches.making.sheet import StageState, sheet_of
from haccp.premises.api_access import scope_of, sent_in
from haccp.premises.api_fields import Moment
from haccp.premises.api_once import IDEMPOTENCY, once
from haccp.premises.roles import Right


class DoseShape(serializers.Serializer[Any]):
    id = serializers.UUIDField(source="dose.pk")
    ingredient_kind = serializers.CharField(source="dose.ingredient_kind")
    name = serializers.CharField(source="dose.name")
    quantity = serializers.CharField(help_text="mass, volume or pieces")
    amount_si = serializers.FloatField(allow_null=True, help_text="kg, L or pieces for the milk in the vat")
    spoons = serializers.CharField()
    problem = serializers.CharField()


class StageShape(serializers.Serializer[Any]):
    id = serializers.UUIDField(source="stage.pk")
    position = serializers.IntegerField(source="stage.position")
    kind = serializers.CharField(source="stage.kind")
    name = serializers.CharField(source="stage.name")
    began_at = serializers.DateTimeField(allow_null=True)
    done_at = serializers.DateTimeField(allow_null=True)
    is_skipped = serializers.BooleanField()
    ends_at = serializers.DateTimeField(allow_null=True, help_text="When it should be over: count down to this")
    doses = DoseShape(many=True)


class SheetShape(serializers.Serializer[Any]):
    make = serializers.UUIDField()
    at = serializers.DateTimeField()
    milk_l = serializers.FloatField()
    current = serializers.UUIDField(allow_null=True, help_text="The stage that runs or comes next")
    stages = StageShape(many=True)


class StageReadingShape(serializers.ModelSerializer[StageReading]):
    class Meta:
        model = StageReading
        fields = ("what", "value_si", "typed_text", "typed_unit", "instrument", "unfit", "ruling", "said")


class MarkShape(serializers.ModelSerializer[StageMark]):
    readings = StageReadingShape(many=True, read_only=True)

    class Meta:
        model = StageMark
        fields = ("id", "make", "stage", "what", "at", "note", "corrects", "reason", "recorded_at", "readings")


class ReadingNewShape(serializers.Serializer[Any]):
    what = serializers.ChoiceField(StageReading.What.choices)
    text = serializers.CharField(max_length=80, help_text="As typed: 32 or 32,5")
    unit = serializers.CharField(max_length=16, allow_blank=True, default="")
    instrument = serializers.UUIDField(allow_null=True, default=None)


class MarkNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    stage = serializers.UUIDField()
    what = serializers.ChoiceField(StageMark.What.choices)
    at = Moment()
    readings = ReadingNewShape(many=True, default=[])
    note = serializers.CharField(max_length=5000, allow_blank=True, default="")
    corrects = serializers.UUIDField(allow_null=True, default=None)
    reason = serializers.CharField(max_length=5000, allow_blank=True, default="")

    def validate_readings(self, readings: list[dict[str, Any]]) -> list[dict[str, Any]]:
        if len({one["what"] for one in readings}) != len(readings):
            raise serializers.ValidationError("The same thing was read twice; send one value of each kind.")
        return readings


class UseShape(serializers.ModelSerializer[IngredientUse]):
    lot = serializers.UUIDField(source="link.parent_id", read_only=True)
    amount_si = serializers.FloatField(source="link.amount", read_only=True)

    class Meta:
        model = IngredientUse
        fields = ("id", "make", "lot", "stage", "dose", "amount_si", "typed_text", "typed_unit", "used_at")


class UseNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    lot = serializers.UUIDField()
    amount = serializers.CharField(max_length=40, help_text="As typed: 12 or 12,5")
    unit = serializers.CharField(max_length=8)
    used_at = Moment()
    stage = serializers.UUIDField(allow_null=True, default=None)
    dose = serializers.UUIDField(allow_null=True, default=None)
    exception = serializers.CharField(
        max_length=5000,
        allow_blank=True,
        default="",
        help_text="Why a lot that may not be used is used all the same; opens a deviation",
    )


def _make(request: Request, pk: UUID) -> Make:
    makes = Make.objects.filter(lot__premises=scope_of(request).premises).select_related("lot__premises")
    return get_object_or_404(makes, pk=pk)


class SheetOfMake(APIView):
    @extend_schema(responses=SheetShape)
    def get(self, request: Request, pk: UUID) -> Response:
        """The stages of the make as they stand now, with doses scaled to the milk in the vat; empty without a
        procedure."""
        sheet = sheet_of(_make(request, pk), timezone.now())
        current: StageState | None = sheet.current
        found = {
            "make": sheet.make.pk,
            "at": sheet.at,
            "milk_l": sheet.milk_l,
            "current": current.stage.pk if current else None,
            "stages": sheet.stages,
        }
        return Response(SheetShape(found).data)


class Stages(APIView):
    rights: ClassVar = {"POST": Right.RECORD}

    @extend_schema(request=MarkNewShape, responses={201: MarkShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """A stage began, was read, is done or was left out."""
        make = _make(request, pk)
        sent = sent_in(request, MarkNewShape)
        mark = actions.stage_record(
            scope=scope_of(request),
            mark_id=sent["id"],
            make_id=make.pk,
            stage_id=sent["stage"],
            what=sent["what"],
            at=sent["at"],
            readings=[
                ReadingTyped(one["what"], one["text"], one["unit"], one["instrument"]) for one in sent["readings"]
            ],
            note=sent["note"],
            corrects_id=sent["corrects"],
            reason=sent["reason"],
        )
        return Response(MarkShape(mark).data, status=201)


class Uses(APIView):
    rights: ClassVar = {"POST": Right.RECORD}

    @extend_schema(request=UseNewShape, responses={201: UseShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """An ingredient went into the make; its stock falls."""
        make = _make(request, pk)
        sent = sent_in(request, UseNewShape)
        use = actions.ingredient_use(
            scope=scope_of(request),
            make_id=make.pk,
            use=UseTyped(sent["id"], sent["lot"], sent["amount"], sent["unit"], sent["dose"]),
            used_at=sent["used_at"],
            stage_id=sent["stage"],
            exception=sent["exception"],
        )
        return Response(UseShape(use).data, status=201)
