"""A fixed cast at every page: insiders of one dairy, strangers of another, and somebody signed out."""

import re
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.http import HttpResponse
from django.test import Client

from haccp.checks import actions as checks
from haccp.premises import actions as premises
from haccp.premises.scope import Scope
from tests.dairy import PASSWORD, Dairy, open_dairy

# Dublin keeps UTC in winter: the room is due at 08:00, with an hour before and two hours of grace.
NOW = datetime(2026, 3, 4, 8, 20, tzinfo=UTC)


def page_of(answer: HttpResponse) -> str:
    """The page with every run of white space as one blank, so that tests do not hang on how a template is broken."""
    return " ".join(answer.content.decode().split())


def hidden(page: str, name: str) -> str:
    """The value of a hidden field as it was rendered."""
    found = re.search(rf'name="{name}" value="([^"]*)"', page)
    assert found is not None, f"no field {name} on the page"
    return found[1]


@pytest.fixture
def clock() -> Iterator[time_machine.Traveller]:
    with time_machine.travel(NOW, tick=False) as traveller:
        yield traveller


@pytest.fixture
def dairy(db: None, clock: time_machine.Traveller) -> Dairy:
    """Opened the evening before, so that the first check is due this morning."""
    opened = open_dairy(at=NOW - timedelta(hours=14))
    checks.sweep(now=NOW)
    return opened


@pytest.fixture
def reviewer(dairy: Dairy) -> Scope:
    return Scope(
        premises.person_add(
            scope=dairy.owner, name="Rhona Reviewer", email="reviewer@weir.example", password=PASSWORD, role="reviewer"
        )
    )


@pytest.fixture
def stranger(dairy: Dairy) -> Scope:
    """The owner of another dairy."""
    return open_dairy(name="Glen Dairy", at=NOW - timedelta(hours=14)).owner


@pytest.fixture
def signed_in() -> Callable[[Scope], Client]:
    def sign_in(scope: Scope) -> Client:
        client = Client()
        client.force_login(scope.user)
        return client

    return sign_in


@pytest.fixture
def maker(dairy: Dairy, signed_in: Callable[[Scope], Client]) -> Client:
    return signed_in(dairy.maker)
