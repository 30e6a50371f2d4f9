"""The OpenAPI document: complete, true, and kept to by every answer that schemathesis can provoke."""

import json
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
import schemathesis
from django.core.handlers.wsgi import WSGIHandler
from django.core.management import call_command
from django.core.signals import request_finished, request_started
from django.db import close_old_connections, transaction
from django.urls import get_resolver
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from schemathesis.checks import load_all_checks, not_a_server_error
from schemathesis.generation import GenerationMode
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from haccp.premises.actions import person_add
from haccp.premises.models import Membership
from haccp.premises.scope import Scope
from tests.api.device import Device
from tests.dairy import PASSWORD
from tests.furnished import furnished_dairy
from tests.objects import VALUES, Objects, kind_of

CHECKS = [not_a_server_error, status_code_conformance, content_type_conformance, response_schema_conformance]
EXAMPLES = 4
# Name in a body -> kind of object, so that what is sent sometimes names things that are there.
NAMED = {
    "check_id": "check",
    "due": "due",
    "lot": "batch",
    "trace": "trace",
    "product": "product",
    "control_point": "control_point",
    "place": "room",
}


def _document() -> dict[str, Any]:
    from drf_spectacular.generators import SchemaGenerator

    document: dict[str, Any] = json.loads(json.dumps(SchemaGenerator().get_schema(request=None, public=True)))
    return document


DOCUMENT = _document()
OPERATIONS = {
    f"{method.upper()} {path}": (method, path)
    for path, item in DOCUMENT["paths"].items()
    for method in item
    if method in {"get", "post", "put", "patch", "delete"}
}


def test_the_document_is_valid_and_nothing_in_it_was_guessed(tmp_path: Any) -> None:
    call_command("spectacular", "--validate", "--fail-on-warn", "--file", str(tmp_path / "openapi.yaml"))


@pytest.mark.parametrize("name", OPERATIONS)
def test_every_operation_says_what_it_is_for_and_how_it_refuses(name: str) -> None:
    method, path = OPERATIONS[name]
    operation = DOCUMENT["paths"][path][method]

    assert operation["description"].strip()
    expected = {"401", "403"} | ({"400", "404", "409", "413", "415"} if method == "post" else set())
    assert expected <= set(operation["responses"])
    for code, answer in operation["responses"].items():
        if int(code) >= 400:
            assert answer["content"]["application/json"]["schema"] == {"$ref": "#/components/schemas/Error"}
        else:
            assert all(content["schema"] for content in answer["content"].values())


def test_every_operation_that_is_there_is_in_the_document() -> None:
    from tests.test_isolation import ROUTES

    there = {
        (method.lower(), "/" + re.sub(r"<\w+:\w+>", "{}", route.pattern))
        for route in ROUTES
        if route.api_view is not None and route.name != "openapi"
        for method in route.methods
    }
    described = {(method, "{}".join(_between(path))) for method, path in OPERATIONS.values()}
    assert described == there
    assert get_resolver().reverse_dict.getlist("openapi")


def _between(path: str) -> list[str]:
    """The parts of a path template around its parameters."""
    parts = path.split("{")
    return [parts[0], *(part.partition("}")[2] for part in parts[1:])]


@pytest.fixture(scope="module")
def furnished(django_db_setup: None, django_db_blocker: Any, tmp_path_factory: Any) -> Iterator[Objects]:
    with furnished_dairy(django_db_blocker, tmp_path_factory.mktemp("files")) as objects:
        yield objects


@pytest.fixture
def _connection_stays() -> Iterator[None]:
    """Requests here share the test's transaction; the handler would close a connection that it finds in one."""
    signals = (request_started, request_finished)
    for signal in signals:
        signal.disconnect(close_old_connections)
    yield
    for signal in signals:
        signal.connect(close_old_connections)


@pytest.fixture(scope="module")
def tokens(furnished: Objects) -> dict[str, str]:
    """Role -> a device's token; one that is none as well."""
    owner = furnished.dairy.owner
    tokens = {"owner": Device(owner).token, "nobody": "none"}
    for role in set(Membership.Role.values) - {"owner", "inspector"}:
        member = person_add(scope=owner, name=role, email=f"{role}@here.example", password=PASSWORD, role=role)
        tokens[role] = Device(Scope(member)).token
    return tokens


def _closing(handler: WSGIHandler) -> Callable[..., list[bytes]]:
    """A server closes each answer, which closes the file in it; schemathesis's client does not."""

    def served(environ: Any, start_response: Any) -> list[bytes]:
        answer = handler(environ, start_response)
        try:
            return list(answer)
        finally:
            answer.close()

    return served


def _name_what_is_there(case: Any, objects: Objects) -> None:
    """Puts ids of this dairy in the place of made-up ones."""
    known = VALUES | dict(objects.ids)
    route = case.operation.path.removeprefix("/").replace("{id}", "").replace("{lot}", "")
    for name in case.path_parameters or {}:
        case.path_parameters[name] = known["day"] if name == "day" else known[kind_of(route, "pk")]
    if isinstance(case.body, dict):
        for name in set(case.body) & set(NAMED):
            case.body[name] = known[NAMED[name]]


@pytest.mark.usefixtures("_connection_stays", "db")
@pytest.mark.parametrize("name", OPERATIONS)
def test_no_answer_is_undeclared(name: str, furnished: Objects, tokens: dict[str, str]) -> None:
    load_all_checks()
    method, path = OPERATIONS[name]
    api = schemathesis.openapi.from_dict(DOCUMENT)
    api.app = _closing(WSGIHandler())
    operation = api[path][method]
    made = operation.as_strategy()
    if method == "post":
        made = made | operation.as_strategy(generation_mode=GenerationMode.NEGATIVE)

    @settings(
        max_examples=EXAMPLES,
        deadline=None,
        database=None,
        derandomize=True,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=made, known=st.booleans())
    def every_role_is_answered_as_declared(case: Any, known: bool) -> None:
        if known:
            _name_what_is_there(case, furnished)
        for token in tokens.values():
            with transaction.atomic():
                answer = case.call(
                    app=api.app, base_url="http://localhost", headers={"Authorization": f"Token {token}"}
                )
                transaction.set_rollback(True)
            case.validate_response(answer, checks=CHECKS)

    every_role_is_answered_as_declared()
