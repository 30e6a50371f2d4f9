"""When the database cannot be reached, is restarting, or its disk is full: an answer that says so and loses nothing.

The page carries what was typed back in a form that sends it again, under the ids that it was made with, so that what
did arrive is not recorded twice. Passwords, PINs and files are never in it: they are asked for anew.
"""

import errno
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from django.core.exceptions import SuspiciousOperation
from django.core.files.uploadhandler import UploadFileException
from django.db import Error as DatabaseError
from django.http import HttpRequest, HttpResponse, UnreadablePostError
from django.http.multipartparser import MultiPartParserError
from django.middleware.csrf import CsrfViewMiddleware, get_token
from django.template.loader import render_to_string

from haccp.config.context import SERVICE_NAME
from haccp.premises.refusals import SECRET, typed_values

RETRY_AFTER_S = 20


class Cause(StrEnum):
    GONE = "gone"
    FULL = "full"
    BUSY = "busy"


# By class or whole code (PostgreSQL, appendix A "Error codes"): 08 connection, 57P operator intervention such as a
# shutdown, 58 system error; 53100 disk full, 53200 out of memory, 53300 too many connections; 40001 and 40P01 two that
# waited for one another, 55P03 a lock that was not to be had; 25006 a server that only reads, as during a fail-over.
_BY_SQLSTATE = (
    ("53100", Cause.FULL),
    ("53", Cause.BUSY),
    ("40001", Cause.BUSY),
    ("40P01", Cause.BUSY),
    ("55P03", Cause.BUSY),
    ("08", Cause.GONE),
    ("57P", Cause.GONE),
    ("58", Cause.GONE),
    ("25006", Cause.GONE),
)
# Primary result codes of SQLite (sqlite.org/rescode.html): the low eight bits of an extended one.
_BY_SQLITE_CODE = {
    5: Cause.BUSY,  # SQLITE_BUSY
    6: Cause.BUSY,  # SQLITE_LOCKED
    8: Cause.GONE,  # SQLITE_READONLY
    10: Cause.GONE,  # SQLITE_IOERR
    13: Cause.FULL,  # SQLITE_FULL
    14: Cause.GONE,  # SQLITE_CANTOPEN
}
_DISK_FULL = frozenset({errno.ENOSPC, errno.EDQUOT})
# What the drivers call the loss of a connection, which has no code of the server's.
_LOST = frozenset({"OperationalError", "InterfaceError"})


def cause_of(error: BaseException | None) -> Cause | None:
    """Why nothing could be stored for now; None for every other error, such as a mistake in a query."""
    for found in _chain(error):
        if isinstance(found, OSError) and found.errno in _DISK_FULL:
            return Cause.FULL
        if isinstance(found, DatabaseError):
            return _cause_of_driver(found.__cause__)
    return None


def _chain(error: BaseException | None) -> Iterator[BaseException]:
    seen: set[int] = set()
    while error is not None and id(error) not in seen:
        seen.add(id(error))
        yield error
        error = error.__cause__ or error.__context__


def _cause_of_driver(error: BaseException | None) -> Cause | None:
    sqlite_code = getattr(error, "sqlite_errorcode", None)
    if sqlite_code is not None:
        return _BY_SQLITE_CODE.get(sqlite_code & 0xFF)
    sqlstate = getattr(error, "sqlstate", None)
    if sqlstate:
        return next((cause for code, cause in _BY_SQLSTATE if sqlstate.startswith(code)), None)
    is_driver = type(error).__module__.partition(".")[0] == "psycopg"
    return Cause.GONE if is_driver and type(error).__name__ in _LOST else None


@dataclass(frozen=True, slots=True)
class Words:
    heading: str
    why: str
    remedy: str


WORDS = {
    Cause.GONE: Words(
        "The records cannot be reached just now",
        "The database does not answer: it is being restarted, or the connection to it was lost.",
        "Wait half a minute and try again. If it lasts, tell whoever looks after this service that its database is "
        "not running.",
    ),
    Cause.FULL: Words(
        "There is no room left to save anything",
        "The disk of the service is full. What was saved before is safe and can be read.",
        "Tell whoever looks after this service: room must be made on the disk of the database or of its files. "
        "Then try again. Until then, write on paper.",
    ),
    Cause.BUSY: Words(
        "Too much is going on at once",
        "The database is busy with other work, or two people changed the same thing in the same moment.",
        "Wait a moment and try again.",
    ),
}
NOT_SURE = (
    "It may not have been saved. Send it again as it is: it has the same number, so that it is never there twice."
)


def problem(cause: Cause) -> tuple[str, str]:
    """Code and message for programs."""
    words = WORDS[cause]
    again = "Send the same request again under the same id and Idempotency-Key: it is never done twice."
    return {Cause.GONE: "unavailable", Cause.FULL: "disk_full", Cause.BUSY: "busy"}[cause], f"{words.why} {again}"


def page(request: HttpRequest, cause: Cause) -> HttpResponse:
    """503, drawn without the database: no session, no person, nothing that has to be asked for."""
    is_ours = request.method == "POST" and _came_from_our_form(request)
    context = {
        "service_name": SERVICE_NAME,
        "words": WORDS[cause],
        "not_sure": NOT_SURE,
        "was_sent": request.method == "POST",
        "typed": _readable(request),
        "again": _Again(request) if is_ours else None,
        "csrf_token": get_token(request),
        "address": request.get_full_path(),
        "unanswered": True,
    }
    answer = HttpResponse(render_to_string("unavailable.html", context), status=503)
    answer["Retry-After"] = str(RETRY_AFTER_S)
    answer["Cache-Control"] = "no-store"
    return answer


class _Again:
    """The form that sends the same once more. fields: as they came; secrets, files: names that are asked for anew."""

    def __init__(self, request: HttpRequest) -> None:
        names = [name for name in request.POST if name != "csrfmiddlewaretoken"]
        self.fields = [
            (name, value) for name in names if not SECRET.search(name) for value in request.POST.getlist(name)
        ]
        self.secrets = [(name, _secret_in_words(name)) for name in names if SECRET.search(name)]
        self.files = [
            (name, ", ".join(str(one.name) for one in found), len(found) > 1) for name, found in request.FILES.lists()
        ]


def _secret_in_words(name: str) -> str:
    return "Code" if "code" in name else "PIN" if "pin" in name.lower() else "Password"


class _Check(CsrfViewMiddleware):
    def _reject(self, request: HttpRequest, reason: str) -> Any:
        return reason


def _came_from_our_form(request: HttpRequest) -> bool:
    """The failure may have come before the form's token was looked at: what another site sent must get no form here
    that a person could send on with a good token."""
    try:
        check = _Check(lambda request: HttpResponse())
        check.process_request(request)
        return check.process_view(request, page, (), {}) is None
    except _UNREADABLE:
        return False


_UNREADABLE = (OSError, UnreadablePostError, MultiPartParserError, SuspiciousOperation, UploadFileException)


def _readable(request: HttpRequest) -> list[tuple[str, str]]:
    try:
        return typed_values(request)
    except _UNREADABLE:
        return []
