"""The API of the trace: where a lot came from and where it went, with the mass balance of every lot on the way."""

from uuid import UUID

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from batches.tracing.api_shapes import LotTraceShape
from batches.tracing.graph import sent_of, trace_of
from haccp.lots.queries import lots_of
from haccp.premises.api_access import scope_of


class LotTrace(APIView):
    @extend_schema(responses=LotTraceShape)
    def get(self, request: Request, pk: UUID) -> Response:
        """One step back, one step forward, and all the way, of any lot: milk, ingredient, batch, by-product.

        Cheese moved between premises of the producer is followed to those that the person belongs to as well.
        """
        scope = scope_of(request)
        found = trace_of(scope.premises, get_object_or_404(lots_of(scope.premises), pk=pk), reader=scope.user)
        shape = LotTraceShape(
            {
                "lot": found.lot,
                "back": found.back,
                "forward": found.forward,
                "ancestors": found.ancestors,
                "descendants": found.descendants,
                "links": [
                    {"from_lot": parent, "into_lot": child, "amount": amount, "unit": unit}
                    for parent, child, amount, unit in found.links
                ],
                "balances": [found.balances[lot.pk] for lot in found.lots],
                "sent": sent_of(found.lots),
                "came_as": found.came_as,
            }
        )
        return Response(shape.data)
