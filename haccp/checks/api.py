"""The API of checks: today, due checks, records, amendments, recorder files, missed checks, days."""

from datetime import date
from typing import Any, ClassVar
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import generics
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from haccp.checks import actions, api_shapes, queries
from haccp.checks.daybook import DayBook, day_book
from haccp.checks.models import DueCheck, MissedCheck, Record, TraceFile
from haccp.plan.models import Check
from haccp.premises.api_access import WRITES, Pages, scope_of, sent_in
from haccp.premises.api_filters import moment_asked, uuid_asked
from haccp.premises.api_once import IDEMPOTENCY, once
from haccp.premises.roles import Right
from haccp.premises.uploads import read_upload

PERIOD = [
    OpenApiParameter("from", OpenApiTypes.DATETIME, description="Observed at or after"),
    OpenApiParameter("to", OpenApiTypes.DATETIME, description="Observed before"),
    OpenApiParameter("lot", OpenApiTypes.UUID),
]


class LatestFirst(Pages):
    ordering = ("-observed_at", "-pk")


class SoonestFirst(Pages):
    ordering = ("due_at", "pk")


class Today(APIView):
    @extend_schema(responses=api_shapes.TodayShape)
    def get(self, request: Request) -> Response:
        """What is late, due now and due later today, in walking order; and what was missed and has no reason."""
        found = queries.today(scope_of(request).premises, timezone.now())
        shaped = api_shapes.TodayShape(
            {
                "late": [due for one in found.late for due in one.checks],
                "due": [due for one in found.due for due in one.checks],
                "later": [due for one in found.later for due in one.checks],
                "missed": queries.missed_unanswered(scope_of(request).premises),
            }
        )
        return Response(shaped.data)


class DueChecks(generics.ListAPIView[DueCheck]):
    """Checks that nobody has done yet and that may be done now or later; those of one lot with ?lot=."""

    serializer_class = api_shapes.DueShape
    pagination_class = SoonestFirst
    queryset = DueCheck.objects.none()

    @extend_schema(parameters=[OpenApiParameter("lot", OpenApiTypes.UUID)])
    def get(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        return super().get(request, *args, **kwargs)

    def get_queryset(self) -> QuerySet[DueCheck]:
        scope = scope_of(self.request)
        due = DueCheck.objects.for_premises(scope.premises).unsettled()
        lot = uuid_asked(self.request, "lot")
        if lot is not None:
            due = due.filter(lot_id=lot)
        return due.select_related("check_due__place", "lot")


class DueCheckDetail(generics.RetrieveAPIView[DueCheck]):
    """One due check with what to measure and the limits that will judge it."""

    serializer_class = api_shapes.DueDetailShape
    queryset = DueCheck.objects.none()

    def get_queryset(self) -> QuerySet[DueCheck]:
        return (
            DueCheck.objects.for_premises(scope_of(self.request).premises)
            .select_related("check_due__control_point", "check_due__place", "lot")
            .prefetch_related("check_due__measures__limits")
        )


class CheckDetail(generics.RetrieveAPIView[Check]):
    """A check of an approved plan, for records that nothing was due for."""

    serializer_class = api_shapes.CheckShape
    queryset = Check.objects.none()

    def get_queryset(self) -> QuerySet[Check]:
        premises = scope_of(self.request).premises
        return (
            Check.objects.filter(revision__premises=premises, revision__approval__isnull=False)
            .select_related("control_point")
            .prefetch_related("measures__limits")
        )


class Records(generics.ListAPIView[Record]):
    rights: ClassVar = WRITES
    serializer_class = api_shapes.RecordShape
    pagination_class = LatestFirst
    queryset = Record.objects.none()

    def get_queryset(self) -> QuerySet[Record]:
        found = Record.objects.for_premises(scope_of(self.request).premises)
        start, end = moment_asked(self.request, "from"), moment_asked(self.request, "to")
        lot = uuid_asked(self.request, "lot")
        if start is not None:
            found = found.filter(observed_at__gte=start)
        if end is not None:
            found = found.filter(observed_at__lt=end)
        if lot is not None:
            found = found.filter(lot_id=lot)
        return found.with_details()

    @extend_schema(parameters=PERIOD)
    def get(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        """Records, latest first; amended ones are there beside their amendments."""
        return super().get(request, *args, **kwargs)

    @extend_schema(
        request=api_shapes.RecordNewShape,
        responses={201: api_shapes.RecordShape, 200: api_shapes.RecordShape},
        parameters=IDEMPOTENCY,
    )
    @once
    def post(self, request: Request) -> Response:
        """Saves a check that was done and answers with its rulings."""
        shape = api_shapes.RecordNewShape(data=request.data)
        shape.is_valid(raise_exception=True)
        sent = shape.validated_data
        saved = actions.record_save(
            scope=scope_of(request),
            record_id=sent["id"],
            check_id=sent["check_id"],
            entries=shape.typed(),
            observed_at=sent["observed_at"],
            due_id=sent["due"],
            lot_id=sent["lot"],
            instrument_id=sent["instrument"],
            trace_id=sent["trace"],
            trace_roles=sent["trace_roles"],
            note=sent["note"],
            device_at=sent["device_at"],
        )
        return _answer(saved)


class RecordDetail(generics.RetrieveAPIView[Record]):
    """One record with its readings, and how each limit ruled."""

    serializer_class = api_shapes.RecordShape
    queryset = Record.objects.none()

    def get_queryset(self) -> QuerySet[Record]:
        return Record.objects.for_premises(scope_of(self.request).premises).with_details()


class Amendments(APIView):
    rights: ClassVar = WRITES

    @extend_schema(
        request=api_shapes.AmendmentNewShape,
        responses={201: api_shapes.RecordShape, 200: api_shapes.RecordShape},
        parameters=IDEMPOTENCY,
    )
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """Adds an amended version of a record; the original stays."""
        get_object_or_404(Record.objects.for_premises(scope_of(request).premises), pk=pk)
        shape = api_shapes.AmendmentNewShape(data=request.data)
        shape.is_valid(raise_exception=True)
        sent = shape.validated_data
        saved = actions.record_amend(
            scope=scope_of(request),
            record_id=sent["id"],
            amends_id=pk,
            entries=shape.typed(),
            observed_at=sent["observed_at"],
            reason=sent["reason"],
            instrument_id=sent["instrument"],
            note=sent["note"],
            device_at=sent["device_at"],
        )
        return _answer(saved)


class Traces(APIView):
    rights: ClassVar = WRITES
    parser_classes = (MultiPartParser,)

    @extend_schema(request=api_shapes.TraceNewShape, responses={201: api_shapes.TraceShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request) -> Response:
        """Keeps a recorder's file and says what was read out of it; a record then names it as its trace."""
        data, filename = read_upload(request._request, request.FILES.get("file"))
        sent = sent_in(request, api_shapes.TraceNewShape)
        stored = actions.trace_store_file(
            scope=scope_of(request),
            trace_id=sent["id"],
            data=data,
            filename=filename,
            lot_id=sent["lot"],
        )
        return Response(api_shapes.TraceShape(stored).data, status=201)


class TraceDetail(generics.RetrieveAPIView[TraceFile]):
    """What was read out of a recorder's file."""

    serializer_class = api_shapes.TraceShape
    queryset = TraceFile.objects.none()

    def get_queryset(self) -> QuerySet[TraceFile]:
        return TraceFile.objects.filter(premises=scope_of(self.request).premises)


class MissedReasons(APIView):
    rights: ClassVar = WRITES

    @extend_schema(request=api_shapes.ReasonNewShape, responses={201: api_shapes.MissedShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """Says why a check was missed."""
        scope = scope_of(request)
        get_object_or_404(MissedCheck, pk=pk, due__premises=scope.premises)
        sent = sent_in(request, api_shapes.ReasonNewShape)
        actions.missed_reason_give(scope=scope, missed_id=pk, text=sent["text"])
        missed = MissedCheck.objects.select_related("due__check_due__place", "due__lot", "reason").get(pk=pk)
        return Response(api_shapes.MissedShape(missed).data, status=201)


class Day(APIView):
    @extend_schema(responses=api_shapes.DayShape)
    def get(self, request: Request, day: date) -> Response:
        """The day book of one local day: what its signature would attest, and what is still unanswered."""
        return Response(_day(day_book(scope_of(request).premises, day)))


class DaySignatures(APIView):
    # Which of the two rights is needed depends on the meaning; the action asks.
    rights: ClassVar[dict[str, Right]] = {"POST": Right.READ}

    @extend_schema(request=api_shapes.DaySignatureNewShape, responses={201: api_shapes.DayShape})
    def post(self, request: Request, day: date) -> Response:
        """Signs a day off, or reviews it as a second person. Never answered from memory: each try asks again."""
        sent = sent_in(request, api_shapes.DaySignatureNewShape)
        scope = scope_of(request)
        actions.day_sign(scope=scope, day=day, **sent)
        return Response(_day(day_book(scope.premises, day)), status=201)


def _answer(saved: actions.Saved) -> Response:
    record = Record.objects.with_details().get(pk=saved.record.pk)
    return Response(api_shapes.RecordShape(record).data, status=201 if saved.created else 200)


def _day(book: DayBook) -> dict[str, Any]:
    shaped = api_shapes.DayShape(
        {
            "day": book.day,
            "content": book.content,
            "content_sha256": book.content_sha256,
            "unanswered": book.unanswered,
            "signatures": book.signatures,
            "fingerprint": book.fingerprint,
        }
    )
    return dict(shaped.data)
