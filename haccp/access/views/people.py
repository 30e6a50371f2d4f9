"""Who works here: the list, a person's role, leaving, and further premises."""

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from haccp.access import queries
from haccp.access.actions import people as actions
from haccp.access.forms import PremisesForm, RoleForm
from haccp.premises.actions import premises_add as premises_add_to_producer
from haccp.premises.errors import ActionError
from haccp.premises.middleware import SESSION_KEY
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.READ)
def people(request: ScopedRequest) -> HttpResponse:
    """Everybody sees who works here and may do what; addresses and invitations are for the owner."""
    premises = request.scope.premises
    manages = request.scope.may(Right.MANAGE)
    here = queries.people_of(premises)
    context = {
        "people": here,
        "password_is_enough": queries.password_is_enough(here) if manages else [],
        "former": queries.former_roles(premises),
        "manages": manages,
        "invitations": queries.waiting_invitations(premises, timezone.now()) if manages else [],
    }
    return render(request, "access/people.html", context)


@needs(Right.MANAGE)
def person(request: ScopedRequest, membership_id: UUID) -> HttpResponse:
    """Another role for a person."""
    membership = queries.person_here(request.scope.premises, membership_id)
    if membership is None or membership.left_at is not None:
        raise Http404
    form = RoleForm(request.POST or None, initial={"role": membership.role})
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            changed = actions.role_change(
                scope=request.scope, membership_id=membership_id, role=form.cleaned_data["role"]
            )
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, f"{changed.user.name} is {changed.get_role_display()} here from now on.")
            return redirect("access:people")
    return render_form(request, "access/person.html", {"membership": membership}, form=form, status=status)


@needs(Right.MANAGE)
@require_POST
def person_left(request: ScopedRequest, membership_id: UUID) -> HttpResponse:
    if queries.person_here(request.scope.premises, membership_id) is None:
        raise Http404
    try:
        left = actions.person_leave(scope=request.scope, membership_id=membership_id)
    except ActionError as error:
        messages.error(request, error.message)
    else:
        messages.success(request, f"{left.user.name} has left. Everything they recorded and signed stays.")
    return redirect("access:people")


@needs(Right.BELONG)
def leave(request: ScopedRequest) -> HttpResponse:
    """A person's own leaving."""
    if request.method == "POST" and request.POST.get("sure"):
        try:
            actions.person_leave(scope=request.scope, membership_id=request.scope.membership.id)
        except ActionError as error:
            messages.error(request, error.message)
        else:
            request.session.pop(SESSION_KEY, None)
            messages.success(request, f"You have left {request.scope.premises.name}.")
            return redirect("premises:choose")
    return render(request, "access/leave.html")


@needs(Right.MANAGE)
def premises_add(request: ScopedRequest) -> HttpResponse:
    here = request.scope.premises
    form = PremisesForm(request.POST or None, initial={"time_zone": here.time_zone, "jurisdiction": here.jurisdiction})
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            membership = premises_add_to_producer(scope=request.scope, **form.cleaned_data).membership
        except ActionError as error:
            status = refuse(form, error)
        else:
            request.session[SESSION_KEY] = str(membership.id)
            messages.success(request, f"{membership.premises.name} is open, and you are its owner. You are there now.")
            return redirect("access:people")
    return render_form(request, "access/premises_add.html", {"producer": here.producer}, form=form, status=status)
