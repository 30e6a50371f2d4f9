"""Who may speak to the API: a device with its token, or a person signed in to the site."""

import hashlib
from collections.abc import Iterable
from functools import reduce
from typing import TYPE_CHECKING, Any

from django.core.exceptions import ValidationError
from django.utils import timezone
from rest_framework import authentication, exceptions, pagination, permissions, serializers
from rest_framework.negotiation import DefaultContentNegotiation
from rest_framework.request import Request

from haccp.premises.models import DeviceToken
from haccp.premises.roles import Right, may
from haccp.premises.scope import Scope

if TYPE_CHECKING:
    # Its class body reads the settings that name this module.
    from rest_framework.views import APIView

TOKEN_PREFIX = "Token"  # noqa: S105  (the scheme's name)
LAST_USED_STEP_S = 300


def hash_token(token: str) -> str:
    """Tokens carry 256 random bits, so a plain digest is enough to keep."""
    return hashlib.sha256(token.encode()).hexdigest()


class DeviceTokenAuthentication(authentication.BaseAuthentication):
    """`Authorization: Token …`; sets request.auth to the device and request.scope to its person and premises."""

    def authenticate(self, request: Request) -> tuple[Any, Any] | None:
        scheme, _, token = request.headers.get("Authorization", "").partition(" ")
        if scheme != TOKEN_PREFIX or not token:
            return None
        device = (
            DeviceToken.objects.select_related(
                "membership__user", "membership__premises", "membership__premises__producer"
            )
            .filter(token_sha256=hash_token(token.strip()), revoked_at__isnull=True)
            .first()
        )
        if device is None or not may(device.membership, Right.READ) or not device.membership.user.is_active:
            raise exceptions.AuthenticationFailed("This device's token is not known or was revoked. Make a new one.")
        self._note_use(device)
        request._request.scope = Scope(device.membership)  # type: ignore[attr-defined]
        return device.membership.user, device

    def authenticate_header(self, request: Request) -> str:
        return TOKEN_PREFIX

    @staticmethod
    def _note_use(device: DeviceToken) -> None:
        """At most every few minutes: a write per request would cost more than the note is worth."""
        now = timezone.now()
        if device.last_used_at is None or (now - device.last_used_at).total_seconds() > LAST_USED_STEP_S:
            DeviceToken.objects.filter(pk=device.pk).update(last_used_at=now)


class SignedInAuthentication(authentication.SessionAuthentication):
    """The site's own pages; CSRF is enforced as everywhere."""

    def authenticate(self, request: Request) -> tuple[Any, Any] | None:
        if getattr(request._request, "scope", None) is None:
            return None
        return super().authenticate(request)


class BelongsToPremises(permissions.BasePermission):
    """A scope, and the right that the view names for the method: `rights = {"POST": Right.RECORD}`.

    Reading needs READ where nothing is named. A write that no view names a right for is refused to everybody.
    """

    message = "Your role here does not include this; ask the owner of the dairy."

    def has_permission(self, request: Request, view: "APIView") -> bool:
        scope: Scope | None = getattr(request._request, "scope", None)
        if scope is None or request.user is None:
            return False
        right = right_for(view, request.method or "")
        return right is not None and scope.may(right)


def right_for(view: Any, method: str) -> Right | None:
    """The right that an API view asks for a method; None for a write that it has but has not declared."""
    rights: dict[str, Right] = getattr(view, "rights", {})
    undeclared_write = method not in permissions.SAFE_METHODS and hasattr(view, method.lower())
    return rights.get(method, None if undeclared_write else Right.READ)


def scope_of(request: Request) -> Scope:
    """The scope of an API request that BelongsToPremises has let through."""
    scope: Scope = request._request.scope  # type: ignore[attr-defined]
    return scope


# What a view that people write to asks of them; who may read may read.
WRITES: dict[str, Right] = {"POST": Right.RECORD}


def sent_in(request: Request, shape: type[serializers.Serializer[Any]]) -> dict[str, Any]:
    """What the body says by that shape; a body that does not follow it is refused with a sentence for each field."""
    read = shape(data=request.data)
    read.is_valid(raise_exception=True)
    return dict(read.validated_data)


class WhateverIsAccepted(DefaultContentNegotiation):
    """For an operation that answers with a file: a refusal of it is JSON, whichever of the two the client named."""

    def select_renderer(
        self, request: Request, renderers: Iterable[Any], format_suffix: str | None = None
    ) -> tuple[Any, str] | None:
        first = next(iter(renderers))
        return first, first.media_type


class Pages(pagination.CursorPagination):
    """Cursor pages: stable while records are added."""

    page_size = 50
    page_size_query_param = "page_size"
    max_page_size = 500
    ordering: str | tuple[str, ...] = "-pk"

    def paginate_queryset(self, queryset: Any, request: Request, view: Any = None) -> list[Any] | None:
        """A cursor that was made up names a position that no column can hold."""
        try:
            return super().paginate_queryset(queryset, request, view)
        except (ValidationError, ValueError, OverflowError):
            raise exceptions.NotFound(self.invalid_cursor_message) from None

    def _get_position_from_instance(self, instance: Any, ordering: Any) -> str:
        """The library reads the row's own attributes only; lists here are ordered by those of the lot too."""
        return str(reduce(getattr, ordering[0].lstrip("-").split("__"), instance))
