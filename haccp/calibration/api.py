"""The API of calibrations."""

from typing import Any, ClassVar
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from haccp.calibration import actions, queries
from haccp.calibration.measuring import MOST_POINTS, PointTyped
from haccp.calibration.models import Calibration, Doubt, DoubtedReading
from haccp.premises.api_access import WRITES, Pages, scope_of, sent_in
from haccp.premises.api_fields import Moment
from haccp.premises.api_once import IDEMPOTENCY, once
from haccp.premises.models import Instrument


class CalibrationShape(serializers.ModelSerializer[Calibration]):
    class Meta:
        model = Calibration
        fields: ClassVar[tuple[str, ...]] = (
            "id", "instrument", "method", "quantity", "performed_at", "points", "tolerance", "expanded_uncertainty",
            "found_ruling", "found_reason", "left_ruling", "left_reason", "valid_until", "reference", "note",
            "recorded_at",
        )  # fmt: skip


class DoubtShape(serializers.ModelSerializer[Doubt]):
    class Meta:
        model = Doubt
        fields: ClassVar[tuple[str, ...]] = ("record", "deviation", "reason")


class DoubtedReadingShape(serializers.ModelSerializer[DoubtedReading]):
    """A reading besides the checks of the plan. about: the id of the row that holds it."""

    class Meta:
        model = DoubtedReading
        fields: ClassVar[tuple[str, ...]] = (
            "source", "about", "words", "read_at", "lot", "place", "deviation", "reason",
        )  # fmt: skip


class CalibrationDetailShape(CalibrationShape):
    doubts = DoubtShape(many=True, read_only=True)
    doubted_readings = DoubtedReadingShape(many=True, read_only=True)

    class Meta(CalibrationShape.Meta):
        fields: ClassVar[tuple[str, ...]] = (*CalibrationShape.Meta.fields, "doubts", "doubted_readings")


class PointShape(serializers.Serializer[Any]):
    """Numbers as text, as they were read. true: of the reference; for buffers its pH, found and left in mV."""

    true = serializers.CharField(max_length=40, allow_blank=True, default="")
    found = serializers.CharField(max_length=40, allow_blank=True, default="")
    left = serializers.CharField(max_length=40, allow_blank=True, default="")


def _typed(longest: int = 40) -> serializers.CharField:
    return serializers.CharField(max_length=longest, allow_blank=True, default="")


class CalibrationNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    method = serializers.ChoiceField(Calibration.Method.choices)
    performed_at = Moment()
    valid_until = serializers.DateField()
    points = PointShape(many=True)
    unit = _typed(16)
    tolerance = _typed()
    expanded_uncertainty = _typed()
    pressure = _typed()
    pressure_unit = serializers.ChoiceField(["hPa", "mbar", "kPa", "Pa"], default="hPa")
    altitude = _typed()
    buffer_temperature = _typed()
    reference = _typed(160)
    reference_uncertainty = _typed()
    note = _typed(2000)

    def validate_points(self, points: list[dict[str, str]]) -> list[dict[str, str]]:
        if len(points) > MOST_POINTS:
            raise serializers.ValidationError(f"A calibration has at most {MOST_POINTS} points; record two of them.")
        return points


class LatestFirst(Pages):
    ordering = ("-performed_at", "-pk")


class Calibrations(generics.ListAPIView[Calibration]):
    """Calibrations of one instrument, latest first."""

    rights: ClassVar = WRITES
    serializer_class = CalibrationShape
    pagination_class = LatestFirst
    queryset = Calibration.objects.none()

    def get_queryset(self) -> QuerySet[Calibration]:
        instrument = _instrument(self.request, self.kwargs["instrument_id"])
        return queries.calibrations_of(instrument)

    @extend_schema(request=CalibrationNewShape, responses={201: CalibrationShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, instrument_id: UUID) -> Response:
        """Records one; an instrument found out puts every record since it was last good in doubt."""
        instrument = _instrument(request, instrument_id)
        sent = sent_in(request, CalibrationNewShape)
        sent = dict(sent)
        saved = actions.instrument_calibrate(
            scope=scope_of(request),
            calibration_id=sent.pop("id"),
            instrument_id=instrument.pk,
            points=[PointTyped(**one) for one in sent.pop("points")],
            **sent,
        )
        return Response(CalibrationShape(saved).data, status=201)


class CalibrationDetail(APIView):
    @extend_schema(responses=CalibrationDetailShape)
    def get(self, request: Request, calibration_id: UUID) -> Response:
        """One calibration with every record and other reading that it put in doubt."""
        found = queries.calibrations_on(scope_of(request).premises).prefetch_related("doubts", "doubted_readings")
        return Response(CalibrationDetailShape(get_object_or_404(found, pk=calibration_id)).data)


def _instrument(request: Request, instrument_id: UUID) -> Instrument:
    found: Instrument = get_object_or_404(Instrument, premises=scope_of(request).premises, pk=instrument_id)
    return found
