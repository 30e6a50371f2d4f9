"""Signing in with a second factor, changing and recovering a password."""

from typing import Any
from urllib.parse import urlencode

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login, views
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse, reverse_lazy
from django.utils import timezone
from django.views.decorators.cache import never_cache

from haccp.access import mail
from haccp.access.actions import second_factor
from haccp.access.forms import CodeForm
from haccp.premises.errors import ActionError
from haccp.premises.models import User
from haccp.premises.refusals import REFUSED, refuse, render_form
from haccp.premises.views.people import SignIn

WAITING_KEY = "waiting_for_code"
WAITING_S = 300


class SignInWithCode(SignIn):
    """The password first; whoever has set up an authenticator is signed in only after its code."""

    def form_valid(self, form: Any) -> HttpResponse:
        user = form.get_user()
        if not second_factor.is_on(user):
            return super().form_valid(form)
        self.request.session.cycle_key()
        self.request.session[WAITING_KEY] = {"user": str(user.pk), "since": timezone.now().timestamp()}
        return redirect(f"{reverse('access:code')}?{urlencode({'next': self.get_success_url()})}")


sign_in = SignInWithCode.as_view()


@never_cache
def code(request: HttpRequest) -> HttpResponse:
    """The code of an authenticator, within five minutes of the password."""
    waiting = request.session.get(WAITING_KEY)
    if not waiting or timezone.now().timestamp() - waiting["since"] > WAITING_S:
        request.session.pop(WAITING_KEY, None)
        return redirect("premises:sign_in")
    form = CodeForm(request.POST or None)
    status = 0
    if request.method == "POST" and form.is_valid():
        user = User.objects.get(pk=waiting["user"])
        try:
            second_factor.prove(user=user, code=form.cleaned_data["one_time_code"])
        except ActionError as error:
            status = refuse(form, error)
        else:
            del request.session[WAITING_KEY]
            login(request, user, backend="django.contrib.auth.backends.ModelBackend")
            return redirect(SignIn(request=request).get_success_url())
    context: dict[str, object] = {"next": request.POST.get("next") or request.GET.get("next", "")}
    return render_form(request, "access/code.html", context, form=form, status=status)


def address_typed(request: HttpRequest, credentials: dict[str, Any] | None = None) -> str:
    """Whose failures are counted: the same person however the address is typed."""
    return str((credentials or request.POST).get("username", "")).strip().lower()[:254]


def locked_out(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
    """After too many wrong passwords; what was typed as the address stays."""
    context = {"username": request.POST.get("username", ""), "minutes": settings.LOCK_OUT_MINUTES}
    return render(request, "access/locked_out.html", context, status=429)


class _Refusing:
    """A form that was refused is answered 422, as everywhere."""

    def form_invalid(self, form: Any) -> HttpResponse:
        response: HttpResponse = super().form_invalid(form)  # type: ignore[misc]
        response.status_code = REFUSED
        return response


class PasswordChange(_Refusing, views.PasswordChangeView):
    template_name = "access/password_change.html"
    success_url = reverse_lazy("access:security")

    def form_valid(self, form: Any) -> HttpResponse:
        messages.success(self.request, "Your password is changed. Everywhere else you are signed out.")
        return super().form_valid(form)


class PasswordForgotten(_Refusing, views.PasswordResetView):
    template_name = "access/password_forgotten.html"
    email_template_name = "access/recovery_letter.txt"
    subject_template_name = "access/recovery_subject.txt"
    success_url = reverse_lazy("access:password_sent")
    extra_context = {"sends_mail": mail.is_configured}


class PasswordNew(_Refusing, views.PasswordResetConfirmView):
    template_name = "access/password_new.html"
    success_url = reverse_lazy("premises:sign_in")

    def form_valid(self, form: Any) -> HttpResponse:
        messages.success(self.request, "Your password is changed. Sign in with it.")
        return super().form_valid(form)


password_forgotten = PasswordForgotten.as_view()
password_sent = views.PasswordResetDoneView.as_view(template_name="access/password_sent.html")
password_new = PasswordNew.as_view()
