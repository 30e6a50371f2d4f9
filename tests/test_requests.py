"""What every answer carries, and what becomes of a request that no view could take."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
import time_machine
from django.conf import settings as django_settings
from django.core.exceptions import SuspiciousOperation
from django.http import HttpRequest, HttpResponse
from django.test import Client, RequestFactory
from django.utils import timezone

from haccp.config import errors
from haccp.config.content_security import POLICY
from haccp.premises.errors import Conflict, NotAllowed
from haccp.premises.middleware import SESSION_KEY, ScopeMiddleware
from haccp.premises.models import Membership
from tests.api.device import Device
from tests.dairy import Dairy, open_dairy

NOW = datetime(2026, 7, 1, 9, 0, tzinfo=UTC)


@pytest.fixture
def dairy(db: None) -> Iterator[Dairy]:
    with time_machine.travel(NOW, tick=False):
        yield open_dairy(time_zone="America/New_York")


# --- the policy ---


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("/sign-in/", 200),
        ("/devices/", 302),
        ("/no/such/page/", 404),
        ("/health/", 200),
        ("/sign-in", 301),
        ("/static/css/base.css", 200),
        ("/api/v1/today/", 401),
        ("/api/nothing/", 404),
    ],
)
def test_every_answer_carries_the_policy(path: str, status: int, settings: Any) -> None:
    settings.WHITENOISE_USE_FINDERS = True
    answer = Client().get(path)

    assert answer.status_code == status
    assert answer.headers["Content-Security-Policy"] == POLICY
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    b"".join(answer.streaming_content) if answer.streaming else answer.content


@pytest.mark.django_db
def test_the_way_to_https_carries_the_policy_too(settings: Any) -> None:
    settings.SECURE_SSL_REDIRECT = True
    answer = Client().get("/health/")

    assert answer.status_code == 301
    assert answer.headers["Content-Security-Policy"] == POLICY


@pytest.mark.django_db
def test_a_form_without_its_token_is_refused_with_the_policy() -> None:
    answer = Client(enforce_csrf_checks=True).post("/sign-in/", {"username": "a@b.example"})

    assert answer.status_code == 403
    assert answer.headers["Content-Security-Policy"] == POLICY


def test_the_policy_allows_nothing_inline_and_nothing_from_elsewhere() -> None:
    # CSP level 3, section 6: script-src and style-src fall back to default-src.
    directives = dict(part.strip().split(" ", 1) for part in POLICY.split(";"))

    assert directives["default-src"] == "'self'"
    assert not {"script-src", "style-src", "connect-src"} & set(directives)
    assert "unsafe" not in POLICY
    assert "http" not in POLICY
    assert {directives[name] for name in ("object-src", "base-uri", "frame-ancestors")} == {"'none'"}
    assert directives["form-action"] == "'self'"


# --- the form's token ---


@pytest.mark.django_db
def test_what_was_typed_is_shown_back_but_no_secret() -> None:
    answer = Client(enforce_csrf_checks=True).post(
        "/sign-in/",
        {
            "username": "milo@weir.example",
            "summary": "The <b>door</b> stood open.",
            "lots": ["WT260310", "WT260311"],
            "password": "tall reeds",
            "new_password1": "tall reeds 2",
            "passphrase": "tall reeds 3",
            "pin": "4711",
            "device_token": "abcd",
            "csrfmiddlewaretoken": "old",
            "empty": "",
        },
    )
    page = answer.content.decode()

    assert answer.status_code == 403
    for typed in ("milo@weir.example", "The &lt;b&gt;door&lt;/b&gt; stood open.", "WT260310", "WT260311"):
        assert typed in page
    for secret in ("tall reeds", "4711", "abcd"):
        assert secret not in page


# --- scope ---


def _through_the_middleware(request: Any) -> list[Any]:
    seen: list[Any] = []

    def view(request: Any) -> HttpResponse:
        seen.extend([request.scope, timezone.get_current_timezone_name()])
        return HttpResponse()

    ScopeMiddleware(view)(request)
    return seen


def _request(user: Any, chosen: str | None = None) -> HttpRequest:
    request = RequestFactory().get("/")
    request.user = user
    request.session = {SESSION_KEY: chosen} if chosen else {}  # type: ignore[assignment]
    return request


def test_a_member_of_one_dairy_is_there_and_in_its_time(dairy: Dairy) -> None:
    scope, zone = _through_the_middleware(_request(dairy.maker.user))

    assert scope.premises == dairy.maker.premises
    assert zone == "America/New_York"
    assert timezone.get_current_timezone_name() == "UTC"


def test_a_member_of_two_dairies_is_at_neither_until_one_is_chosen(dairy: Dairy) -> None:
    other = open_dairy(name="Mill Lane Dairy")
    here = dairy.maker.membership
    there = Membership.objects.create(user=dairy.maker.user, premises=other.owner.premises, role="helper")

    assert _through_the_middleware(_request(dairy.maker.user)) == [None, "UTC"]
    chosen, _ = _through_the_middleware(_request(dairy.maker.user, str(there.pk)))
    assert (chosen.premises, chosen.membership.role) == (other.owner.premises, "helper")

    # A choice that is somebody else's membership, or one that has ended, is none.
    assert _through_the_middleware(_request(dairy.maker.user, str(other.owner.membership.pk)))[0] is None
    Membership.objects.filter(pk=there.pk).update(left_at=NOW + timedelta(hours=1))
    scope, _ = _through_the_middleware(_request(dairy.maker.user, str(there.pk)))
    assert scope.membership == here


def test_a_person_who_was_suspended_is_signed_out(dairy: Dairy) -> None:
    browser = Client()
    browser.force_login(dairy.maker.user)
    assert browser.get("/api/v1/dairy/").status_code == 200
    dairy.maker.user.is_active = False
    dairy.maker.user.save()

    assert browser.get("/api/v1/dairy/").status_code == 401
    assert browser.get("/devices/").status_code == 302


def test_a_refused_right_becomes_a_page_and_other_errors_do_not(dairy: Dairy) -> None:
    middleware = ScopeMiddleware(lambda request: HttpResponse())
    request: Any = _request(dairy.helper.user)
    request.scope = dairy.helper
    request.resolver_match = None
    page = middleware.process_exception(request, NotAllowed("Ask the owner."))

    assert page is not None
    assert page.status_code == 403
    assert "Ask the owner." in page.content.decode()
    assert middleware.process_exception(request, Conflict("Somebody was first.")) is None


def test_health_asks_for_nobody_and_one_query(db: None, django_assert_num_queries: Any) -> None:
    with django_assert_num_queries(1):
        assert Client().get("/health/").json() == {"alive": True}


# --- requests that cannot be read ---


def _api_request() -> HttpRequest:
    return RequestFactory().get("/api/v1/today/")


@pytest.mark.parametrize(
    ("answer", "status", "code"),
    [
        (lambda: errors.bad_request(_api_request(), SuspiciousOperation()), 400, "bad_request"),
        (lambda: errors.not_allowed(_api_request(), PermissionError()), 403, "not_allowed"),
        (lambda: errors.not_found(_api_request(), LookupError()), 404, "not_found"),
        (lambda: errors.server_error(_api_request()), 500, "server_error"),
        (lambda: errors.csrf_failure(_api_request()), 403, "csrf"),
    ],
)
def test_a_device_never_has_to_read_a_page(answer: Any, status: int, code: str) -> None:
    import json

    given = answer()
    assert given.status_code == status
    assert given.headers["Content-Type"] == "application/json"
    assert json.loads(given.content)["error"]["code"] == code


def test_a_strange_host_is_refused_in_json(dairy: Dairy) -> None:
    answer = Client(raise_request_exception=False).get("/api/v1/records/", headers={"Host": "elsewhere.example"})

    assert answer.status_code == 400
    assert answer.json()["error"]["code"] == "bad_request"


def test_a_form_of_too_many_fields_is_refused_in_json(dairy: Dairy, settings: Any) -> None:
    settings.DATA_UPLOAD_MAX_NUMBER_FIELDS = 5
    device = Device(dairy.maker)
    answer = device.client.post(
        "/api/v1/recorder-files/", {f"field{number}": "x" for number in range(9)}, format="multipart"
    )

    assert answer.status_code == 400
    assert answer.json()["error"]["code"] == "bad_request"


def test_a_form_field_past_the_limit_is_refused_in_json(dairy: Dairy, settings: Any) -> None:
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 1000
    device = Device(dairy.maker)
    answer = device.client.post("/api/v1/recorder-files/", {"id": "x" * 2000}, format="multipart")

    assert answer.status_code == 413
    assert answer.json()["error"]["code"] == "too_large"


def test_recorder_files_have_a_limit_by_default() -> None:
    assert 0 < django_settings.RECORDER_FILE_MAX_BYTES < 200 * 1024 * 1024
    assert django_settings.FILE_UPLOAD_HANDLERS[0] == "haccp.premises.uploads.RefuseOversized"
