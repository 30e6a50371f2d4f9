"""Signing in and out, choosing a dairy, and what belongs to the person."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.contrib.auth.views import LoginView, LogoutView
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from haccp.premises import actions, queries
from haccp.premises.errors import ActionError
from haccp.premises.forms import DeviceForm, PreferencesForm, SignInForm
from haccp.premises.middleware import BY_PIN_KEY, SESSION_KEY
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs
from haccp.premises.views.onward import next_page


class SignIn(LoginView):
    template_name = "premises/sign_in.html"
    form_class = SignInForm
    redirect_authenticated_user = True

    def form_invalid(self, form: Any) -> HttpResponse:
        response = super().form_invalid(form)
        response.status_code = 422
        return response


sign_in = SignIn.as_view()
sign_out = LogoutView.as_view()


@login_required
def choose(request: HttpRequest) -> HttpResponse:
    """Chooses the dairy that this session is about."""
    assert request.user.is_authenticated
    memberships = list(queries.memberships_of(request.user))
    if request.session.get(BY_PIN_KEY):
        # Four digits on the tablet of one dairy open no other one.
        scope = getattr(request, "scope", None)
        memberships = [one for one in memberships if scope is not None and one.premises_id == scope.premises.id]
    if request.method == "POST":
        chosen = next((one for one in memberships if str(one.id) == request.POST.get("membership")), None)
        if chosen is not None:
            request.session[SESSION_KEY] = str(chosen.id)
            return redirect(next_page(request, otherwise="checks:today"))
        messages.error(request, "You have no role at that dairy any more. Choose one of these.")
    context = {"memberships": memberships, "next": request.POST.get("next") or request.GET.get("next", "")}
    return render(request, "premises/choose.html", context)


@needs(Right.BELONG)
def preferences(request: ScopedRequest) -> HttpResponse:
    """The units in which this person reads."""
    user = request.scope.user
    kept = {name: getattr(user, name) for name in PreferencesForm.base_fields}
    form = PreferencesForm(request.POST or None, initial=kept)
    if request.method == "POST" and form.is_valid():
        actions.preferences_set(scope=request.scope, **form.cleaned_data)
        messages.success(request, "From now on you read in these units. What is stored stays as it was typed.")
        return redirect("premises:preferences")
    return render_form(request, "premises/preferences.html", {}, form=form)


@needs(Right.BELONG)
@never_cache
def devices(request: ScopedRequest) -> HttpResponse:
    """This person's devices; the owner sees everybody's. A new token is shown on this answer and never again."""
    form = DeviceForm(request.POST or None)
    context: dict[str, object] = {}
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            device, token = actions.device_add(scope=request.scope, name=form.cleaned_data["name"])
        except ActionError as error:
            status = refuse(form, error)
        else:
            context = {"new_device": device, "token": token}
            form = DeviceForm()
    context["devices"] = queries.devices_of(request.scope.membership, everybody=request.scope.may(Right.MANAGE))
    return render_form(request, "premises/devices.html", context, form=form, status=status)


@needs(Right.BELONG)
@require_POST
def device_revoke(request: ScopedRequest, device_id: UUID) -> HttpResponse:
    device = queries.device_of(request.scope.premises, device_id)
    if device is None:
        raise Http404
    actions.device_revoke(scope=request.scope, device_id=device.id)
    messages.success(request, f"{device.name} can no longer sign in.")
    return redirect("premises:devices")
