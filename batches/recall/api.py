"""The API of recalls: the clock, the lot, what it reaches, whom to call, and the end."""

from typing import Any, ClassVar
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import generics
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from batches.recall import actions, api_shapes, queries
from batches.recall.findings import findings
from batches.recall.models import Recall
from batches.recall.queries import course_of
from haccp.premises.api_access import WRITES, Pages, scope_of, sent_in
from haccp.premises.api_once import IDEMPOTENCY, once
from haccp.premises.scope import Scope


class LatestFirst(Pages):
    ordering = ("-started_at", "-pk")


class Recalls(generics.ListAPIView[Recall]):
    """Recalls and exercises with what was done in each, the latest first."""

    rights: ClassVar = WRITES
    serializer_class = api_shapes.RecallShape
    pagination_class = LatestFirst
    queryset = Recall.objects.none()

    def get_queryset(self) -> QuerySet[Recall]:
        return queries.recalls_of(scope_of(self.request).premises)

    @extend_schema(
        request=api_shapes.RecallNewShape, responses={201: api_shapes.RecallDetailShape}, parameters=IDEMPOTENCY
    )
    @once
    def post(self, request: Request) -> Response:
        """Starts the clock of a recall, or of an exercise."""
        scope = scope_of(request)
        sent = sent_in(request, api_shapes.RecallNewShape)
        made = actions.recall_start(
            scope=scope,
            recall_id=sent["id"],
            kind=sent["kind"],
            reason=sent["reason"],
            repeat_after_days=sent["repeat_after_days"],
        )
        return Response(_detail(scope, made.pk), status=201)


class RecallDetail(APIView):
    @extend_schema(responses=api_shapes.RecallDetailShape)
    def get(self, request: Request, pk: UUID) -> Response:
        """The clock, every lot that is reached and where it is, and every customer with how to reach them."""
        return Response(_detail(scope_of(request), pk))


class Chosen(APIView):
    rights: ClassVar = WRITES

    @extend_schema(
        request=api_shapes.ChosenNewShape, responses={201: api_shapes.RecallDetailShape}, parameters=IDEMPOTENCY
    )
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """Chooses the lot; what it reaches is in the answer, and its figures are kept with the moment."""
        scope = scope_of(request)
        _here(scope, pk)
        sent = sent_in(request, api_shapes.ChosenNewShape)
        actions.recall_choose(scope=scope, recall_id=pk, mark_id=sent["id"], lot_id=sent["lot"], reach=sent["reach"])
        return Response(_detail(scope, pk), status=201)


class Reached(APIView):
    rights: ClassVar = WRITES

    @extend_schema(
        request=api_shapes.ReachedNewShape, responses={201: api_shapes.RecallDetailShape}, parameters=IDEMPOTENCY
    )
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """A customer was told; the note says by whom, and what they answered."""
        scope = scope_of(request)
        _here(scope, pk)
        sent = sent_in(request, api_shapes.ReachedNewShape)
        actions.recall_reach(
            scope=scope, recall_id=pk, mark_id=sent["id"], customer_id=sent["customer"], note=sent["note"]
        )
        return Response(_detail(scope, pk), status=201)


class Finished(APIView):
    rights: ClassVar = WRITES

    @extend_schema(
        request=api_shapes.FinishedNewShape, responses={201: api_shapes.RecallDetailShape}, parameters=IDEMPOTENCY
    )
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """Stops the clock; refused before a lot was chosen."""
        scope = scope_of(request)
        _here(scope, pk)
        sent = sent_in(request, api_shapes.FinishedNewShape)
        actions.recall_finish(scope=scope, recall_id=pk, mark_id=sent["id"], note=sent["note"])
        return Response(_detail(scope, pk), status=201)


def _here(scope: Scope, pk: UUID) -> Recall:
    return get_object_or_404(queries.recalls_of(scope.premises), pk=pk)


def _detail(scope: Scope, pk: UUID) -> dict[str, Any]:
    course = course_of(_here(scope, pk))
    chosen, finished = course.chosen, course.finished
    found = findings(scope.premises, chosen.lot, chosen.reach, chosen.at) if chosen and chosen.lot else None
    ended_at = finished.at if finished else timezone.now()
    shape = api_shapes.RecallDetailShape(
        {
            "recall": course.recall,
            "clock_s": (ended_at - course.recall.started_at).total_seconds(),
            "is_finished": finished is not None,
            "figures": found.figures if found else None,
            "lots": found.touched if found else (),
            "not_held": [lot.code for lot in found.not_held] if found else [],
            "customers": [
                {
                    "customer": one.customer,
                    "pieces": one.pieces,
                    "weight_kg": one.weight_kg,
                    "sent": one.sent,
                    "reached": course.reached.get(one.customer.pk),
                }
                for one in (found.customers if found else ())
            ],
        }
    )
    return dict(shape.data)
