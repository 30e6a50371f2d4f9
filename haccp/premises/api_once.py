"""Idempotency-Key: the same request sent again gets the answer it got the first time, and nothing is done twice."""

import hashlib
import json
from collections.abc import Callable, Mapping
from functools import wraps
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.db import IntegrityError, transaction
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from haccp.premises.api_access import scope_of
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import AnsweredRequest

HEADER = "Idempotency-Key"
REPLAYED = "Idempotent-Replay"
LONGEST_KEY = 120
IDEMPOTENCY = [
    OpenApiParameter(
        HEADER,
        OpenApiTypes.STR,
        OpenApiParameter.HEADER,
        description="One for each thing sent; sent again with the same content it gives the first answer again",
    )
]

Handler = Callable[..., Response]


def once(handler: Handler) -> Handler:
    """Decorates a writing method of an API view. Without the header the method runs as it is: ids made by the client
    keep a record from being saved twice all the same.

    The answer is kept in the transaction that does the work. Refusals are not kept: nothing was done, so the request
    may be mended and sent again under the same key.
    """

    @wraps(handler)
    def answered_once(view: Any, request: Request, *args: Any, **kwargs: Any) -> Response:
        key = request.headers.get(HEADER, "")
        if not key:
            return handler(view, request, *args, **kwargs)
        if len(key) > LONGEST_KEY:
            raise ActionError(f"An {HEADER} has at most {LONGEST_KEY} characters; a UUID does well.")
        digest = _digest(request)
        earlier = _earlier(request, key, digest)
        if earlier is not None:
            return earlier
        try:
            with transaction.atomic():
                response = handler(view, request, *args, **kwargs)
                _keep(request, key, digest, response)
                return response
        except (IntegrityError, ActionError):
            # The twin of this request may have been a moment faster; what it was answered is then this one's answer
            # too, be it that the row is there already or that the action refuses to be done twice.
            twin = _earlier(request, key, digest)
            if twin is None:
                raise
            return twin

    return answered_once


def _earlier(request: Request, key: str, digest: str) -> Response | None:
    kept = AnsweredRequest.objects.filter(membership=scope_of(request).membership, key=key).first()
    if kept is None:
        return None
    if kept.request_sha256 != digest:
        raise Conflict(f"This {HEADER} was used for another request; make a new one for each thing you send.")
    return Response(kept.body, status=kept.status, headers={REPLAYED: "true"})


def _keep(request: Request, key: str, digest: str, response: Response) -> None:
    # Through the renderer, so that what is kept is what was sent: ids and times as text.
    body = json.loads(json.dumps(response.data, default=str))
    AnsweredRequest.objects.create(
        membership=scope_of(request).membership,
        key=key,
        request_sha256=digest,
        status=response.status_code,
        body=body,
    )


def _digest(request: Request) -> str:
    hashed = hashlib.sha256(f"{request.method} {request.path}\n".encode())
    sent = request.data
    # A body that is no object is refused by the shape; it must not fail here first.
    parts = dict(sent) if isinstance(sent, Mapping) else {"": json.dumps(sent, sort_keys=True)}
    for name, value in sorted(parts.items()):
        hashed.update(f"{name}=".encode())
        for part in value if isinstance(value, list) else [value]:
            if isinstance(part, UploadedFile):
                for chunk in part.chunks():
                    hashed.update(chunk)
                part.seek(0)
            else:
                hashed.update(json.dumps(part, sort_keys=True, default=str).encode())
        hashed.update(b"\n")
    return hashed.hexdigest()
