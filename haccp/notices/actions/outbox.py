"""Puts a notice for one person into the outbox, once, with a delivery for each way in which they want it."""

from datetime import datetime

from haccp.notices.channels import email, push
from haccp.notices.models import Delivery, Notice, PushDevice, Wishes
from haccp.notices.quiet import told_at
from haccp.premises.models import Membership

Channel = Delivery.Channel


def wishes_of(membership: Membership) -> Wishes:
    """What the person said, or what stands where they said nothing. Unsaved in the second case."""
    return Wishes.objects.filter(membership=membership).first() or Wishes(membership=membership)


def put(
    *,
    membership: Membership,
    kind: str,
    about: str,
    words: tuple[str, str, str],
    at: datetime,
    wakes: bool = False,
) -> Notice | None:
    """None when the person is told of this already. Inside a transaction.

    wakes: quiet hours do not hold it back, where the person has asked for that.
    """
    subject, text, path = words
    notice, is_new = Notice.objects.get_or_create(
        membership=membership,
        about=about,
        defaults={"kind": kind, "subject": subject[:200], "text": text, "path": path, "made_at": at},
    )
    if not is_new:
        return None
    wishes = wishes_of(membership)
    due_at = at
    if kind == Notice.Kind.ALERT and not (wakes and wishes.wake_for_critical):
        due_at = told_at(
            at,
            quiet_from=wishes.quiet_from,
            quiet_until=wishes.quiet_until,
            zone=membership.premises.zone,
        )
    rows = []
    is_alert = kind == Notice.Kind.ALERT
    by_email = wishes.alerts_by_email if is_alert else wishes.digest_by_email
    if by_email and email.is_set_up():
        rows.append(Delivery(notice=notice, channel=Channel.EMAIL, due_at=due_at))
    if is_alert and wishes.alerts_by_push and push.is_set_up():
        devices = PushDevice.objects.filter(membership=membership, ended_at__isnull=True)
        rows += [Delivery(notice=notice, channel=Channel.PUSH, device=one, due_at=due_at) for one in devices]
    Delivery.objects.bulk_create(rows)
    return notice
