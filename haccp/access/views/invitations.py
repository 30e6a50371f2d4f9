"""Inviting, and the page that an invitation's link opens."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth import login
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from haccp.access import mail
from haccp.access.actions import invitations as actions
from haccp.access.forms import InvitationForm, NewPersonForm
from haccp.access.models import Invitation
from haccp.premises.errors import ActionError, NotAllowed
from haccp.premises.middleware import BY_PIN_KEY, SESSION_KEY
from haccp.premises.models import Membership, User
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.MANAGE)
@never_cache
def invite(request: ScopedRequest) -> HttpResponse:
    """Sends an invitation and shows its link this once, for an owner who would rather hand it over."""
    asked = {key: request.GET[key] for key in ("email", "name", "role") if key in request.GET}
    form = InvitationForm(request.POST or None, initial=asked)
    context: dict[str, object] = {"sends_mail": mail.is_configured()}
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            invitation, token = actions.invitation_send(scope=request.scope, **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            link = request.build_absolute_uri(reverse("access:invitation", args=[token]))
            letter: dict[str, object] = {"invitation": invitation, "link": link}
            sent = mail.send(to=[invitation.email], template="access/invitation_letter.txt", context=letter)
            context |= {"invitation": invitation, "link": link, "sent": sent}
            form = InvitationForm()
    return render_form(request, "access/invite.html", context, form=form, status=status)


@needs(Right.MANAGE)
@require_POST
def invitation_withdraw(request: ScopedRequest, invitation_id: UUID) -> HttpResponse:
    if not Invitation.objects.filter(pk=invitation_id, premises=request.scope.premises).exists():
        raise Http404
    try:
        withdrawn = actions.invitation_withdraw(scope=request.scope, invitation_id=invitation_id)
    except ActionError as error:
        messages.error(request, error.message)
    else:
        messages.success(request, f"The invitation to {withdrawn.email} no longer works.")
    return redirect("access:people")


@never_cache
def invitation(request: HttpRequest, token: str) -> HttpResponse:
    """For whoever holds the link: what is offered, and how to take it up."""
    found = actions.open_invitation(token, timezone.now())
    if found is None:
        return render(request, "access/invitation_over.html", status=404)
    signed_in = request.user if isinstance(request.user, User) else None
    if signed_in is not None and request.session.get(BY_PIN_KEY):
        raise NotAllowed("You took over this device by your PIN: sign in with your password to do this.")
    knows_us = User.objects.filter(email=found.email).exists()
    form = NewPersonForm(request.POST if request.method == "POST" else None, initial={"name": found.name})
    context: dict[str, object] = {
        "invitation": found,
        "is_for_me": signed_in is not None and signed_in.email == found.email,
        "signed_in": signed_in,
        "knows_us": knows_us,
    }
    status = 0
    if request.method == "POST" and (signed_in is not None or form.is_valid()):
        try:
            membership = _accept(token, signed_in, form)
        except ActionError as error:
            if signed_in is not None:
                messages.error(request, error.message)
                return redirect("access:invitation", token)
            status = refuse(form, error)
        else:
            return _welcome(request, membership, is_new=signed_in is None)
    elif signed_in is not None or knows_us:
        form = NewPersonForm()
    return render_form(request, "access/invitation.html", context, form=form, status=status)


def _accept(token: str, signed_in: User | None, form: NewPersonForm) -> Membership:
    if signed_in is not None:
        return actions.invitation_accept(token=token, user=signed_in)
    given: dict[str, Any] = form.cleaned_data
    return actions.invitation_accept(token=token, name=given["name"], password=given["password"])


def _welcome(request: HttpRequest, membership: Membership, *, is_new: bool) -> HttpResponse:
    if is_new:
        login(request, membership.user, backend="django.contrib.auth.backends.ModelBackend")
    request.session[SESSION_KEY] = str(membership.id)
    messages.success(request, f"Welcome: you are {membership.get_role_display()} at {membership.premises.name}.")
    return redirect("home")
