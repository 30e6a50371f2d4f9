"""System checks of the ledger, for `check --database`."""

from collections.abc import Sequence
from typing import Any

from django.core.checks import CheckMessage, Error
from django.db import connections

from haccp.ledger import triggers


def guards_are_in_place(databases: Sequence[str] | None = None, **kwargs: Any) -> list[CheckMessage]:
    """ledger.E001: a sealed table that the database would let somebody change."""
    return [
        Error(
            f"The database “{alias}” no longer refuses changes to {guard.table}.",
            hint="Run “manage.py migrate”, which puts the triggers back; then “manage.py verify_ledger”.",
            id="ledger.E001",
        )
        for alias in databases or ()
        for guard in triggers.missing(connections[alias])
    ]
