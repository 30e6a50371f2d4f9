"""One furnished dairy for a whole module of tests, none of which leaves anything behind in it."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import time_machine
from django.db import transaction
from django.test import override_settings

from tests.dairy import open_dairy
from tests.objects import Objects, furnish

# Long after everything that a furnished dairy did.
LATER = datetime(2026, 11, 2, 9, 0, tzinfo=UTC)


@contextmanager
def furnished_dairy(blocker: Any, folder: Path) -> Iterator[Objects]:
    """blocker: pytest-django's. What a test adds goes with its own transaction, inside this one."""
    with (
        override_settings(MEDIA_ROOT=folder),
        time_machine.travel(LATER, tick=False),
        blocker.unblock(),
        transaction.atomic(),
    ):
        yield furnish(open_dairy())
        transaction.set_rollback(True)
