"""Sends what waits in the outbox: claimed first, noted as sent after, tried again with growing pauses."""

import logging
from datetime import datetime, timedelta
from uuid import UUID

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from haccp.ledger import actions as ledger
from haccp.notices import sealing
from haccp.notices.backoff import pause_after
from haccp.notices.channels import NotDelivered, email, push
from haccp.notices.models import Delivery, PushDevice, Sent

log = logging.getLogger(__name__)

ACTOR = "notices"
CLAIM = timedelta(minutes=10)  # a worker that dies while sending holds a delivery back for so long
FOOT = "You are told this by {service}. What you want to be told, and when: {address}"
SERVICE = "Curdward"
WISHES_PATH = "/notices/"


def deliver(*, now: datetime | None = None, most: int = 500) -> int:
    """Sends what is due. Returns how many were sent.

    Promise: at least once. A delivery is claimed by moving its due time on, by compare-and-set, so that of any number
    of workers one sends it; it is noted as sent only when the mail server or push service has taken it.
    """
    now = now or timezone.now()
    waiting = Delivery.objects.filter(due_at__lte=now, sent_at__isnull=True, given_up_at__isnull=True)
    sent = 0
    for delivery_id, due_at in list(waiting.order_by("due_at").values_list("pk", "due_at")[:most]):
        if not _claim(delivery_id, due_at, now):
            continue
        try:
            sent += _send(delivery_id, now)
        except Exception as error:
            log.exception("Delivery %s failed; it is tried again.", delivery_id)
            _failed(delivery_id, NotDelivered(f"{type(error).__name__}: {error}"[:500]), now)
    return sent


def _claim(delivery_id: UUID, due_at: datetime, now: datetime) -> bool:
    waiting = Delivery.objects.filter(pk=delivery_id, due_at=due_at, sent_at__isnull=True, given_up_at__isnull=True)
    return bool(waiting.update(due_at=now + CLAIM))


def _send(delivery_id: UUID, now: datetime) -> int:
    delivery = Delivery.objects.select_related(
        "notice__membership__user", "notice__membership__premises", "device"
    ).get(pk=delivery_id)
    notice = delivery.notice
    if notice.membership.left_at is not None:
        _give_up(delivery, "The person has left the dairy.", now)
        return 0
    try:
        if delivery.device is not None:
            address = delivery.device.endpoint[:320]
            push.send(delivery.device, subject=notice.subject, text=notice.text, path=notice.path, tag=str(notice.id))
        else:
            address = notice.membership.user.email
            email.send(
                message_id=delivery.id, address=address, subject=notice.subject, text=_text(notice.text, notice.path)
            )
    except NotDelivered as error:
        _failed(delivery_id, error, now)
        return 0
    _note(delivery, address, now)
    return 1


def _text(text: str, path: str) -> str:
    if not settings.SITE_URL:
        return text
    foot = FOOT.format(service=SERVICE, address=settings.SITE_URL + WISHES_PATH)
    return f"{text}\n\n{settings.SITE_URL}{path}\n\n-- \n{foot}"


@transaction.atomic
def _note(delivery: Delivery, address: str, now: datetime) -> None:
    Delivery.objects.filter(pk=delivery.pk).update(sent_at=now, attempts=delivery.attempts + 1, last_error="")
    row = Sent.objects.create(delivery=delivery, address=address, subject=delivery.notice.subject, sent_at=now)
    ledger.seal(
        log_id=delivery.notice.membership.premises.log_id,
        kind="notice.sent",
        subject=f"sent:{row.pk}",
        body=sealing.sent_body(row),
        actor=ACTOR,
        at=now,
    )


def _failed(delivery_id: UUID, error: NotDelivered, now: datetime) -> None:
    delivery = Delivery.objects.get(pk=delivery_id)
    if delivery.sent_at is not None:
        return
    attempts = delivery.attempts + 1
    pause = None if error.gone else pause_after(attempts)
    if error.gone and delivery.device_id is not None:
        PushDevice.objects.filter(pk=delivery.device_id, ended_at__isnull=True).update(ended_at=now)
    Delivery.objects.filter(pk=delivery_id, sent_at__isnull=True).update(
        attempts=attempts,
        last_error=str(error)[:500],
        due_at=now + pause if pause else delivery.due_at,
        given_up_at=None if pause else now,
    )


def _give_up(delivery: Delivery, why: str, now: datetime) -> None:
    Delivery.objects.filter(pk=delivery.pk, sent_at__isnull=True).update(given_up_at=now, last_error=why)
