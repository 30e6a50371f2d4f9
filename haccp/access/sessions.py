"""A session ends some hours after it began, and sooner when nobody uses it: a tablet on a sill signs for nobody."""

from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode, urlsplit

from django.conf import settings
from django.contrib.auth import logout
from django.contrib.auth.signals import user_logged_in
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone

from haccp.access.models import Passkey

# Whether pages offer a passkey in the place of the password. The server does not rely on it.
HAS_KEY = "has_passkey"
SEEN_KEY = "seen_at"
NOTED = 60  # times in the span of an unused session: it is not written at every request


class IdleMiddleware:
    """Ends a session that was not used for SESSION_IDLE_SECONDS. The page that was open is returned to after signing in
    again; what was typed there waits in the browser's tab (static/js/typed_values.js)."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.user.is_authenticated and SEEN_KEY in request.session:
            now = timezone.now().timestamp()
            unused_s = now - request.session[SEEN_KEY]
            if unused_s > settings.SESSION_IDLE_SECONDS:
                logout(request)
                if not request.path.startswith("/api/"):
                    return redirect(
                        f"{reverse('premises:sign_in')}?{urlencode({'next': _back(request), 'ended': 'idle'})}"
                    )
            # A clock that was set back counts as use, so that nobody stays signed in for the length of the error.
            elif abs(unused_s) > settings.SESSION_IDLE_SECONDS / NOTED:
                request.session[SEEN_KEY] = now
        return self.get_response(request)


def begun(sender: object, request: HttpRequest, user: Any, **_: object) -> None:
    """At each sign-in, by whatever means."""
    request.session[SEEN_KEY] = timezone.now().timestamp()
    request.session[HAS_KEY] = Passkey.objects.filter(user=user).exists()


def register() -> None:
    user_logged_in.connect(begun, dispatch_uid="access.sessions.begun")


def _back(request: HttpRequest) -> str:
    """The page that was open: of a form that was sent, the page it stood on."""
    if request.method == "GET":
        return request.get_full_path()
    came = urlsplit(request.headers.get("Referer", ""))
    return came.path if came.netloc == request.get_host() else ""
