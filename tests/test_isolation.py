"""Every route × method of the running URL configuration, as nobody, as each role, and as the owner of another dairy.

Routes are found, not listed: a page or operation that is added is tried from its first day. A view that declares no
rule fails; so does a parameter that tests/objects.py cannot fill.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any
from urllib.parse import urlencode
from uuid import uuid4

import pytest
from django.conf import settings
from django.db import transaction
from django.http import HttpResponse
from django.shortcuts import resolve_url
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver
from rest_framework.views import APIView

from haccp.access.models import Passkey
from haccp.premises.actions import device_add, person_add
from haccp.premises.api_access import BelongsToPremises, right_for
from haccp.premises.models import Membership
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from tests.dairy import PASSWORD, open_dairy
from tests.furnished import LATER, furnished_dairy
from tests.objects import QUERIES, VALUES, Objects, kind_of

# For everybody: nothing of any dairy is in their answers.
PUBLIC = {
    "access:code",
    "access:invitation",
    "access:password_forgotten",
    "access:password_new",
    "access:passkey_sign_in",
    "access:passkey_sign_in_options",
    "access:password_sent",
    "access:visit",
    "api_root",
    "api_unknown",
    "health",
    "home",
    "notices:feed",
    "notices:service_worker",
    "premises:sign_in",
    "sign_in",
}
# For whoever is signed in, at a dairy or not.
SIGNED_IN = {"premises:sign_out", "premises:choose"}
PARAMETER = re.compile(r"<(?:\w+:)?(\w+)>")
WRITES = ("POST", "PUT", "PATCH", "DELETE")


@dataclass(frozen=True)
class Route:
    """pattern as the resolver has it, name with its namespace ("" for none), parameter names, and the view."""

    pattern: str
    name: str
    parameters: tuple[str, ...]
    view: Callable[..., HttpResponse]

    def __str__(self) -> str:
        return f"/{self.pattern} ({self.name or (self.api_view or self.view).__qualname__})"

    @property
    def api_view(self) -> type[APIView] | None:
        cls = getattr(self.view, "cls", None)
        return cls if isinstance(cls, type) and issubclass(cls, APIView) else None

    @property
    def is_api(self) -> bool:
        return self.pattern.startswith("api/")

    @property
    def methods(self) -> tuple[str, ...]:
        """Those that an API view has; pages take what a form sends."""
        cls = self.api_view
        return tuple(m for m in ("GET", *WRITES) if hasattr(cls, m.lower())) if cls else ("GET", "POST")

    @property
    def names_an_object(self) -> bool:
        return any(kind_of(self.pattern, parameter) not in VALUES for parameter in self.parameters)

    def right(self, method: str) -> Right | None:
        """The right that the view declares for a method."""
        if self.api_view:
            return right_for(self.api_view, method)
        return getattr(self.view, "needed_right_to_write" if method == "POST" else "needed_right", None)

    def address(self, objects: Objects) -> str:
        known = VALUES | dict(objects.ids)
        asked = urlencode({name: known[kind] for name, kind in QUERIES.get(self.pattern, {}).items()})
        filled = PARAMETER.sub(lambda found: known[kind_of(self.pattern, found[1])], self.pattern)
        return f"/{filled}{'?' if asked else ''}{asked}"


def _walk(patterns: list[Any], prefix: str = "", namespaces: tuple[str, ...] = ()) -> Iterator[Route]:
    for entry in patterns:
        here = prefix + str(entry.pattern)
        if isinstance(entry, URLResolver):
            inner = (*namespaces, entry.namespace) if entry.namespace else namespaces
            yield from _walk(entry.url_patterns, here, inner)
        elif isinstance(entry, URLPattern):
            name = ":".join((*namespaces, entry.name)) if entry.name else ""
            yield Route(here, name, tuple(entry.pattern.regex.groupindex), entry.callback)


ROUTES = tuple(_walk(get_resolver().url_patterns))
GUARDED = tuple(route for route in ROUTES if route.name not in PUBLIC | SIGNED_IN)


@dataclass(frozen=True)
class Answer:
    status_code: int
    location: str
    text: str


@dataclass
class Person:
    """Somebody who tries everything. Each try is undone before the next."""

    scope: Scope | None = None

    def __post_init__(self) -> None:
        self.token = ""
        self.session = ""
        if self.scope is not None:
            self.device_id = ""
            if self.scope.may(Right.BELONG):
                device, self.token = device_add(scope=self.scope, name="tablet")
                self.device_id = str(device.id)
            browser = Client()
            browser.force_login(self.scope.user)
            self.session = browser.cookies[settings.SESSION_COOKIE_NAME].value

    def tries(self, route: Route, method: str, objects: Objects) -> Answer:
        """A device speaks to the API, a browser to the pages."""
        client = Client(raise_request_exception=False)
        headers = {}
        if self.token and route.is_api:
            headers["Authorization"] = f"Token {self.token}"
        elif self.session:
            client.cookies[settings.SESSION_COOKIE_NAME] = self.session
        content = {"content_type": "application/json", "data": "{}"} if route.is_api and method != "GET" else {}
        with transaction.atomic():
            answer = client.generic(method, route.address(objects), headers=headers, **content)
            text = b"".join(answer.streaming_content) if answer.streaming else answer.content
            transaction.set_rollback(True)
        return Answer(answer.status_code, answer.headers.get("Location", ""), text.decode(errors="replace"))


@pytest.fixture(scope="module")
def furnished(
    django_db_setup: None, django_db_blocker: Any, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Objects]:
    """One furnished dairy for all that is tried here: no try leaves anything behind."""
    with furnished_dairy(django_db_blocker, tmp_path_factory.mktemp("files")) as objects:
        yield objects


@pytest.fixture
def objects(furnished: Objects, db: None) -> Objects:
    """What a test adds goes with its own transaction, inside the module's."""
    return furnished


def _right_at(objects: Objects, role: str) -> Scope:
    owner = objects.dairy.owner
    if role == Membership.Role.OWNER:
        return owner
    return Scope(person_add(scope=owner, name=f"A {role}", email=f"{role}@here.example", password=PASSWORD, role=role))


def _goes_to_sign_in(answer: Answer) -> bool:
    return answer.status_code == 302 and answer.location.startswith(resolve_url(settings.LOGIN_URL))


def _every_try(person: Person, objects: Objects) -> Iterator[tuple[Route, str, Answer]]:
    for route in GUARDED:
        for method in route.methods:
            yield route, method, person.tries(route, method, objects)


def test_there_are_routes_to_try() -> None:
    assert {"/api/v1/records/", "/health/"} <= {f"/{route.pattern}" for route in ROUTES}
    assert len(GUARDED) > 20


def test_every_view_declares_its_rule() -> None:
    without = []
    for route in GUARDED:
        if route.api_view is None:
            declared = isinstance(route.right("GET"), Right)
        else:
            guarded = any(issubclass(one, BelongsToPremises) for one in route.api_view.permission_classes)
            declared = guarded and all(route.right(method) is not None for method in route.methods)
        if not declared:
            without.append(str(route))

    assert not without, (
        f"These views declare no rule: {', '.join(without)}. Decorate a page with scope.needs(Right...), name a right "
        "for each writing method of an API view in its `rights`, or add the route's name to PUBLIC here."
    )


def test_every_parameter_can_be_filled(objects: Objects) -> None:
    for route in ROUTES:
        assert "<" not in route.address(objects), route


def test_what_is_public_or_for_the_signed_in_is_there() -> None:
    names = {route.name for route in ROUTES}

    assert names >= PUBLIC | SIGNED_IN


@pytest.mark.parametrize("name", sorted(PUBLIC | SIGNED_IN))
def test_what_everybody_may_open_shows_nothing_of_a_dairy(objects: Objects, name: str) -> None:
    nobody = Person()
    for route in (route for route in ROUTES if route.name == name):
        for method in route.methods:
            answer = nobody.tries(route, method, objects)
            assert answer.status_code < 500, (route, method)
            assert not [mark for mark in objects.marks() if mark in answer.text]
            if name == "premises:choose":
                assert _goes_to_sign_in(answer)


def test_nobody_is_sent_to_sign_in(objects: Objects) -> None:
    wrong = [
        f"{method} {route}: {answer.status_code}"
        for route, method, answer in _every_try(Person(), objects)
        # A form is answered 401 with what was typed, which a redirect would lose.
        if not (answer.status_code == 401 if route.is_api or method == "POST" else _goes_to_sign_in(answer))
    ]
    assert not wrong


@pytest.mark.parametrize("role", Membership.Role.values)
def test_each_role_gets_what_its_rights_include_and_no_more(objects: Objects, role: str) -> None:
    scope = _right_at(objects, role)
    person = Person(scope)
    # Their own device, of which only the owner ends another's; and their own passkey, which nobody else removes.
    passkey = Passkey.objects.create(
        user=scope.user, name="stick", credential_id=uuid4().bytes, public_key=b"k", added_at=LATER
    )
    own = replace(
        objects,
        ids={**objects.ids, "device": person.device_id or objects.ids["device"], "passkey": str(passkey.pk)},
    )
    wrong = []
    for route, method, answer in _every_try(person, own):
        right = route.right(method)
        assert right is not None, route
        status = answer.status_code
        refused = status in (401, 403) or _goes_to_sign_in(answer)
        missing = status == 404 and method == "GET"
        if (refused or missing or status >= 500) if scope.may(right) else status != 403:
            wrong.append(f"{method} {route}, which needs {right}: {status}")
    assert not wrong


def test_a_stranger_finds_nothing(objects: Objects) -> None:
    stranger = Person(open_dairy(name="Mill Lane Dairy").owner)
    wrong = []
    for route, method, answer in _every_try(stranger, objects):
        seen = [mark for mark in objects.marks() if mark in answer.text]
        # The address itself may be repeated in a refusal.
        seen = [mark for mark in seen if mark not in route.address(objects)]
        expected = (404, 405) if route.names_an_object else range(200, 500)
        if answer.status_code not in expected or answer.status_code == 403 or seen:
            wrong.append(f"{method} {route}: {answer.status_code} {seen}")
    assert not wrong


def test_a_leaver_is_nobody(objects: Objects) -> None:
    leaver = Person(_right_at(objects, Membership.Role.MAKER))
    assert leaver.scope is not None
    Membership.objects.filter(pk=leaver.scope.membership.pk).update(left_at=LATER)
    wrong = [
        f"{method} {route}: {answer.status_code}"
        for route, method, answer in _every_try(leaver, objects)
        # Signed in still, but at no dairy: sent to choose one.
        if answer.status_code != (401 if route.is_api else 302)
    ]
    assert not wrong


def test_a_view_without_a_rule_would_be_found() -> None:
    """The walk itself is tried: on a page and an operation that forgot their rule."""

    def forgotten(request: Any) -> HttpResponse:
        return HttpResponse()

    class Open(APIView):
        permission_classes = ()

        def get(self, request: Any) -> None: ...

    class Unsaid(APIView):
        permission_classes = (BelongsToPremises,)

        def post(self, request: Any) -> None: ...

    assert Route("x/", "x", (), forgotten).right("GET") is None
    assert Route("x/", "x", (), Unsaid.as_view()).right("POST") is None
    open_view = Route("x/", "x", (), Open.as_view()).api_view
    assert open_view is not None
    assert BelongsToPremises not in open_view.permission_classes
    with pytest.raises(LookupError, match="Make one such object in furnish"):
        kind_of("new/<uuid:thing>/", "thing")
