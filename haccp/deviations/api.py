"""The API of deviations and corrective actions."""

from typing import Any, ClassVar
from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import generics
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from haccp.deviations import actions, api_shapes, queries
from haccp.deviations.answers import detail_of, here
from haccp.deviations.models import Deviation
from haccp.premises.api_access import WRITES, Pages, scope_of, sent_in
from haccp.premises.api_once import IDEMPOTENCY, once
from haccp.premises.roles import Right


class LatestFirst(Pages):
    ordering = ("-opened_at", "-pk")


class Deviations(generics.ListAPIView[Deviation]):
    rights: ClassVar = WRITES
    serializer_class = api_shapes.DeviationShape
    pagination_class = LatestFirst
    queryset = Deviation.objects.none()

    def get_queryset(self) -> QuerySet[Deviation]:
        found = queries.deviations_of(scope_of(self.request).premises)
        return found.open() if self.request.query_params.get("open") == "true" else found

    @extend_schema(parameters=[OpenApiParameter("open", OpenApiTypes.BOOL, description="true: only open ones")])
    def get(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Deviations, latest first."""
        return super().get(request, *args, **kwargs)

    @extend_schema(
        request=api_shapes.DeviationNewShape,
        responses={201: api_shapes.DeviationDetailShape},
        parameters=IDEMPOTENCY,
    )
    @once
    def post(self, request: Request) -> Response:
        """Reports a deviation by hand; what the lots named reach from there is implicated too."""
        sent = sent_in(request, api_shapes.DeviationNewShape)
        scope = scope_of(request)
        made = actions.deviation_report(
            scope=scope,
            deviation_id=sent["id"],
            control_point_id=sent["control_point"],
            summary=sent["summary"],
            occurred_at=sent["occurred_at"],
            lot_ids=sent["lots"],
            is_complaint=sent["is_complaint"],
            origin_unknown=sent["origin_unknown"],
        )
        return Response(detail_of(scope, made.pk), status=201)


class DeviationDetail(APIView):
    @extend_schema(responses=api_shapes.DeviationDetailShape)
    def get(self, request: Request, pk: UUID) -> Response:
        """What happened, what is implicated, what the plan says, what was done, what is missing."""
        return Response(detail_of(scope_of(request), pk))


class Steps(APIView):
    rights: ClassVar = WRITES

    @extend_schema(
        request=api_shapes.StepNewShape, responses={201: api_shapes.DeviationDetailShape}, parameters=IDEMPOTENCY
    )
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """Records a cause, correction, disposition of one lot, or prevention."""
        scope = scope_of(request)
        here(scope, pk)
        sent = sent_in(request, api_shapes.StepNewShape)
        actions.step_add(
            scope=scope,
            step_id=sent["id"],
            deviation_id=pk,
            kind=sent["kind"],
            text=sent["text"],
            lot_id=sent["lot"],
            disposition=sent["disposition"],
        )
        return Response(detail_of(scope, pk), status=201)


class Dispositions(APIView):
    rights: ClassVar = WRITES

    @extend_schema(
        request=api_shapes.DispositionsNewShape,
        responses={201: api_shapes.DeviationDetailShape},
        parameters=IDEMPOTENCY,
    )
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """One decision with one reason for several implicated lots; all of them or none."""
        scope = scope_of(request)
        here(scope, pk)
        sent = sent_in(request, api_shapes.DispositionsNewShape)
        actions.disposition_add_many(
            scope=scope,
            request_id=sent["id"],
            deviation_id=pk,
            lot_ids=sent["lots"],
            disposition=sent["disposition"],
            text=sent["text"],
        )
        return Response(detail_of(scope, pk), status=201)


class Closures(APIView):
    rights: ClassVar = {"POST": Right.CLOSE_DEVIATION}

    @extend_schema(request=api_shapes.ClosureNewShape, responses={201: api_shapes.DeviationDetailShape})
    def post(self, request: Request, pk: UUID) -> Response:
        """Closes a deviation with a signature. Never answered from memory: each try asks for the password again."""
        scope = scope_of(request)
        here(scope, pk)
        sent = sent_in(request, api_shapes.ClosureNewShape)
        actions.deviation_close(scope=scope, deviation_id=pk, **sent)
        return Response(detail_of(scope, pk), status=201)
