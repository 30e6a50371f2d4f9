"""Places and instruments as the actions find, compare and lock them."""

from collections.abc import Iterable
from typing import TypeVar
from uuid import UUID

from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Instrument, Place, Premises
from haccp.premises.scope import Scope
from haccp.premises.site_log import seen_sha256

Row = TypeVar("Row", Place, Instrument)
LONGEST_NAME = 80


def lock_premises(scope: Scope) -> None:
    """One writer at a time, so that names and the order of the walk are compared with what is there."""
    Premises.objects.select_for_update().get(pk=scope.premises.pk)


def found_here(model: type[Row], scope: Scope, row_id: UUID) -> Row:
    row = model._default_manager.filter(premises=scope.premises, pk=row_id).first()
    if row is None:
        raise ActionError(f"There is no such {model._meta.verbose_name} at this dairy.")
    return row


def refuse_unseen(row: Place | Instrument, seen: str) -> None:
    """Raises Conflict where somebody else changed the row since the page was opened. seen: "" compares nothing."""
    if seen and seen != seen_sha256(row):
        raise Conflict(
            f"{row.name} was changed by somebody else since you opened this page. Open it again, and change what is "
            "still to be changed."
        )


def refuse_name(name: str, others: Iterable[Place | Instrument], words: str) -> str:
    """The name as it is stored. Capitals make no other name: nobody hears them when the name is called."""
    kept = " ".join(name.split())
    if not 0 < len(kept) <= LONGEST_NAME:
        raise ActionError(f"Give the {words} a name of 1 to {LONGEST_NAME} characters.", field="name")
    for other in others:
        if other.name.casefold() == kept.casefold():
            remedy = "bring it back from the retired ones below the list" if other.retired_at else "choose another name"
            found = f"a retired {words}" if other.retired_at else f"another {words}"
            raise Conflict(f"There is already {found} named {other.name}; {remedy}.", field="name")
    return kept
