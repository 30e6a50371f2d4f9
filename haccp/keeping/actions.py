"""Asking for the export of a premises, and making it in the background."""

import logging
import tempfile
from datetime import datetime, timedelta
from pathlib import Path
from uuid import UUID

from django.core.files import File
from django.core.files.storage import default_storage
from django.db import transaction
from django.db.models import F
from django.utils import timezone

from haccp.background.hand_over import hand_over
from haccp.keeping import tasks
from haccp.keeping.models import PremisesExport
from haccp.keeping.parcel.writing import Written, write_premises
from haccp.ledger import actions as ledger
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

log = logging.getLogger(__name__)

LEASE = timedelta(minutes=15)
MOST_ATTEMPTS = 3
SEALED = "premises.exported"


class _LostClaim(Exception):
    """Somebody else makes it, since the lease ran out."""


@transaction.atomic
def export_request(*, scope: Scope, export_id: UUID, now: datetime | None = None) -> PremisesExport:
    """Asks for everything of the premises in one file, which is made in the background.

    Moves: lock the premises; give back what is there under the id; one at a time; write the row; hand over after
    commit. Raises Conflict while another is being made, ActionError for an id of another premises.
    """
    scope.require(Right.MANAGE)
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    there = PremisesExport.objects.filter(pk=export_id).first()
    if there is not None:
        if there.premises_id != scope.premises.pk:
            raise ActionError("There is no such export at this dairy.")
        return there
    if PremisesExport.objects.unfinished().filter(premises=scope.premises).exists():
        raise Conflict("An export is being made already; wait until it is finished.")
    export = PremisesExport.objects.create(
        id=export_id, premises=scope.premises, requested_by=scope.user, requested_at=now or timezone.now()
    )
    hand_over(tasks.make_export, str(export.pk))
    return export


def export_make(*, export_id: UUID, now: datetime | None = None) -> bool:
    """Makes one, unless somebody else does. Returns whether this call finished it.

    Moves: claim by compare-and-set; write the archive beside the other files, in bounded memory; in one transaction
    mark it finished if the claim still stands, and seal that the data were taken away, by whom, with the file's sum.
    The file of an earlier one goes then. A third failure is kept with a sentence.
    """
    now = now or timezone.now()
    until = now + LEASE
    mine = PremisesExport.objects.unclaimed(now).filter(pk=export_id)
    if mine.update(claimed_until=until, attempts=F("attempts") + 1) != 1:
        return False
    export = PremisesExport.objects.select_related("premises", "requested_by").get(pk=export_id)
    try:
        with tempfile.TemporaryDirectory(prefix="export-") as folder:
            path = Path(folder) / "export.zip"
            written = write_premises(export.premises, path, made_at=now, report=_Told(export).report)
            with path.open("rb") as content:
                export.file.name = default_storage.save(f"exports/{export.pk}-{export.attempts}.zip", File(content))
        try:
            _finish(export, written, timezone.now())
        except BaseException:
            default_storage.delete(str(export.file.name))
            raise
    except _LostClaim:
        return False
    except Exception as error:
        log.exception("Making the export %s failed at attempt %s.", export_id, export.attempts)
        _give_up(export, error, now)
        return False
    _forget_earlier(export)
    return True


def exports_left(*, now: datetime | None = None) -> list[UUID]:
    """Unfinished ones that nobody is making; those cut off too often are ended with a sentence."""
    now = now or timezone.now()
    left = PremisesExport.objects.unclaimed(now)
    left.filter(attempts__gte=MOST_ATTEMPTS).update(
        failed_at=now, failure="The making was cut off three times: the service was stopped. Ask again."
    )
    return list(left.order_by("requested_at").values_list("pk", flat=True))


class _Told:
    """Renews the lease with each word of progress, and finds out there that it was lost."""

    def __init__(self, export: PremisesExport) -> None:
        self.export = export

    def report(self, stage: str, done: int, total: int) -> None:
        until = max(timezone.now() + LEASE, (self.export.claimed_until or timezone.now()) + timedelta(microseconds=1))
        words = f"{stage} ({done} of {total})"[:80]
        mine = PremisesExport.objects.unfinished().filter(pk=self.export.pk, claimed_until=self.export.claimed_until)
        if mine.update(claimed_until=until, stage=words) != 1:
            raise _LostClaim
        self.export.claimed_until = until


@transaction.atomic
def _finish(export: PremisesExport, written: Written, at: datetime) -> None:
    mine = PremisesExport.objects.unfinished().filter(pk=export.pk, claimed_until=export.claimed_until)
    changed = mine.update(
        finished_at=at,
        claimed_until=None,
        stage="",
        file=export.file.name,
        sha256=written.sha256,
        size_bytes=written.size_bytes,
        row_count=written.rows,
    )
    if changed != 1:
        raise _LostClaim
    ledger.seal(
        log_id=export.premises.log_id,
        kind=SEALED,
        subject=f"export:{export.pk}",
        body={"sha256": written.sha256, "rows": written.rows, "entries": written.entries},
        actor=f"{export.requested_by_id} {export.requested_by.name}",
        at=at,
    )


def _give_up(export: PremisesExport, error: Exception, now: datetime) -> None:
    mine = PremisesExport.objects.unfinished().filter(pk=export.pk, claimed_until=export.claimed_until)
    if export.attempts < MOST_ATTEMPTS:
        mine.update(claimed_until=now, stage="")
        return
    why = "the disk is full or cannot be written to" if isinstance(error, OSError) else type(error).__name__
    mine.update(
        failed_at=now,
        claimed_until=None,
        stage="",
        failure=f"The export could not be made ({why}). Nothing is lost; tell whoever looks after this computer.",
    )


def _forget_earlier(export: PremisesExport) -> None:
    """One file for each premises: it is as large as all that the premises holds."""
    earlier = PremisesExport.objects.filter(premises=export.premises, finished_at__isnull=False).exclude(pk=export.pk)
    for one in earlier.exclude(file=""):
        default_storage.delete(str(one.file.name))
        PremisesExport.objects.filter(pk=one.pk).update(file="")
