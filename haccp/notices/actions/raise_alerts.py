"""Raises an alert for each deviation, and takes it further while nobody reacts."""

import logging
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from haccp.deviations.models import Deviation
from haccp.notices import raising
from haccp.notices.actions.outbox import put
from haccp.notices.models import Alert, Notice
from haccp.premises.errors import ActionError
from haccp.premises.roles import Right
from haccp.premises.scope import Scope

log = logging.getLogger(__name__)

# What opened longer ago than this, before anybody was told of anything, is in the digest and raises no alert.
LOOKS_BACK = timedelta(days=7)


def raise_alerts(*, now: datetime | None = None) -> int:
    """Raises and escalates. Returns how many notices were put into the outbox.

    Found in the database each time, so that nothing is lost with a process; each alert has its own transaction and
    moves by compare-and-set, so that any number of workers may run at once.
    """
    now = now or timezone.now()
    made = 0
    fresh = Deviation.objects.open().filter(opened_at__gte=now - LOOKS_BACK, alert__isnull=True)
    for deviation_id in list(fresh.order_by("opened_at").values_list("pk", flat=True)):
        made += _safely(_raise, deviation_id, now)
    waiting = Alert.objects.filter(next_level_at__lte=now, taken_at__isnull=True)
    for deviation_id in list(waiting.order_by("next_level_at").values_list("pk", flat=True)):
        made += _safely(_escalate, deviation_id, now)
    return made


def _safely(step: object, deviation_id: UUID, now: datetime) -> int:
    try:
        return step(deviation_id, now)  # type: ignore[operator, no-any-return]
    except Exception:
        log.exception("Telling of deviation %s failed; it is tried again at the next run.", deviation_id)
        return 0


@transaction.atomic
def _raise(deviation_id: UUID, now: datetime) -> int:
    deviation = _deviation(deviation_id)
    pause = raising.next_pause(0)
    _, is_new = Alert.objects.get_or_create(
        deviation=deviation, defaults={"raised_at": now, "next_level_at": now + pause if pause else None}
    )
    return _tell(deviation, 0, now) if is_new else 0


@transaction.atomic
def _escalate(deviation_id: UUID, now: datetime) -> int:
    alert = Alert.objects.select_for_update().get(pk=deviation_id)
    deviation = _deviation(deviation_id)
    level = alert.level + 1
    reacted = hasattr(deviation, "closure") or deviation.steps.exists()
    pause = None if reacted else raising.next_pause(level)
    moved = Alert.objects.filter(pk=alert.pk, level=alert.level, taken_at__isnull=True, next_level_at__lte=now).update(
        level=alert.level if reacted else level, next_level_at=now + pause if pause else None
    )
    return _tell(deviation, level, now) if moved and not reacted else 0


def _tell(deviation: Deviation, level: int, now: datetime) -> int:
    words = raising.words(deviation, level)
    return sum(
        put(
            membership=person,
            kind=Notice.Kind.ALERT,
            about=f"alert:{deviation.pk}:{level}",
            words=words,
            at=now,
            wakes=deviation.control_point.is_critical,
        )
        is not None
        for person in raising.people_at(deviation.premises, level, deviation)
    )


def _deviation(deviation_id: UUID) -> Deviation:
    return Deviation.objects.select_related("premises", "control_point", "closure").get(pk=deviation_id)


@transaction.atomic
def alert_take(*, scope: Scope, deviation_id: UUID, now: datetime | None = None) -> Alert:
    """“I take care of it”: it is taken no further. The first one stays. Raises ActionError for another's alert."""
    scope.require(Right.RECORD)
    now = now or timezone.now()
    Alert.objects.filter(deviation__premises=scope.premises, pk=deviation_id, taken_at__isnull=True).update(
        taken_by=scope.user, taken_at=now, next_level_at=None
    )
    alert = Alert.objects.filter(deviation__premises=scope.premises, pk=deviation_id).first()
    if alert is None:
        raise ActionError("There is no such alert at this dairy.")
    return alert
