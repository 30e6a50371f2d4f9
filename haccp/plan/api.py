"""The API of the plan in force: what a device needs to name when it starts a make or reports a deviation."""

from typing import Any

from django.http import Http404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from haccp.plan import queries
from haccp.plan.models import Check, ControlPoint, PlanRevision, Product
from haccp.premises.api_access import scope_of


class ProductShape(serializers.ModelSerializer[Product]):
    class Meta:
        model = Product
        fields = ("id", "name", "code", "species", "treatment")


class PlannedCheckShape(serializers.ModelSerializer[Check]):
    class Meta:
        model = Check
        fields = ("id", "name", "subject", "place")


class ControlPointShape(serializers.ModelSerializer[ControlPoint]):
    checks = PlannedCheckShape(many=True, read_only=True)
    limits = serializers.StringRelatedField[Any](many=True)

    class Meta:
        model = ControlPoint
        fields = ("id", "kind", "code", "name", "corrective_action", "limits", "checks")


class PlanShape(serializers.Serializer[Any]):
    revision = serializers.UUIDField(source="revision.id")
    number = serializers.IntegerField(source="revision.number")
    effective_from = serializers.DateTimeField(source="revision.effective_from")
    products = ProductShape(many=True)
    control_points = ControlPointShape(many=True)


class Plan(APIView):
    @extend_schema(responses=PlanShape)
    def get(self, request: Request) -> Response:
        """The plan in force now: products, control points with their limits, and the checks that watch them."""
        revision: PlanRevision | None = queries.revision_in_force(scope_of(request).premises, timezone.now())
        if revision is None:
            raise Http404("No approved plan is in force; have the plan approved.")
        return Response(PlanShape(queries.in_words(revision)).data)
