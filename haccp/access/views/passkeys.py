"""Passkeys: the person's list, adding and removing one, signing in with one, and proving one before a signature."""

import json
from typing import Any
from urllib.parse import urlsplit
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST
from webauthn import base64url_to_bytes
from webauthn.helpers import bytes_to_base64url

from haccp.access.actions import passkeys
from haccp.access.forms import PasskeyForm, PasswordForm
from haccp.access.models import Passkey
from haccp.access.sessions import HAS_KEY
from haccp.premises.errors import ActionError
from haccp.premises.refusals import refuse, render_form
from haccp.premises.roles import Right
from haccp.premises.scope import ScopedRequest, needs
from haccp.premises.views.people import SignIn

CHALLENGE_KEY = "passkey_challenge"
CHALLENGE_S = 300


@needs(Right.BELONG)
@never_cache
@sensitive_post_parameters()
def passkey_add(request: ScopedRequest) -> HttpResponse:
    """The name and the password first; then the browser makes the key pair and sends its answer to passkey_made."""
    form = PasskeyForm(request.POST or None)
    context: dict[str, object] = {}
    status = 0
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        try:
            asked = passkeys.passkey_offer(scope=request.scope, site=_site(request), password=typed["password"])
        except ActionError as error:
            status = refuse(form, error)
        else:
            _remember(request, "add", asked.challenge)
            context = {"options": json.dumps(asked.options), "name": typed["name"]}
    return render_form(request, "access/passkey_add.html", context, form=form, status=status)


@needs(Right.BELONG)
@require_POST
def passkey_made(request: ScopedRequest) -> JsonResponse:
    try:
        sent = _sent(request)
        made = passkeys.passkey_add(
            scope=request.scope,
            site=_site(request),
            name=str(sent.get("name", "")),
            challenge=_challenge(request, "add"),
            answer=sent.get("answer", {}),
        )
    except ActionError as error:
        return _refused(error)
    request.session[HAS_KEY] = True
    messages.success(
        request, f"The passkey “{made.name}” is there. It signs you in, and signs in the password's place."
    )
    return JsonResponse({"next": reverse("access:security")})


@needs(Right.BELONG)
@sensitive_post_parameters()
def passkey_remove(request: ScopedRequest, passkey_id: UUID) -> HttpResponse:
    passkey = get_object_or_404(Passkey, pk=passkey_id, user=request.scope.user)
    form = PasswordForm(request.POST or None)
    status = 0
    if request.method == "POST" and form.is_valid():
        try:
            passkeys.passkey_remove(scope=request.scope, passkey_id=passkey_id, password=form.cleaned_data["password"])
        except ActionError as error:
            status = refuse(form, error)
        else:
            request.session[HAS_KEY] = bool(passkeys.passkeys_of(request.scope.user))
            messages.success(request, f"The passkey “{passkey.name}” is removed.")
            return redirect("access:security")
    return render_form(request, "access/passkey_remove.html", {"passkey": passkey}, form=form, status=status)


@needs(Right.BELONG)
@require_POST
def confirm_options(request: ScopedRequest) -> JsonResponse:
    """What the browser is asked before a signature."""
    asked = passkeys.passkey_ask(site=_site(request), user=request.scope.user)
    _remember(request, "confirm", asked.challenge)
    return JsonResponse(asked.options)


@needs(Right.BELONG)
@require_POST
def confirm(request: ScopedRequest) -> JsonResponse:
    """The word that goes into the form in the password's place."""
    try:
        word = passkeys.passkey_confirm(
            scope=request.scope, site=_site(request), challenge=_challenge(request, "confirm"), answer=_sent(request)
        )
    except ActionError as error:
        return _refused(error)
    return JsonResponse({"word": word})


@require_POST
@never_cache
def sign_in_options(request: HttpRequest) -> JsonResponse:
    asked = passkeys.passkey_ask(site=_site(request))
    _remember(request, "sign in", asked.challenge)
    return JsonResponse(asked.options)


@require_POST
@never_cache
def sign_in(request: HttpRequest) -> JsonResponse:
    """Signed in at once: the device has verified the person itself, so that no code is asked besides."""
    try:
        user = passkeys.passkey_prove(
            site=_site(request), challenge=_challenge(request, "sign in"), answer=_sent(request)
        )
    except ActionError as error:
        return _refused(error)
    login(request, user, backend="django.contrib.auth.backends.ModelBackend")
    return JsonResponse({"next": SignIn(request=request).get_success_url()})


def _site(request: HttpRequest) -> passkeys.Site:
    """As SITE_URL says, where it does; else as the request came, from a host that is allowed."""
    if settings.SITE_URL and urlsplit(settings.SITE_URL).hostname == request.get_host().partition(":")[0]:
        return passkeys.Site(settings.SITE_URL)
    return passkeys.Site(f"{request.scheme}://{request.get_host()}")


def _remember(request: HttpRequest, purpose: str, challenge: bytes) -> None:
    kept = {"for": purpose, "challenge": bytes_to_base64url(challenge), "at": timezone.now().timestamp()}
    request.session[CHALLENGE_KEY] = kept


def _challenge(request: HttpRequest, purpose: str) -> bytes:
    """Good once, for what it was asked for, for five minutes."""
    kept = request.session.pop(CHALLENGE_KEY, None)
    if not kept or kept["for"] != purpose or timezone.now().timestamp() - kept["at"] > CHALLENGE_S:
        raise ActionError("That took too long. Begin again.")
    return base64url_to_bytes(kept["challenge"])


def _sent(request: HttpRequest) -> dict[str, Any]:
    try:
        sent = json.loads(request.body)
    except ValueError:
        sent = None
    if not isinstance(sent, dict):
        raise ActionError("That is not what a browser sends. Begin again.")
    return sent


def _refused(error: ActionError) -> JsonResponse:
    return JsonResponse({"error": error.message}, status=422)
