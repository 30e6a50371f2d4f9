"""The making of a visit pack in the background: claimed, drawn, stored, sealed."""

import hashlib
import logging
import tempfile
from datetime import datetime
from pathlib import Path
from uuid import UUID

from django.core.files import File
from django.core.files.storage import default_storage
from django.db import transaction
from django.utils import timezone, translation

from haccp.ledger import actions as ledger
from haccp.reports import sealing
from haccp.reports.claim import Claim, ClaimLost, claim
from haccp.reports.gather.choice import Choice
from haccp.reports.gather.gathered import gather
from haccp.reports.gather.period import period_of
from haccp.reports.layout import pack as layout
from haccp.reports.models import VisitPack
from haccp.reports.signing import sign_paper

log = logging.getLogger(__name__)

MOST_ATTEMPTS = 3
CUT_OFF = (
    f"The making was cut off {MOST_ATTEMPTS} times: the service was stopped, or ran out of memory. "
    "Make it again, if need be for a shorter period."
)


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


def packs_left(*, now: datetime | None = None) -> list[UUID]:
    """Unfinished packs that nobody is making, oldest first; those cut off too often are ended with a sentence."""
    now = now or timezone.now()
    left = VisitPack.objects.unclaimed(now)
    left.filter(attempts__gte=MOST_ATTEMPTS).update(failed_at=now, failure=CUT_OFF, stage="")
    return list(left.order_by("requested_at").values_list("id", flat=True))


def _make(held: Claim, now: datetime) -> None:
    pack = VisitPack.objects.select_related("premises__producer", "requested_by").get(pk=held.pack_id)
    held.report("Reading the records", 0, 0)
    with translation.override(pack.language):
        _drawn(pack, held, now)
    try:
        _finish(pack, held, timezone.now() if now <= timezone.now() else now)
    except BaseException:
        default_storage.delete(str(pack.file.name))
        raise


def _drawn(pack: VisitPack, held: Claim, now: datetime) -> None:
    """Leaves the file in the storage, and on the pack what is to be written of it."""
    gathered = gather(period_of(pack), Choice.from_json(pack.choice), made_at=now)
    with tempfile.TemporaryDirectory(prefix="pack-") as folder:
        path = Path(folder) / "pack.pdf"
        drawn = layout.draw(gathered, path, made_at=now, report=held.report, about=pack.choice_words)
        sign_paper(path, premises=pack.premises.name)
        pack.refresh_from_db(fields=["done_parts", "total_parts"])
        held.report("Storing the file", pack.total_parts, pack.total_parts)
        pack.page_count, pack.contents = drawn.page_count, gathered.contents()
        pack.sha256, pack.size_bytes = _digest(path), path.stat().st_size
        with path.open("rb") as content:
            pack.file.name = default_storage.save(_name(pack, held), File(content))


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
