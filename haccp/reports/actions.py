"""Writes about visit packs: ask for one, make it, cancel it."""

import hashlib
import logging
import tempfile
from datetime import date, datetime
from pathlib import Path
from uuid import UUID

from django.core.files import File
from django.core.files.storage import default_storage
from django.db import transaction
from django.utils import timezone

from haccp.background.hand_over import hand_over
from haccp.ledger import actions as ledger
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.reports import sealing, tasks
from haccp.reports.claim import Claim, ClaimLost, claim
from haccp.reports.gather.period import period_of
from haccp.reports.layout import pack as layout
from haccp.reports.models import VisitPack

log = logging.getLogger(__name__)

LONGEST_DAYS = 366
MOST_ATTEMPTS = 3
CUT_OFF = (
    f"The making was cut off {MOST_ATTEMPTS} times: the service was stopped, or ran out of memory. "
    "Make it again, if need be for a shorter period."
)
DRAWN = "Storing the file"


@transaction.atomic
def pack_request(
    *, scope: Scope, pack_id: UUID, period_from: date, period_to: date, now: datetime | None = None
) -> VisitPack:
    """Asks for a pack of local days, both ends included; it is made in the background.

    Moves: give back the pack already there under pack_id; check the period; write the row; hand the making over
    after commit. Raises ActionError for a period that runs backwards, lies in the future or is longer than 366 days,
    Conflict when the id carries another period.
    """
    scope.require(Right.READ)
    now = now or timezone.now()
    Premises.objects.select_for_update().get(pk=scope.premises.pk)
    there = VisitPack.objects.filter(pk=pack_id).first()
    if there is not None:
        return _already(scope, there, period_from, period_to)
    _check_period(period_from, period_to, scope.premises.local_date(now))
    pack = VisitPack.objects.create(
        id=pack_id,
        premises=scope.premises,
        period_from=period_from,
        period_to=period_to,
        requested_at=now,
        requested_by=scope.user,
    )
    hand_over(tasks.make_pack, str(pack.id))
    return pack


@transaction.atomic
def pack_cancel(*, scope: Scope, pack_id: UUID, now: datetime | None = None) -> VisitPack:
    """Stops a pack that is not finished; whoever makes it stops at its next word of progress.

    Raises ActionError for a pack that is not of this dairy, Conflict when it has ended already.
    """
    scope.require(Right.READ)
    mine = VisitPack.objects.for_premises(scope.premises).filter(pk=pack_id)
    if not mine.exists():
        raise ActionError("There is no such pack at this dairy.")
    if mine.unfinished().update(cancelled_at=now or timezone.now(), stage="") != 1:
        raise Conflict("This pack has ended already; there is nothing to cancel.")
    return mine.get()


def pack_make(*, pack_id: UUID, now: datetime | None = None) -> bool:
    """Makes a pack: gathers, draws, stores the file, seals what it contained.

    Moves: claim it by compare-and-set; draw into a temporary file outside any transaction, telling progress; store
    the file under a name of this attempt's own; in one transaction mark it finished if the claim still stands, and
    seal "pack.made". A failure frees the claim for another attempt; the third is kept with a sentence.
    Returns whether this call finished it; False too when somebody else makes it or it has ended.
    """
    now = now or timezone.now()
    held = claim(pack_id, now)
    if held is None:
        return False
    try:
        _make(held, now)
    except ClaimLost:
        log.info("Pack %s was cancelled or taken up by another worker.", pack_id)
        return False
    except Exception as error:
        log.exception("Making pack %s failed at attempt %s.", pack_id, held.attempt)
        _give_up(held, error, now)
        return False
    return True


def packs_take_up(*, now: datetime | None = None) -> int:
    """Hands over every unfinished pack that nobody is making; ends those cut off too often. Returns how many."""
    now = now or timezone.now()
    taken = 0
    for pack in VisitPack.objects.unclaimed(now).order_by("requested_at").only("id", "attempts"):
        if pack.attempts >= MOST_ATTEMPTS:
            VisitPack.objects.unclaimed(now).filter(pk=pack.pk).update(failed_at=now, failure=CUT_OFF, stage="")
        else:
            hand_over(tasks.make_pack, str(pack.id))
            taken += 1
    return taken


def _check_period(period_from: date, period_to: date, today: date) -> None:
    if period_to < period_from:
        raise ActionError("The period ends before it begins; swap the two days.", field="period_to")
    if period_from > today:
        raise ActionError("The period lies in the future; there is nothing to print yet.", field="period_from")
    if period_to > today:
        raise ActionError(f"The period ends in the future; today is {today.isoformat()}.", field="period_to")
    length = (period_to - period_from).days + 1
    if length > LONGEST_DAYS:
        raise ActionError(
            f"That is {length} days; a pack holds at most {LONGEST_DAYS}. Ask for two packs.", field="period_from"
        )


def _already(scope: Scope, there: VisitPack, period_from: date, period_to: date) -> VisitPack:
    same_period = (there.period_from, there.period_to) == (period_from, period_to)
    if there.premises_id != scope.premises.id or not same_period:
        raise Conflict("This pack was already asked for with another period; open the form anew.")
    return there


def _make(held: Claim, now: datetime) -> None:
    pack = VisitPack.objects.select_related("premises__producer", "requested_by").get(pk=held.pack_id)
    held.report("Reading the records", 0, 0)
    gathered = layout.gather(period_of(pack), made_at=now)
    with tempfile.TemporaryDirectory(prefix="pack-") as folder:
        path = Path(folder) / "pack.pdf"
        drawn = layout.draw(gathered, path, made_at=now, report=held.report)
        pack.refresh_from_db(fields=["done_parts", "total_parts"])
        held.report(DRAWN, pack.total_parts, pack.total_parts)
        pack.page_count, pack.contents = drawn.page_count, gathered.contents()
        pack.sha256, pack.size_bytes = _digest(path), path.stat().st_size
        with path.open("rb") as content:
            pack.file.name = default_storage.save(_name(pack, held), File(content))
    try:
        _finish(pack, held, timezone.now() if now <= timezone.now() else now)
    except BaseException:
        default_storage.delete(pack.file.name)
        raise


def _name(pack: VisitPack, held: Claim) -> str:
    """Its own for each attempt, so that a worker that lost its claim cannot overwrite another's file."""
    return f"packs/{pack.requested_at:%Y/%m}/{pack.id}-{held.attempt}.pdf"


def _digest(path: Path) -> str:
    with path.open("rb") as content:
        return hashlib.file_digest(content, "sha256").hexdigest()


@transaction.atomic
def _finish(pack: VisitPack, held: Claim, at: datetime) -> None:
    finished = VisitPack.objects.unfinished().filter(pk=pack.pk, claimed_until=held.until)
    changed = finished.update(
        finished_at=at,
        claimed_until=None,
        stage="",
        file=pack.file.name,
        sha256=pack.sha256,
        size_bytes=pack.size_bytes,
        page_count=pack.page_count,
        contents=pack.contents,
    )
    if changed != 1:
        raise ClaimLost(f"The claim on pack {pack.pk} is lost.")
    ledger.seal(
        log_id=pack.premises.log_id,
        kind=sealing.KIND,
        subject=sealing.subject(pack),
        body=sealing.pack_body(pack),
        actor=f"{pack.requested_by_id} {pack.requested_by.name}",
        at=at,
    )


def _give_up(held: Claim, error: Exception, now: datetime) -> None:
    """Frees the claim for another attempt, or keeps the failure with a sentence when it was the last."""
    mine = VisitPack.objects.unfinished().filter(pk=held.pack_id, claimed_until=held.until)
    if held.attempt < MOST_ATTEMPTS:
        mine.update(claimed_until=now, stage="")
        return
    sentence = (
        f"The pack could not be made ({type(error).__name__}). Make it again; if it fails again, tell whoever looks "
        "after this computer: its log says more. No record is lost."
    )
    mine.update(failed_at=now, failure=sentence, claimed_until=None, stage="")


