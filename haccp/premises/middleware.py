"""Puts the scope (who, where) on each request and turns refused actions into pages."""

from collections.abc import Callable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from haccp.premises import queries
from haccp.premises.errors import NotAllowed
from haccp.premises.scope import Scope

SESSION_KEY = "membership"
BY_PIN_KEY = "by_pin"


class ScopeMiddleware:
    """request.scope is a Scope, or None for somebody who is signed out or has no premises chosen."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: Any) -> HttpResponse:
        request.scope = self._scope(request)
        if request.scope is None:
            return self.get_response(request)
        with timezone.override(request.scope.premises.zone):
            return self.get_response(request)

    def process_exception(self, request: Any, error: Exception) -> HttpResponse | None:
        if isinstance(error, NotAllowed) and not request.path.startswith("/api/"):
            return render(request, "not_allowed.html", {"reason": error.message}, status=403)
        return None

    @staticmethod
    def _scope(request: Any) -> Scope | None:
        if not request.user.is_authenticated:
            return None
        by_pin = bool(request.session.get(BY_PIN_KEY))
        membership = queries.membership_in_use(request.user, request.session.get(SESSION_KEY), only_there=by_pin)
        return Scope(membership, by_pin=by_pin) if membership else None
