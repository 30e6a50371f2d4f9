"""What is to be checked of a batch before it is released."""

from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import render

from haccp.checks.before_release import checks_before_release
from haccp.lots.models import Lot
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
def before_release(request: ScopedRequest, lot_id: UUID) -> HttpResponse:
    lot = Lot.objects.for_premises(request.scope.premises).batches().filter(pk=lot_id).first()
    if lot is None:
        raise Http404
    context = {"lot": lot, "checks": checks_before_release([lot]), "can_record": request.scope.may(Right.RECORD)}
    return render(request, "checks/before_release.html", context)
