"""What a person wants to be told, and the digest of each day."""

import logging
from datetime import datetime, time, timedelta
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from haccp.notices import digest
from haccp.notices.actions.outbox import put
from haccp.notices.models import Notice, Wishes
from haccp.notices.quiet import next_at
from haccp.premises.errors import ActionError
from haccp.premises.models import Membership
from haccp.premises.scope import Scope

log = logging.getLogger(__name__)

# A digest that could not be made for longer than this (the schedule stood still) is left out; the next day's comes.
STALE_AFTER = timedelta(hours=12)


@transaction.atomic
def wishes_set(
    *,
    scope: Scope,
    alerts_by_email: bool,
    alerts_by_push: bool,
    digest_by_email: bool,
    digest_at: time,
    quiet_from: time | None,
    quiet_until: time | None,
    wake_for_critical: bool,
    now: datetime | None = None,
) -> Wishes:
    """A person's own wishes at this dairy. Raises ActionError when only one end of the quiet hours is given."""
    now = now or timezone.now()
    if (quiet_from is None) != (quiet_until is None):
        field = "quiet_until" if quiet_until is None else "quiet_from"
        raise ActionError("Give both ends of the quiet hours, or neither.", field=field)
    wishes, _ = Wishes.objects.update_or_create(
        membership=scope.membership,
        defaults={
            "alerts_by_email": alerts_by_email,
            "alerts_by_push": alerts_by_push,
            "digest_by_email": digest_by_email,
            "digest_at": digest_at,
            "quiet_from": quiet_from,
            "quiet_until": quiet_until,
            "wake_for_critical": wake_for_critical,
            "next_digest_at": next_at(now, digest_at, scope.premises.zone) if digest_by_email else None,
        },
    )
    return wishes


def make_digests(*, now: datetime | None = None) -> int:
    """Puts each digest that has come due into the outbox, once a local day. Returns how many."""
    now = now or timezone.now()
    _begin(now)
    due = Wishes.objects.filter(next_digest_at__lte=now, membership__left_at__isnull=True)
    made = 0
    for membership_id in list(due.values_list("pk", flat=True)):
        try:
            made += _make(membership_id, now)
        except Exception:
            log.exception("The digest for %s failed; it is tried again at the next run.", membership_id)
    return made


def _begin(now: datetime) -> None:
    """People who said nothing have the wishes that stand by default, from the next digest on."""
    new = Membership.objects.filter(left_at__isnull=True, wishes__isnull=True).select_related("premises")
    rows = [Wishes(membership=one) for one in new[:500]]
    for row in rows:
        row.next_digest_at = next_at(now, row.digest_at, row.membership.premises.zone)
    Wishes.objects.bulk_create(rows, ignore_conflicts=True)


@transaction.atomic
def _make(membership_id: UUID, now: datetime) -> int:
    wishes = Wishes.objects.select_for_update().select_related("membership__premises").get(pk=membership_id)
    if wishes.next_digest_at is None or wishes.next_digest_at > now:
        return 0  # another worker was quicker
    membership, was_due = wishes.membership, wishes.next_digest_at
    Wishes.objects.filter(pk=membership_id).update(
        next_digest_at=next_at(now, wishes.digest_at, membership.premises.zone)
    )
    if now - was_due > STALE_AFTER:
        return 0
    day = membership.premises.local_date(was_due)
    made = put(
        membership=membership,
        kind=Notice.Kind.DIGEST,
        about=f"digest:{day.isoformat()}",
        words=digest.words(membership, now),
        at=now,
    )
    return int(made is not None)
