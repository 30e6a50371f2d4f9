"""Visitor links: making, ending, and opening one."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth import login
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from haccp.access import queries
from haccp.access.actions import visitors as actions
from haccp.access.forms import VisitorForm
from haccp.premises.errors import ActionError
from haccp.premises.middleware import SESSION_KEY
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs

LONGEST_SESSION_S = 12 * 3600


@needs(Right.MANAGE)
@never_cache
def visitors(request: ScopedRequest) -> HttpResponse:
    """Those whose link works, and a new one, whose link is shown this once."""
    form = VisitorForm(request.POST or None)
    context: dict[str, object] = {}
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            link, token = actions.visitor_admit(scope=request.scope, **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            address = request.build_absolute_uri(reverse("access:visit", args=[token]))
            context = {"made": link.membership, "link": address}
            form = VisitorForm()
    context["visitors"] = queries.visitors_of(request.scope.premises, timezone.now())
    return render_form(request, "access/visitors.html", context, form=form, status=status)


@needs(Right.MANAGE)
@require_POST
def visitor_end(request: ScopedRequest, membership_id: UUID) -> HttpResponse:
    if queries.person_here(request.scope.premises, membership_id) is None:
        raise Http404
    try:
        ended = actions.visitor_end(scope=request.scope, membership_id=membership_id)
    except ActionError as error:
        messages.error(request, error.message)
    else:
        messages.success(request, f"The link of {ended.user.name} no longer works.")
    return redirect("access:visitors")


@never_cache
def visit(request: HttpRequest, token: str) -> HttpResponse:
    """Opens a visitor's session on a press of a button, so that a preview of the link by a mail program opens none."""
    if request.method != "POST":
        return render(request, "access/visit.html")
    membership = actions.visitor_of(token)
    if membership is None or membership.until is None:
        return render(request, "access/visit_over.html", status=404)
    login(request, membership.user, backend="django.contrib.auth.backends.ModelBackend")
    request.session[SESSION_KEY] = str(membership.id)
    left = int((membership.until - timezone.now()).total_seconds())
    request.session.set_expiry(max(1, min(left, LONGEST_SESSION_S)))
    return redirect("home")
