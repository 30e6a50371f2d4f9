"""The API of samples and their results."""

from typing import Any, ClassVar
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import generics, serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from batches.laboratory import actions, queries
from batches.laboratory.models import Sample, SampleTest, TestResult
from haccp.premises.api_access import WRITES, Pages, scope_of, sent_in
from haccp.premises.api_fields import Moment
from haccp.premises.api_once import IDEMPOTENCY, once


class ResultShape(serializers.ModelSerializer[TestResult]):
    class Meta:
        model = TestResult
        fields: ClassVar[tuple[str, ...]] = (
            "id", "values", "unit", "method", "report_number", "reported_at", "ruling", "reason", "deviation",
            "replaces", "replace_reason", "recorded_at",
        )  # fmt: skip


class TestShape(serializers.ModelSerializer[SampleTest]):
    results = ResultShape(many=True, read_only=True)

    class Meta:
        model = SampleTest
        fields: ClassVar[tuple[str, ...]] = (
            "id", "kind", "parameter", "n", "c", "m", "largest", "unit", "absent_in", "criterion", "source",
            "fewer_because", "results",
        )  # fmt: skip


class SampleShape(serializers.ModelSerializer[Sample]):
    tests = TestShape(many=True, read_only=True)

    class Meta:
        model = Sample
        fields: ClassVar[tuple[str, ...]] = (
            "id", "code", "lot", "place", "spot", "laboratory", "verifies", "taken_at", "sent_at", "temperature_c",
            "note", "recorded_at", "tests",
        )  # fmt: skip


class TestNewShape(serializers.Serializer[Any]):
    kind = serializers.ChoiceField(SampleTest.Kind.choices)
    parameter = serializers.CharField(max_length=120)
    n = serializers.IntegerField(min_value=1, max_value=actions.MOST_UNITS, default=1)
    c = serializers.IntegerField(min_value=0, default=0)
    m = serializers.FloatField(min_value=0, allow_null=True, default=None)
    largest = serializers.FloatField(min_value=0, allow_null=True, default=None)
    unit = serializers.CharField(max_length=16, allow_blank=True, default="")
    absent_in = serializers.CharField(max_length=16, allow_blank=True, default="")
    criterion = serializers.CharField(max_length=80, allow_blank=True, default="")
    source = serializers.CharField(  # type: ignore[assignment]
        max_length=500, allow_blank=True, default=""
    )
    fewer_because = serializers.CharField(max_length=500, allow_blank=True, default="")


class SampleNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    lot = serializers.UUIDField(allow_null=True, default=None)
    place = serializers.UUIDField(allow_null=True, default=None)
    spot = serializers.CharField(max_length=120, allow_blank=True, default="")
    laboratory = serializers.CharField(max_length=120)
    verifies = serializers.UUIDField(allow_null=True, default=None)
    taken_at = Moment()
    sent_at = Moment(allow_null=True, default=None)
    temperature = serializers.CharField(max_length=40, allow_blank=True, default="")
    temperature_unit = serializers.ChoiceField(["°C", "°F"], default="°C")
    note = serializers.CharField(max_length=2000, allow_blank=True, default="")
    tests = TestNewShape(many=True)


class ResultNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    values = serializers.ListField(child=serializers.CharField(max_length=60, allow_blank=True), max_length=60)
    unit = serializers.CharField(max_length=16, allow_blank=True, default="")
    method = serializers.CharField(max_length=120, allow_blank=True, default="")
    report_number = serializers.CharField(max_length=80, allow_blank=True, default="")
    reported_at = Moment()
    replaces = serializers.UUIDField(allow_null=True, default=None)
    replace_reason = serializers.CharField(max_length=500, allow_blank=True, default="")


class LatestFirst(Pages):
    ordering = ("-taken_at", "-pk")


class Samples(generics.ListAPIView[Sample]):
    """Samples, latest first, with their tests and every result."""

    rights: ClassVar = WRITES
    serializer_class = SampleShape
    pagination_class = LatestFirst
    queryset = Sample.objects.none()

    def get_queryset(self) -> QuerySet[Sample]:
        premises = scope_of(self.request).premises
        awaited = self.request.query_params.get("awaited") == "true"
        return queries.open_samples(premises) if awaited else queries.samples_of(premises)

    @extend_schema(
        parameters=[OpenApiParameter("awaited", OpenApiTypes.BOOL, description="true: only those still awaited")]
    )
    def get(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Samples, latest first."""
        return super().get(request, *args, **kwargs)

    @extend_schema(request=SampleNewShape, responses={201: SampleShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request) -> Response:
        """A sample was taken; says what is asked of the laboratory."""
        sent = sent_in(request, SampleNewShape)
        scope = scope_of(request)
        sample = actions.sample_take(
            scope=scope,
            sample_id=sent["id"],
            laboratory=sent["laboratory"],
            tests=[actions.TestAsked(**one) for one in sent["tests"]],
            taken_at=sent["taken_at"],
            lot_id=sent["lot"],
            place_id=sent["place"],
            verifies_id=sent["verifies"],
            spot=sent["spot"],
            sent_at=sent["sent_at"],
            temperature=sent["temperature"],
            temperature_unit=sent["temperature_unit"],
            note=sent["note"],
        )
        return Response(SampleShape(queries.samples_of(scope.premises).get(pk=sample.pk)).data, status=201)


class SampleDetail(APIView):
    @extend_schema(responses=SampleShape)
    def get(self, request: Request, sample_id: UUID) -> Response:
        """One sample with its tests and every result."""
        found = get_object_or_404(queries.samples_of(scope_of(request).premises), pk=sample_id)
        return Response(SampleShape(found).data)


class Results(APIView):
    rights: ClassVar = WRITES

    @extend_schema(request=ResultNewShape, responses={201: ResultShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, test_id: UUID) -> Response:
        """The laboratory's answer; one that fails opens a deviation and holds what it implicates."""
        scope = scope_of(request)
        get_object_or_404(SampleTest, pk=test_id, sample__premises=scope.premises)
        sent = sent_in(request, ResultNewShape)
        saved = actions.result_enter(
            scope=scope,
            result_id=sent["id"],
            test_id=test_id,
            values=sent["values"],
            reported_at=sent["reported_at"],
            unit=sent["unit"],
            method=sent["method"],
            report_number=sent["report_number"],
            replaces_id=sent["replaces"],
            replace_reason=sent["replace_reason"],
        )
        return Response(ResultShape(saved).data, status=201)
