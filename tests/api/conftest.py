"""A dairy on a morning in March, and devices of its people."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest
import time_machine

from haccp.checks import actions as checks
from haccp.premises import actions as premises
from haccp.premises.scope import Scope
from tests.api.device import Device
from tests.dairy import PASSWORD, Dairy, open_dairy

OPENED = datetime(2026, 3, 10, 6, 0, tzinfo=UTC)  # Dublin keeps UTC in winter
NOW = datetime(2026, 3, 10, 8, 30, tzinfo=UTC)  # the room's check was due at 08:00 and has two hours of grace


@pytest.fixture
def clock() -> Iterator[time_machine.Traveller]:
    with time_machine.travel(NOW, tick=False) as traveller:
        yield traveller


@pytest.fixture
def dairy(db: None, clock: time_machine.Traveller) -> Dairy:
    return open_dairy(at=OPENED)


@pytest.fixture
def morning(dairy: Dairy) -> Dairy:
    """The same dairy once the schedule has planned its day."""
    checks.sweep(now=NOW - timedelta(minutes=1))
    return dairy


@pytest.fixture
def maker(dairy: Dairy) -> Device:
    return Device(dairy.maker)


@pytest.fixture
def owner(dairy: Dairy) -> Device:
    return Device(dairy.owner)


@pytest.fixture
def helper(dairy: Dairy) -> Device:
    return Device(dairy.helper)


@pytest.fixture
def consultant(dairy: Dairy) -> Device:
    member = premises.person_add(
        scope=dairy.owner, name="Cora Consultant", email="cora@weir.example", password=PASSWORD, role="consultant"
    )
    return Device(Scope(member))


@pytest.fixture
def stranger(dairy: Dairy) -> Device:
    """The owner of another dairy."""
    return Device(open_dairy(name="Mill Lane Dairy", at=OPENED).owner)
