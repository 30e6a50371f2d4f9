"""What a person does for the safety of their own sign-in."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters

from haccp.access.actions import second_factor
from haccp.access.actions.passkeys import passkeys_of
from haccp.access.forms import CodeForm, PasswordForm
from haccp.access.models import Pin
from haccp.access.views.sign_in import PasswordChange
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs


@needs(Right.BELONG)
def security(request: ScopedRequest) -> HttpResponse:
    user = request.scope.user
    context: dict[str, object] = {
        "has_code": second_factor.is_on(user),
        "has_pin": Pin.objects.filter(user=user).exists(),
    }
    context["passkeys"] = passkeys_of(user)
    return render(request, "access/security.html", context)


@needs(Right.BELONG)
@sensitive_post_parameters()
def password_change(request: ScopedRequest) -> Any:
    return PasswordChange.as_view()(request)


@needs(Right.BELONG)
@never_cache
def authenticator(request: ScopedRequest) -> HttpResponse:
    """Shows the secret to be scanned; it counts once the person has typed a code that it gave."""
    user = request.scope.user
    form = CodeForm(request.POST or None)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            spare = second_factor.turn_on(scope=request.scope, code=form.cleaned_data["one_time_code"])
        except ActionError as error:
            status = refuse(form, error)
        else:
            return render(request, "access/spare_codes.html", {"codes": spare})
    if second_factor.is_on(user):
        return redirect("access:security")
    context: dict[str, object] = {"offered": second_factor.offered(user)}
    return render_form(request, "access/authenticator.html", context, form=form, status=status)


@needs(Right.BELONG)
@sensitive_post_parameters()
def authenticator_off(request: ScopedRequest) -> HttpResponse:
    form = PasswordForm(request.POST or None)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            second_factor.turn_off(scope=request.scope, password=form.cleaned_data["password"])
        except ActionError as error:
            status = refuse(form, error)
        else:
            messages.success(request, "The authenticator is off. Only your password is asked from now on.")
            return redirect("access:security")
    return render_form(request, "access/authenticator_off.html", {}, form=form, status=status)
