"""The API of heat treatments: what stands beside a recorder's file, what the law says, and the enzyme afterwards."""

from typing import Any, ClassVar
from uuid import UUID

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from batches.making import actions
from batches.making.actions import DiversionTyped, ThermometerTyped
from batches.making.heat_record import HeatRecord, heat_record
from batches.making.models import FlowDiversion, HeatSheet, Make, PhosphataseResult, ThermometerReading
from haccp.checks.models import Record
from haccp.premises.api_access import WRITES, scope_of, sent_in
from haccp.premises.api_fields import Moment
from haccp.premises.api_once import IDEMPOTENCY, once


def _as_typed(help_text: str = "") -> serializers.CharField:
    return serializers.CharField(max_length=40, allow_blank=True, default="", help_text=help_text)


class ThermometerShape(serializers.ModelSerializer[ThermometerReading]):
    class Meta:
        model = ThermometerReading
        fields = ("at", "indicating_c", "air_space_c", "typed")


class DiversionShape(serializers.ModelSerializer[FlowDiversion]):
    class Meta:
        model = FlowDiversion
        fields = ("began_at", "ended_at")


class HeatSheetShape(serializers.ModelSerializer[HeatSheet]):
    thermometers = ThermometerShape(many=True, read_only=True)
    diversions = DiversionShape(many=True, read_only=True)

    class Meta:
        model = HeatSheet
        fields: ClassVar = (
            "id", "record", "process", "fat_percent", "sweetened", "cut_in_c", "cut_out_c", "holding_tube_s", "typed",
            "thermometer", "thermometer_unfit", "air_thermometer", "air_thermometer_unfit", "note", "recorded_at",
            "thermometers", "diversions",
        )  # fmt: skip


class LegalShape(serializers.Serializer[Any]):
    """One published pair of temperature and time, and what it says of this treatment."""

    jurisdiction = serializers.CharField(source="pair.jurisdiction")
    clause = serializers.CharField(source="pair.clause")
    lowest_c = serializers.FloatField(source="pair.lowest_c")
    hold_s = serializers.FloatField(source="pair.hold_s")
    ruling = serializers.CharField(source="verdict.ruling.value")
    reason = serializers.CharField(source="verdict.reason")


class UnprovenShape(serializers.Serializer[Any]):
    began_at = serializers.DateTimeField()
    ended_at = serializers.DateTimeField()
    why = serializers.CharField()


class HeatShape(serializers.Serializer[Any]):
    """legal: what says most for the treatment first; empty with the reason in no_law. lethality_s: on the lowest
    credible temperature, beside the law and never instead of it; null without a channel of the milk."""

    record = serializers.UUIDField(source="record.pk")
    sheet = HeatSheetShape(allow_null=True)
    legal = LegalShape(many=True)
    no_law = serializers.CharField(allow_blank=True)
    lethality_s = serializers.FloatField(allow_null=True, source="lethality.f_s", default=None)
    lethality_reference_c = serializers.FloatField(allow_null=True, source="lethality.reference_c", default=None)
    lethality_z_c = serializers.FloatField(allow_null=True, source="lethality.z_c", default=None)
    unproven = serializers.SerializerMethodField()

    @extend_schema(responses=UnprovenShape(many=True))
    def get_unproven(self, found: HeatRecord) -> list[dict[str, Any]]:
        rows = [{"began_at": start, "ended_at": end, "why": why} for start, end, why in found.unproven]
        return list(UnprovenShape(rows, many=True).data)


class ThermometerNewShape(serializers.Serializer[Any]):
    at = Moment()
    indicating = _as_typed("As typed: 63,4")
    air_space = _as_typed()


class DiversionNewShape(serializers.Serializer[Any]):
    began_at = Moment()
    ended_at = Moment()


class HeatSheetNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    process = serializers.ChoiceField(HeatSheet.Process.choices)
    fat = serializers.CharField(max_length=40, help_text="Of the milk, in %, as typed")
    sweetened = serializers.BooleanField(default=False)
    unit = serializers.CharField(max_length=8, default="°C", help_text="Of every temperature sent here")
    thermometers = ThermometerNewShape(many=True, default=[])
    diversions = DiversionNewShape(many=True, default=[])
    cut_in = _as_typed()
    cut_out = _as_typed()
    thermometer = serializers.UUIDField(allow_null=True, default=None, help_text="The indicating one: an instrument")
    air_thermometer = serializers.UUIDField(allow_null=True, default=None, help_text="That of the air space")
    tube_s = _as_typed("Hold of the fastest particle in the tube, s")
    note = serializers.CharField(max_length=5000, allow_blank=True, default="")


class PhosphataseShape(serializers.ModelSerializer[PhosphataseResult]):
    class Meta:
        model = PhosphataseResult
        fields = ("id", "make", "activity_mu_per_l", "typed_text", "sampled_at", "laboratory", "recorded_at")


class PhosphataseNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    activity = serializers.CharField(max_length=40, help_text="mU/L, as typed")
    sampled_at = Moment()
    laboratory = serializers.CharField(max_length=120, allow_blank=True, default="")


def _record(request: Request, pk: UUID) -> Record:
    """Of a heat treatment: one that has a recorder's file."""
    records = Record.objects.for_premises(scope_of(request).premises).with_details()
    return get_object_or_404(records.filter(trace__isnull=False, lot__make__isnull=False), pk=pk)


def _sheet(record: Record) -> HeatSheet | None:
    sheets = HeatSheet.objects.filter(record=record).prefetch_related("thermometers", "diversions")
    return sheets.order_by("recorded_at").last()


class HeatTreatment(APIView):
    rights: ClassVar = WRITES

    @extend_schema(responses=HeatShape)
    def get(self, request: Request, pk: UUID) -> Response:
        """What the law says of the recording of a heat treatment, by the last sheet beside it. pk: of the record."""
        record = _record(request, pk)
        return Response(HeatShape(heat_record(record.premises, record, _sheet(record))).data)

    @extend_schema(request=HeatSheetNewShape, responses={201: HeatShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """What the recorder does not know: how the milk was treated, its fat, the other thermometer, diversions."""
        record = _record(request, pk)
        sent = sent_in(request, HeatSheetNewShape)
        actions.heat_sheet_save(
            scope=scope_of(request),
            record_id=record.pk,
            sheet_id=sent.pop("id"),
            thermometers=[ThermometerTyped(n, **one) for n, one in enumerate(sent.pop("thermometers"), start=1)],
            thermometer_id=sent.pop("thermometer"),
            air_thermometer_id=sent.pop("air_thermometer"),
            diversions=[DiversionTyped(n, **one) for n, one in enumerate(sent.pop("diversions"), start=1)],
            **sent,
        )
        return Response(HeatShape(heat_record(record.premises, record, _sheet(record))).data, status=201)


class Phosphatase(APIView):
    rights: ClassVar = WRITES

    @extend_schema(request=PhosphataseNewShape, responses={201: PhosphataseShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """The enzyme of the milk at once after its treatment."""
        makes = Make.objects.filter(lot__premises=scope_of(request).premises)
        make = get_object_or_404(makes, pk=pk)
        sent = sent_in(request, PhosphataseNewShape)
        row = actions.phosphatase_record(scope=scope_of(request), make_id=make.pk, result_id=sent.pop("id"), **sent)
        return Response(PhosphataseShape(row).data, status=201)
