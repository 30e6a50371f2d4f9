"""The API of what is added to a deviation beside its steps: further lots or fewer, tasks, evidence, ends of lots."""

import zlib
from typing import ClassVar
from uuid import UUID

from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import generics
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from haccp.deviations import actions, api_shapes, queries
from haccp.deviations.answers import detail_of, evidence_sent, here, kept_file
from haccp.deviations.models import CorrectiveStep, Evidence, Task
from haccp.deviations.reach import may_be_touched
from haccp.premises.api_access import WRITES, Pages, WhateverIsAccepted, scope_of, sent_in
from haccp.premises.api_once import IDEMPOTENCY, once
from haccp.premises.roles import Right


class FirstDue(Pages):
    ordering = ("due_on", "pk")


class FirstAttached(Pages):
    ordering = ("attached_at", "pk")


class Widenings(APIView):
    rights: ClassVar = WRITES

    @extend_schema(responses=api_shapes.ReachShape)
    def get(self, request: Request, pk: UUID) -> Response:
        """How the implicated lots were widened so far, and what may be touched as well, for a person to choose from."""
        scope = scope_of(request)
        deviation = here(scope, pk)
        is_open = not hasattr(deviation, "closure")
        shape = api_shapes.ReachShape(
            {
                "widenings": deviation.widenings.select_related("recorded_by").prefetch_related("lots"),
                "suggested": [
                    {"lot": lot.pk, "code": lot.code, "why": why}
                    for lot, why in (may_be_touched(scope.premises, deviation, timezone.now()) if is_open else ())
                ],
            }
        )
        return Response(shape.data)

    @extend_schema(
        request=api_shapes.WideningNewShape, responses={201: api_shapes.DeviationDetailShape}, parameters=IDEMPOTENCY
    )
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """Adds lots with a reason, and all that they reach from there; they are held where the others are."""
        scope = scope_of(request)
        here(scope, pk)
        sent = sent_in(request, api_shapes.WideningNewShape)
        actions.deviation_widen(
            scope=scope, widening_id=sent["id"], deviation_id=pk, lot_ids=sent["lots"], reason=sent["reason"]
        )
        return Response(detail_of(scope, pk), status=201)


class Narrowings(APIView):
    rights: ClassVar = {"POST": Right.CLOSE_DEVIATION}

    @extend_schema(
        request=api_shapes.NarrowingNewShape, responses={201: api_shapes.DeviationDetailShape}, parameters=IDEMPOTENCY
    )
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """Says of one implicated lot that it was not touched after all, and why: this deviation holds it no longer.

        It is a step, the disposition `not_touched`, and shown among the steps; the lot stays listed.
        """
        scope = scope_of(request)
        here(scope, pk)
        sent = sent_in(request, api_shapes.NarrowingNewShape)
        actions.step_add(
            scope=scope,
            step_id=sent["id"],
            deviation_id=pk,
            kind=CorrectiveStep.Kind.DISPOSITION,
            text=sent["text"],
            lot_id=sent["lot"],
            disposition=CorrectiveStep.Disposition.NOT_TOUCHED,
        )
        return Response(detail_of(scope, pk), status=201)


class Tasks(generics.ListAPIView[Task]):
    """Tasks of a deviation, the first due first. After its closure there is one more: to look whether it worked."""

    rights: ClassVar = WRITES
    serializer_class = api_shapes.TaskShape
    pagination_class = FirstDue
    queryset = Task.objects.none()

    def get_queryset(self) -> QuerySet[Task]:
        deviation = here(scope_of(self.request), self.kwargs["pk"])
        return deviation.tasks.select_related("owner", "done__done_by")

    @extend_schema(request=api_shapes.TaskNewShape, responses={201: api_shapes.TaskShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """Gives somebody a task by a day; the deviation is not closed while it is open."""
        scope = scope_of(request)
        here(scope, pk)
        sent = sent_in(request, api_shapes.TaskNewShape)
        task = actions.task_add(
            scope=scope,
            task_id=sent["id"],
            deviation_id=pk,
            title=sent["title"],
            owner_id=sent["owner"],
            due_on=sent["due_on"],
        )
        return Response(api_shapes.TaskShape(task).data, status=201)


class TaskDone(APIView):
    rights: ClassVar = WRITES

    @extend_schema(request=api_shapes.TaskDoneNewShape, responses={201: api_shapes.TaskShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """Says what was done; of a look at the effectiveness also whether it `worked`."""
        scope = scope_of(request)
        get_object_or_404(Task, pk=pk, deviation__premises=scope.premises)
        sent = sent_in(request, api_shapes.TaskDoneNewShape)
        done = actions.task_do(scope=scope, task_id=pk, **sent)
        return Response(api_shapes.TaskShape(done.task).data, status=201)


class EvidenceFiles(generics.ListAPIView[Evidence]):
    """Files of a deviation, the first attached first, each with its hash."""

    rights: ClassVar = WRITES
    parser_classes = (MultiPartParser,)
    serializer_class = api_shapes.EvidenceShape
    pagination_class = FirstAttached
    queryset = Evidence.objects.none()

    def get_queryset(self) -> QuerySet[Evidence]:
        deviation = here(scope_of(self.request), self.kwargs["pk"])
        return deviation.evidence.defer("deflated").select_related("attached_by")

    @extend_schema(
        request=api_shapes.EvidenceNewShape, responses={201: api_shapes.EvidenceShape}, parameters=IDEMPOTENCY
    )
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """Keeps a file with the deviation, byte for byte; open or closed."""
        scope = scope_of(request)
        here(scope, pk)
        content, filename = evidence_sent(request._request)
        sent = sent_in(request, api_shapes.EvidenceNewShape)
        kept = actions.evidence_attach(
            scope=scope,
            evidence_id=sent["id"],
            deviation_id=pk,
            content=content,
            filename=filename,
            note=sent["note"],
        )
        return Response(api_shapes.EvidenceShape(kept).data, status=201)


class EvidenceContent(APIView):
    content_negotiation_class = WhateverIsAccepted

    @extend_schema(responses={(200, "application/octet-stream"): OpenApiTypes.BINARY})
    def get(self, request: Request, pk: UUID) -> HttpResponse:
        """The file as it was sent; always as a download, and never as what the sender said it is."""
        found = get_object_or_404(Evidence, pk=pk, deviation__premises=scope_of(request).premises)
        return kept_file(found.filename, zlib.decompress(bytes(found.deflated)))


class Ends(APIView):
    rights: ClassVar = {"POST": Right.CLOSE_DEVIATION}

    @extend_schema(responses=api_shapes.EndsShape)
    def get(self, request: Request, pk: UUID) -> Response:
        """Lots that the closed deviation decided to destroy, feed or send back: those gone, and those still to go."""
        deviation = here(scope_of(request), pk)
        awaited = queries.ends_to_record(deviation) if hasattr(deviation, "closure") else []
        shape = api_shapes.EndsShape(
            {"ended": deviation.ends.select_related("lot", "recorded_by"), "awaited": awaited},
        )
        return Response(shape.data)

    @extend_schema(request=api_shapes.EndNewShape, responses={201: api_shapes.EndShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """Records that a lot is no more, as the closed deviation decided; nothing of it leaves ever after."""
        scope = scope_of(request)
        here(scope, pk)
        sent = sent_in(request, api_shapes.EndNewShape)
        end = actions.lot_end_record(
            scope=scope,
            end_id=sent["id"],
            deviation_id=pk,
            lot_id=sent["lot"],
            note=sent["note"],
            ended_at=sent["ended_at"],
        )
        return Response(api_shapes.EndShape(end).data, status=201)
