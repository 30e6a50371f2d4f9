"""A batch is released: the gate is asked again, and what it shows is signed."""

from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from batches.release import sealing
from batches.release.gate import gate_of
from batches.release.models import Release
from batches.release.queries import release_of
from haccp.ledger import actions as ledger
from haccp.lots.models import Lot
from haccp.premises.actions import confirm_identity
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

STATEMENT = (
    "I have read what the release gate shows of this batch. Nothing stands in the way, and I release it as a safe food."
)


@transaction.atomic
def batch_release(
    *,
    scope: Scope,
    release_id: UUID,
    lot_id: UUID,
    password: str,
    seen_sha256: str,
    now: datetime | None = None,
) -> Release:
    """Signs exactly what the gate showed. The same release_id sent again gives the release already there.

    Moves: confirm the password, lock the premises, ask the gate as it stands now, sign, seal. Raises ActionError
    while anything is outstanding or unproven, Conflict when the batch is released already or the gate shows
    something else than what was read.
    """
    scope.require(Right.RELEASE)
    now = now or timezone.now()
    method = confirm_identity(scope=scope, password=password)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    there = Release.objects.select_related("lot").filter(pk=release_id).first()
    if there is not None:
        if (there.lot_id, there.content_sha256, there.released_by_id) != (lot_id, seen_sha256, scope.user.pk):
            raise Conflict("This release was already sent with other content; open the batch again.")
        return there
    lot = Lot.objects.for_premises(scope.premises).batches().filter(pk=lot_id).select_related("product").first()
    if lot is None:
        raise ActionError("There is no such batch at this dairy.")
    standing = release_of(lot)
    if standing is not None:
        raise Conflict(f"{lot.code} was already released by {standing.released_by.name}.")
    gate = gate_of(scope, lot, now)
    if not gate.is_open:
        first = gate.in_the_way[0].words
        more = len(gate.in_the_way) - 1
        rest = f" And {more} more." if more else ""
        raise ActionError(f"{lot.code} cannot be released: {first}{rest}")
    if gate.content_sha256 != seen_sha256:
        raise Conflict("The gate shows something else than when you opened the page. Read it again, then release.")
    signature = ledger.sign(
        log_id=scope.log_id,
        signer_id=str(scope.user.id),
        printed_name=scope.user.name,
        meaning="batch.released",
        statement=STATEMENT,
        content=gate.content,
        method=method,
        at=now,
    )
    release = Release.objects.create(
        id=release_id,
        lot=lot,
        signature=signature,
        released_by=scope.user,
        released_at=now,
        content_sha256=gate.content_sha256,
    )
    ledger.seal(
        log_id=scope.log_id,
        kind="batch.released",
        subject=f"release:{release.id}",
        body=sealing.release_body(release),
        actor=scope.actor,
        at=now,
    )
    return release
