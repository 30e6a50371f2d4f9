"""The API of the release gate."""

from typing import Any, ClassVar
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from batches.making.models import Make
from batches.release import actions
from batches.release.gate import Gate, gate_of
from batches.release.models import Release
from batches.release.points import Matter, Standing
from batches.release.queries import release_of
from haccp.premises.api_access import scope_of, sent_in
from haccp.premises.api_once import IDEMPOTENCY, once
from haccp.premises.roles import Right


class PointShape(serializers.Serializer[Any]):
    standing = serializers.ChoiceField([one.value for one in Standing])
    matter = serializers.ChoiceField([one.value for one in Matter])
    words = serializers.CharField()
    earliest = serializers.DateField(allow_null=True)


class ReleaseShape(serializers.ModelSerializer[Release]):
    lot = serializers.UUIDField(source="lot_id", read_only=True)
    released_by = serializers.CharField(source="released_by.name", read_only=True)

    class Meta:
        model = Release
        fields: ClassVar = ("id", "lot", "released_by", "released_at", "content_sha256")


class GateShape(serializers.Serializer[Gate]):
    """seen_sha256 goes back with a release: it signs exactly these points."""

    is_open = serializers.BooleanField()
    is_held = serializers.BooleanField()
    not_before = serializers.DateField(allow_null=True)
    points = PointShape(many=True)
    seen_sha256 = serializers.CharField(source="content_sha256")
    release = serializers.SerializerMethodField()

    def get_release(self, gate: Gate) -> UUID | None:
        standing = release_of(gate.lot)
        return standing.pk if standing else None


class ReleaseNewShape(serializers.Serializer[Any]):
    id = serializers.UUIDField()
    password = serializers.CharField(max_length=200, trim_whitespace=False)
    seen_sha256 = serializers.CharField(max_length=64)


class BatchGate(APIView):
    rights: ClassVar = {"POST": Right.RELEASE}

    @extend_schema(responses=GateShape)
    def get(self, request: Request, pk: UUID) -> Response:
        """What the gate shows of a batch now."""
        scope = scope_of(request)
        make = get_object_or_404(Make.objects.select_related("lot__product"), pk=pk, lot__premises=scope.premises)
        return Response(GateShape(gate_of(scope, make.lot, timezone.now())).data)

    @extend_schema(request=ReleaseNewShape, responses={201: ReleaseShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """Releases the batch: refused while anything is outstanding or unproven, or the gate has changed."""
        scope = scope_of(request)
        get_object_or_404(Make, pk=pk, lot__premises=scope.premises)
        sent = sent_in(request, ReleaseNewShape)
        release = actions.batch_release(
            scope=scope,
            release_id=sent["id"],
            lot_id=pk,
            password=sent["password"],
            seen_sha256=sent["seen_sha256"],
        )
        return Response(ReleaseShape(release).data, status=201)
