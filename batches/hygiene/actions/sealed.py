"""Writes a row's entry in the ledger."""

from datetime import datetime

from django.db.models import Model

from batches.hygiene.sealing import KINDS
from haccp.ledger import actions as ledger
from haccp.premises.scope import Scope


def seal(scope: Scope, row: Model, at: datetime) -> None:
    """Inside the transaction that writes the row and all that belongs to it."""
    kind, prefix, body = KINDS[type(row)]
    ledger.seal(log_id=scope.log_id, kind=kind, subject=f"{prefix}:{row.pk}", body=body(row), actor=scope.actor, at=at)
