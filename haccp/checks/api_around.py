"""The API of what stands around the rounds: photographs, closed periods, who is away, whose check it is, and one reason
for many missed checks."""

from typing import Any, ClassVar
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import generics
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from haccp.checks import actions
from haccp.checks import api_around_shapes as shapes
from haccp.checks.free_days import free_days_listed
from haccp.checks.models import Absence, ClosedPeriod
from haccp.plan.models import Check
from haccp.premises.api_access import WRITES, Pages, scope_of, sent_in
from haccp.premises.api_once import IDEMPOTENCY, once
from haccp.premises.errors import ActionError
from haccp.premises.models import Membership
from haccp.premises.roles import Right
from haccp.premises.uploads import read_upload

MANAGES: dict[str, Right] = {"POST": Right.MANAGE}


class LatestFirst(Pages):
    ordering = ("-first", "-pk")


class Photos(APIView):
    rights: ClassVar = WRITES
    parser_classes = (MultiPartParser,)

    @extend_schema(request=shapes.PhotoNewShape, responses={201: shapes.PhotoShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request) -> Response:
        """Keeps a photograph; a record then names its id as the entry of a measure of the kind `photo`."""
        data, _ = read_upload(
            request._request,
            request.FILES.get("file"),
            missing="Send the picture as `file`.",
            remedy="Send a smaller one.",
        )
        sent = sent_in(request, shapes.PhotoNewShape)
        stored = actions.photo_store(scope=scope_of(request), photo_id=sent["id"], data=data, field="file")
        return Response(shapes.PhotoShape(stored).data, status=201)


class ReasonsTogether(APIView):
    rights: ClassVar = WRITES

    @extend_schema(request=shapes.ReasonsNewShape, responses={201: shapes.ReasonsShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request) -> Response:
        """One reason for many missed checks, recorded for each; those that have one keep it and are left out."""
        sent = sent_in(request, shapes.ReasonsNewShape)
        given = actions.missed_reasons_give(scope=scope_of(request), missed_ids=sent["missed"], text=sent["text"])
        return Response(shapes.ReasonsShape({"missed": [one.missed_id for one in given]}).data, status=201)


class ClosedPeriods(generics.ListAPIView[ClosedPeriod]):
    """Periods without milk or without making, the latest first."""

    rights: ClassVar = MANAGES
    serializer_class = shapes.ClosedShape
    pagination_class = LatestFirst
    queryset = ClosedPeriod.objects.none()

    def get_queryset(self) -> QuerySet[ClosedPeriod]:
        return ClosedPeriod.objects.filter(premises=scope_of(self.request).premises).select_related("reopening")

    @extend_schema(request=shapes.ClosedNewShape, responses={201: shapes.ClosedShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request) -> Response:
        """Says that the dairy will be without milk, or will not make, from tomorrow at the earliest."""
        sent = sent_in(request, shapes.ClosedNewShape)
        period = actions.closed_period_add(scope=scope_of(request), period_id=sent.pop("id"), **sent)
        return Response(shapes.ClosedShape(period).data, status=201)


class Reopenings(APIView):
    rights: ClassVar = MANAGES

    @extend_schema(request=shapes.OnShape, responses={201: shapes.ClosedShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """The dairy starts again before the period's last day."""
        get_object_or_404(ClosedPeriod, pk=pk, premises=scope_of(request).premises)
        sent = sent_in(request, shapes.OnShape)
        opened = actions.reopening_add(scope=scope_of(request), period_id=pk, on=sent["on"])
        return Response(shapes.ClosedShape(opened.period).data, status=201)


class FreeDays(APIView):
    rights: ClassVar = MANAGES

    @extend_schema(responses=shapes.FreeDayShape(many=True))
    def get(self, request: Request) -> Response:
        """The days to come that do not count as working days, weekends aside."""
        premises = scope_of(request).premises
        listed = free_days_listed(premises, since=premises.local_date(timezone.now()))
        return Response(shapes.FreeDayShape(listed, many=True).data)

    @extend_schema(
        request=shapes.FreeDaysNewShape, responses={201: shapes.FreeDayShape(many=True)}, parameters=IDEMPOTENCY
    )
    @once
    def post(self, request: Request) -> Response:
        """Says of days from today on whether they are free; what was said last of a day counts."""
        sent = sent_in(request, shapes.FreeDaysNewShape)
        days = [actions.DaySaid(**one) for one in sent["days"]]
        said = actions.free_days_say(scope=scope_of(request), days=days)
        return Response(shapes.FreeDayShape(said, many=True).data, status=201)


class Absences(generics.ListAPIView[Absence]):
    """Who is away and who stands in, the latest first."""

    rights: ClassVar = WRITES
    serializer_class = shapes.AbsenceShape
    pagination_class = LatestFirst
    queryset = Absence.objects.none()

    def get_queryset(self) -> QuerySet[Absence]:
        return Absence.objects.filter(membership__premises=scope_of(self.request).premises).select_related(
            "back", "membership", "stand_in"
        )

    @extend_schema(request=shapes.AbsenceNewShape, responses={201: shapes.AbsenceShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request) -> Response:
        """Somebody is away and hands over: one's own absence, or anybody's for whoever manages."""
        sent = sent_in(request, shapes.AbsenceNewShape)
        arguments: dict[str, Any] = {
            "absence_id": sent["id"],
            "membership_id": _works_here(request, sent["person"], "person"),
            "stand_in_id": _works_here(request, sent["stand_in"], "stand_in"),
            **{name: sent[name] for name in ("first", "last", "note")},
        }
        absence = actions.absence_add(scope=scope_of(request), **arguments)
        return Response(shapes.AbsenceShape(absence).data, status=201)


class Returns(APIView):
    rights: ClassVar = WRITES

    @extend_schema(request=shapes.OnShape, responses={201: shapes.AbsenceShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """Back before the last day."""
        get_object_or_404(Absence, pk=pk, membership__premises=scope_of(request).premises)
        back = actions.absence_end(scope=scope_of(request), absence_id=pk, on=sent_in(request, shapes.OnShape)["on"])
        return Response(shapes.AbsenceShape(back.absence).data, status=201)


class Keepers(APIView):
    rights: ClassVar = MANAGES

    @extend_schema(request=shapes.KeeperNewShape, responses={201: shapes.KeeperShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """From now on this person does the check; null: whoever is there."""
        get_object_or_404(Check, pk=pk, revision__premises=scope_of(request).premises)
        sent = sent_in(request, shapes.KeeperNewShape)
        person = _works_here(request, sent["person"], "person")
        said = actions.keeper_set(scope=scope_of(request), keeper_id=sent["id"], check_id=pk, membership_id=person)
        return Response(shapes.KeeperShape(said).data, status=201)


def _works_here(request: Request, person: UUID | None, field: str) -> UUID | None:
    """The membership of a person whom `dairy/` lists."""
    if person is None:
        return None
    here = Membership.objects.filter(premises=scope_of(request).premises, user=person, left_at__isnull=True)
    found = here.values_list("pk", flat=True).first()
    if found is None:
        raise ActionError("Nobody of that id works here; read `dairy/` for those who do.", field=field)
    return found
