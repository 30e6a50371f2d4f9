"""The API of cleaning, chemicals and swabs."""

from typing import ClassVar
from uuid import UUID

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import generics
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from batches.hygiene import actions, queries
from batches.hygiene import api_shapes as shapes
from batches.hygiene.cleanliness import cleanliness_of
from batches.hygiene.environment import points_now, rotas_in_use
from batches.hygiene.models import Chemical, Cleaning, Swab
from haccp.premises.api_access import WRITES, Pages, scope_of, sent_in
from haccp.premises.api_once import IDEMPOTENCY, once
from haccp.premises.roles import Right

MANAGES: dict[str, Right] = {"POST": Right.MANAGE}


class Chemicals(APIView):
    rights: ClassVar = MANAGES

    @extend_schema(responses=shapes.ChemicalShape(many=True))
    def get(self, request: Request) -> Response:
        """The chemicals with their lots."""
        return Response(shapes.ChemicalShape(queries.chemicals_of(scope_of(request).premises), many=True).data)

    @extend_schema(request=shapes.ChemicalNewShape, responses={201: shapes.ChemicalShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request) -> Response:
        """A chemical by the name on its label."""
        sent = sent_in(request, shapes.ChemicalNewShape)
        row = actions.chemical_add(scope=scope_of(request), chemical_id=sent.pop("id"), **sent)
        return Response(shapes.ChemicalShape(row).data, status=201)


class ChemicalLots(APIView):
    rights: ClassVar = WRITES

    @extend_schema(request=shapes.ChemicalLotNewShape, responses={201: shapes.ChemicalLotShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """A can or drum was opened."""
        scope = scope_of(request)
        get_object_or_404(Chemical, pk=pk, premises=scope.premises)
        sent = sent_in(request, shapes.ChemicalLotNewShape)
        row = actions.chemical_lot_add(scope=scope, lot_id=sent.pop("id"), chemical_id=pk, **sent)
        return Response(shapes.ChemicalLotShape(row).data, status=201)


class Methods(APIView):
    @extend_schema(responses=shapes.MethodShape(many=True))
    def get(self, request: Request) -> Response:
        """How places are cleaned now, each by its own method."""
        found = queries.methods_in_use(scope_of(request).premises, timezone.now())
        return Response(shapes.MethodShape(found, many=True).data)


class PlacesClean(APIView):
    @extend_schema(responses=shapes.PlaceCleanShape(many=True))
    def get(self, request: Request) -> Response:
        """Of each place with a cleaning method: whether it is clean now, and why or why not."""
        premises = scope_of(request).premises
        return Response(shapes.PlaceCleanShape(cleanliness_of(premises, timezone.now()), many=True).data)


class LatestCleaned(Pages):
    ordering = ("-record__observed_at", "-pk")


class Cleanings(generics.ListAPIView[Cleaning]):
    """Cleanings, latest first, each with its record."""

    rights: ClassVar = WRITES
    serializer_class = shapes.CleaningShape
    pagination_class = LatestCleaned
    queryset = Cleaning.objects.none()

    def get_queryset(self) -> QuerySet[Cleaning]:
        return queries.cleanings_with_records(scope_of(self.request).premises)

    @extend_schema(
        request=shapes.CleaningNewShape,
        responses={201: shapes.CleaningShape, 200: shapes.CleaningShape},
        parameters=IDEMPOTENCY,
    )
    @once
    def post(self, request: Request) -> Response:
        """Saves a cleaning as the record of its method's check, with the lot of each chemical."""
        scope = scope_of(request)
        shape = shapes.CleaningNewShape(data=request.data)
        shape.is_valid(raise_exception=True)
        sent = shape.validated_data
        saved = actions.cleaning_record(
            scope=scope,
            record_id=sent["id"],
            method_id=sent["method"],
            entries=shape.typed(),
            observed_at=sent["observed_at"],
            lot_ids=sent["chemical_lots"],
            check_id=sent["check_id"],
            due_id=sent["due"],
            instrument_id=sent["instrument"],
            note=sent["note"],
            device_at=sent["device_at"],
        )
        row = queries.cleanings_with_records(scope.premises).get(pk=saved.record.pk)
        return Response(shapes.CleaningShape(row).data, status=201 if saved.created else 200)


class SwabPoints(APIView):
    rights: ClassVar = MANAGES

    @extend_schema(responses=shapes.PointNowShape(many=True))
    def get(self, request: Request) -> Response:
        """Where swabs are taken, which are due, and what a find asks for."""
        return Response(shapes.PointNowShape(points_now(scope_of(request).premises, timezone.now()), many=True).data)

    @extend_schema(request=shapes.SwabPointNewShape, responses={201: shapes.SwabPointShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request) -> Response:
        """A further point."""
        sent = sent_in(request, shapes.SwabPointNewShape)
        row = actions.swab_point_add(
            scope=scope_of(request), point_id=sent["id"], place_id=sent["place"], name=sent["name"], zone=sent["zone"]
        )
        return Response(shapes.SwabPointShape(row).data, status=201)


class Rotas(APIView):
    rights: ClassVar = MANAGES

    @extend_schema(responses=shapes.RotaShape(many=True))
    def get(self, request: Request) -> Response:
        """How often swabs are taken in each zone."""
        return Response(shapes.RotaShape(rotas_in_use(scope_of(request).premises), many=True).data)

    @extend_schema(request=shapes.RotaNewShape, responses={201: shapes.RotaShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request) -> Response:
        """Sets the rota of a zone; it takes the place of the earlier one."""
        sent = sent_in(request, shapes.RotaNewShape)
        row = actions.rota_set(scope=scope_of(request), rota_id=sent.pop("id"), **sent)
        return Response(shapes.RotaShape(row).data, status=201)


class LatestTaken(Pages):
    ordering = ("-taken_at", "-pk")


class Swabs(generics.ListAPIView[Swab]):
    """Swabs, latest first, with what was found."""

    rights: ClassVar = WRITES
    serializer_class = shapes.SwabShape
    pagination_class = LatestTaken
    queryset = Swab.objects.none()

    def get_queryset(self) -> QuerySet[Swab]:
        return queries.swabs_with_results(scope_of(self.request).premises)

    @extend_schema(request=shapes.SwabNewShape, responses={201: shapes.SwabShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request) -> Response:
        """A swab was taken."""
        sent = sent_in(request, shapes.SwabNewShape)
        scope = scope_of(request)
        row = actions.swab_take(
            scope=scope, swab_id=sent["id"], point_id=sent["point"], code=sent["code"], taken_at=sent["taken_at"]
        )
        return Response(shapes.SwabShape(queries.swabs_with_results(scope.premises).get(pk=row.pk)).data, status=201)


class SwabsSent(APIView):
    rights: ClassVar = WRITES

    @extend_schema(request=shapes.SwabsSentShape, responses={201: shapes.SwabShape(many=True)}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request) -> Response:
        """Swabs go to a laboratory: each becomes a sample, whose result is the swab's."""
        sent = sent_in(request, shapes.SwabsSentShape)
        scope = scope_of(request)
        rows = actions.swabs_send(scope=scope, swab_ids=sent.pop("swabs"), **sent)
        found = queries.swabs_with_results(scope.premises).filter(pk__in=[one.swab_id for one in rows])
        return Response(shapes.SwabShape(found.order_by("taken_at", "code"), many=True).data, status=201)


class SwabResults(APIView):
    rights: ClassVar = WRITES

    @extend_schema(request=shapes.SwabResultNewShape, responses={201: shapes.SwabResultShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request, pk: UUID) -> Response:
        """What was found on a swab that was not sent as a sample; a find opens a deviation."""
        scope = scope_of(request)
        get_object_or_404(Swab, pk=pk, point__place__premises=scope.premises)
        sent = sent_in(request, shapes.SwabResultNewShape)
        row = actions.swab_result_add(scope=scope, swab_id=pk, **sent)
        return Response(shapes.SwabResultShape(row).data, status=201)
