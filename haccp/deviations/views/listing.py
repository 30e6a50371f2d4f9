"""The list of deviations, open ones first."""

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render

from haccp.deviations.queries import deviations_listed
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs

PER_PAGE = 50
STATES = (("", "All"), ("open", "Open"), ("closed", "Closed"))


@needs(Right.READ)
def deviation_list(request: ScopedRequest) -> HttpResponse:
    asked = request.GET.get("state", "")
    state = asked if asked in {"open", "closed"} else ""
    page = Paginator(deviations_listed(request.scope.premises, state), PER_PAGE).get_page(request.GET.get("page"))
    context = {"page": page, "state": state, "states": STATES, "may_record": request.scope.may(Right.RECORD)}
    return render(request, "deviations/list.html", context)
