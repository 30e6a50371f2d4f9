"""Setting one's PIN, and handing a shared device over."""

from django.contrib import messages
from django.contrib.auth import login
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.debug import sensitive_post_parameters

from haccp.access import queries
from haccp.access.actions import pins as actions
from haccp.access.forms import HandOverForm, PinForm
from haccp.premises.errors import ActionError
from haccp.premises.middleware import BY_PIN_KEY, SESSION_KEY
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.BELONG)
@sensitive_post_parameters()
def pin(request: ScopedRequest) -> HttpResponse:
    form = PinForm(request.POST or None)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            actions.pin_set(scope=request.scope, **form.cleaned_data)
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, "Your PIN is set. At a shared device, press “Hand over” and choose your name.")
            return redirect("access:pin")
    return render_form(request, "access/pin.html", {}, form=form, status=status)


@needs(Right.RECORD)
@sensitive_post_parameters()
def hand_over(request: ScopedRequest) -> HttpResponse:
    """Another person takes over the device: from then on records are theirs. Signing asks for their password."""
    people = queries.people_with_pin(request.scope.premises)
    form = HandOverForm(request.POST or None)
    form.fields["person"].choices = [(str(one.id), one.user.name) for one in people]  # type: ignore[attr-defined]
    status = 0
    if request.method == "POST" and form.is_valid():
        taking = next(one for one in people if str(one.id) == form.cleaned_data["person"])
        try:
            actions.take_over(scope=request.scope, membership=taking, pin=form.cleaned_data["pin"])
        except ActionError as error:
            status = refuse(form, error)
        else:
            login(request, taking.user, backend="django.contrib.auth.backends.ModelBackend")
            request.session[SESSION_KEY] = str(taking.id)
            request.session[BY_PIN_KEY] = True
            messages.success(request, f"{taking.user.name} records from now on.")
            return redirect("home")
    return render_form(request, "access/hand_over.html", {"people": people}, form=form, status=status)
