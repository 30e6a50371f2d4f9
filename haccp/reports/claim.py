"""The claim of one worker on one pack: a lease that it renews while it tells how far it has come.

A worker that is killed stops renewing; when the lease runs out another takes the pack up. A worker that lost its
lease, or whose pack was cancelled, finds out at its next word of progress and stops.
"""

import time
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from uuid import UUID

from django.db.models import F
from django.utils import timezone

from haccp.reports.models import VisitPack

LEASE = timedelta(minutes=5)
# Between two words of progress, so that writing them costs nothing beside the work.
LEAST_PAUSE_S = 0.5


class ClaimLost(Exception):
    """The pack was cancelled, or the lease ran out and somebody else has taken it up."""


@dataclass
class Claim:
    """until: when the lease runs out unless it is renewed; it is also what tells this claim from another's."""

    pack_id: UUID
    until: datetime
    attempt: int
    _stage: str = ""
    _done: int = 0
    _told_at: float = field(default=float("-inf"))

    def report(self, stage: str, done: int, total: int) -> None:
        """Writes how far the work has come, at once for a new stage, else twice a second. Raises ClaimLost."""
        now_s = time.monotonic()
        if stage == self._stage and now_s - self._told_at < LEAST_PAUSE_S:
            return
        self._stage, self._told_at, self._done = stage, now_s, max(done, self._done)
        self._renew(stage=stage[:80], done_parts=self._done, total_parts=total)

    def _renew(self, **progress: object) -> None:
        until = max(timezone.now() + LEASE, self.until + timedelta(microseconds=1))
        mine = VisitPack.objects.unfinished().filter(pk=self.pack_id, claimed_until=self.until)
        if mine.update(claimed_until=until, **progress) != 1:
            raise ClaimLost(f"The claim on pack {self.pack_id} is lost.")
        self.until = until


def claim(pack_id: UUID, now: datetime) -> Claim | None:
    """Takes a pack up by compare-and-set; None when somebody else makes it, or it has ended."""
    until = now + LEASE
    taken = VisitPack.objects.unclaimed(now).filter(pk=pack_id)
    if taken.update(claimed_until=until, attempts=F("attempts") + 1, stage="", done_parts=0, total_parts=0) != 1:
        return None
    pack = VisitPack.objects.only("attempts").get(pk=pack_id)
    return Claim(pack_id, until, pack.attempts)
