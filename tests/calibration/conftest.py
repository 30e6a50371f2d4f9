"""A dairy on one day in March, whose clock stands still."""

from collections.abc import Iterator
from datetime import UTC, datetime

import pytest
import time_machine

from tests.dairy import Dairy, open_dairy

NOW = datetime(2026, 3, 20, 12, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _clock() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def dairy() -> Dairy:
    return open_dairy()
