"""The API of visit packs: ask for one, follow its making, fetch the file."""

from typing import ClassVar
from uuid import UUID

from django.db.models import QuerySet
from django.http import HttpResponseBase
from django.shortcuts import get_object_or_404
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import generics, status
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from haccp.premises.api_access import Pages, WhateverIsAccepted, scope_of, sent_in
from haccp.premises.api_once import IDEMPOTENCY, once
from haccp.premises.roles import Right
from haccp.reports import actions, api_shapes, queries
from haccp.reports.gather.choice import Choice
from haccp.reports.models import VisitPack
from haccp.reports.views.packs import file_answer, site_of


class LatestFirst(Pages):
    ordering = ("-requested_at", "-pk")


class Packs(generics.ListAPIView[VisitPack]):
    """Visit packs, the one asked for last first."""

    # Whoever may read the records may have them printed.
    rights: ClassVar = {"POST": Right.READ}
    serializer_class = api_shapes.PackShape
    pagination_class = LatestFirst
    queryset = VisitPack.objects.none()

    def get_queryset(self) -> QuerySet[VisitPack]:
        return queries.packs_of(scope_of(self.request).premises)

    @extend_schema(request=api_shapes.PackNewShape, responses={201: api_shapes.PackShape}, parameters=IDEMPOTENCY)
    @once
    def post(self, request: Request) -> Response:
        """Asks for a pack of a period; it is made in the background. Follow `progress` until it is finished."""
        sent = sent_in(request, api_shapes.PackNewShape)
        pack = actions.pack_request(
            scope=scope_of(request),
            pack_id=sent["id"],
            period_from=sent["period_from"],
            period_to=sent["period_to"],
            choice=Choice(
                products=tuple(sent["products"]),
                batches=tuple(sent["batches"]),
                point=sent["point"],
                deviation=sent["deviation"],
                recall=sent["recall"],
            ),
            site=site_of(request),
            language=sent["language"],
        )
        return Response(api_shapes.PackShape(pack).data, status=status.HTTP_201_CREATED)


class PackDetail(generics.RetrieveAPIView[VisitPack]):
    """One pack with how far its making has come, and what it holds once it is finished."""

    serializer_class = api_shapes.PackShape
    queryset = VisitPack.objects.none()

    def get_queryset(self) -> QuerySet[VisitPack]:
        return queries.packs_of(scope_of(self.request).premises)


class PackFile(APIView):
    content_negotiation_class = WhateverIsAccepted

    @extend_schema(responses={(200, "application/pdf"): OpenApiTypes.BINARY})
    def get(self, request: Request, pk: UUID) -> HttpResponseBase:
        """The finished pack; 404 while there is none."""
        pack = get_object_or_404(queries.packs_of(scope_of(request).premises), pk=pk)
        return file_answer(pack, as_attachment=True)
