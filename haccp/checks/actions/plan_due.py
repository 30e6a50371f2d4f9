"""Turns the plan's cadences into rows of due checks. Idempotent: the slot's key says which rows exist already."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.db.models import Exists, OuterRef, Q

from haccp.checks.models import DueCheck, PlanningMark
from haccp.lots.models import Lot, LotEvent
from haccp.lots.queries import revisions_over
from haccp.plan.models import Check, PlanRevision
from haccp.premises.models import Premises
from haccp.science.schedule import Slot, slots

HORIZON = timedelta(hours=36)
LOT_SUBJECTS = {Lot.Kind.MILK: Check.Subject.MILK, Lot.Kind.BATCH: Check.Subject.BATCH}


@transaction.atomic
def plan_due_for_premises(*, premises: Premises, now: datetime) -> int:
    """Due checks by the clock from where planning stood until HORIZON from now. Returns how many rows are new.

    Each stretch of time is planned by the revision in force during it, so that a sweep after weeks of downtime
    gives the rows that a sweep every minute would have given.
    """
    mark = PlanningMark.objects.select_for_update().filter(premises=premises).first()
    revisions = list(PlanRevision.objects.for_premises(premises).approved().order_by("effective_from", "number"))
    if not revisions:
        return 0
    begin = mark.planned_until if mark else revisions[0].effective_from
    end = now + HORIZON
    if begin is None or begin >= end:
        return 0
    made = 0
    for revision, start, stop in _stretches(revisions, begin, end):
        made += _plan_clock(premises, revision, start, stop)
    PlanningMark.objects.update_or_create(premises=premises, defaults={"planned_until": end})
    return made


@transaction.atomic
def plan_due_for_lot(*, lot: Lot, now: datetime) -> int:
    """Due checks that follow from the events of one lot, by the revision it stands under. Returns how many are new.

    A lot that was moved has the checks of each revision while it stood under it.
    """
    subject = LOT_SUBJECTS.get(Lot.Kind(lot.kind))
    if subject is None:
        return 0
    events: dict[str, list[datetime]] = defaultdict(list)
    for kind, occurred_at in lot.events.order_by("occurred_at").values_list("kind", "occurred_at"):
        events[kind].append(occurred_at)
    rows: list[DueCheck] = []
    for revision, start, stop in revisions_over(lot, now + HORIZON):
        for check in _checks_for(lot, revision, subject):
            for slot in _slots(check, lot.premises, start, stop, events):
                rows.append(_row(check, lot.premises, slot, lot))
    _take_back(lot, rows)
    return insert_due(rows)


@transaction.atomic
def replan_after_approval(*, premises: Premises, revision: PlanRevision) -> None:
    """Takes back what an earlier revision had planned past the new one's start and nobody has done yet."""
    assert revision.effective_from is not None
    DueCheck.objects.filter(
        premises=premises, lot__isnull=True, settled_at__isnull=True, due_at__gte=revision.effective_from
    ).delete()
    PlanningMark.objects.filter(premises=premises, planned_until__gt=revision.effective_from).update(
        planned_until=revision.effective_from
    )


def after_approval(revision: PlanRevision, at: datetime) -> None:
    """What the schedule does about a new revision; registered in haccp.plan.consequences."""
    replan_after_approval(premises=revision.premises, revision=revision)


def lots_with_daily_checks(premises: Premises) -> Iterable[Lot]:
    """Lots that a day alone makes checks due for: those between the two events of a daily cadence (in a room now)."""
    daily = Check.objects.filter(
        revision__premises=premises, revision__approval__isnull=False, cadence__kind="event_daily"
    )
    found: dict[UUID, Lot] = {}
    for revision_id, cadence in daily.values_list("revision_id", "cadence"):
        under = Q(revision_id=revision_id) | Q(revision_moves__to_revision_id=revision_id)
        inside = Lot.objects.for_premises(premises).filter(under, events__kind=cadence["event"])
        ended = LotEvent.objects.filter(lot=OuterRef("pk"), kind=cadence.get("until_event", ""))
        found |= {lot.pk: lot for lot in inside.exclude(Exists(ended)).distinct()}
    return found.values()


def _stretches(
    revisions: Sequence[PlanRevision], begin: datetime, end: datetime
) -> Iterable[tuple[PlanRevision, datetime, datetime]]:
    for revision, following in zip(revisions, [*revisions[1:], None], strict=True):
        assert revision.effective_from is not None
        start = max(begin, revision.effective_from)
        stop = min(end, following.effective_from) if following and following.effective_from else end
        if start < stop:
            yield revision, start, stop


def _plan_clock(premises: Premises, revision: PlanRevision, start: datetime, stop: datetime) -> int:
    checks = revision.checks.filter(cadence__kind="clock")
    return insert_due(
        [_row(check, premises, slot, None) for check in checks for slot in _slots(check, premises, start, stop, {})]
    )


def _checks_for(lot: Lot, revision: PlanRevision, subject: str) -> list[Check]:
    """The lot's checks; a check limited to products applies to batches of these and to all milk."""
    found = revision.checks.filter(subject=subject).prefetch_related("products")
    return [
        check
        for check in found
        if lot.product_id is None
        or not check.products.all()
        or lot.product_id in {product.id for product in check.products.all()}
    ]


def _slots(
    check: Check,
    premises: Premises,
    start: datetime,
    end: datetime,
    events: Mapping[str, Sequence[datetime]],
) -> list[Slot]:
    return slots(
        check.cadence,
        time_zone=premises.time_zone,
        window_before_s=check.window_before_s,
        grace_s=check.grace_s,
        start=start,
        end=end,
        events=events,
    )


def _row(check: Check, premises: Premises, slot: Slot, lot: Lot | None) -> DueCheck:
    return DueCheck(
        premises=premises,
        check_due=check,
        lot=lot,
        slot_key=f"{lot.id if lot else ''}|{slot.key}",
        opens_at=slot.opens_at,
        due_at=slot.due_at,
        grace_ends_at=slot.grace_ends_at,
    )


def _take_back(lot: Lot, rows: list[DueCheck]) -> None:
    """What was planned before an event ended it (the batch left the room) and nobody has done falls due no more."""
    keys = {(row.check_due_id, row.slot_key) for row in rows}
    for due in DueCheck.objects.filter(lot=lot).unsettled():
        if (due.check_due_id, due.slot_key) not in keys:
            DueCheck.objects.filter(pk=due.pk, settled_at__isnull=True).delete()


def insert_due(rows: list[DueCheck]) -> int:
    """Stores the rows that are not there yet; another worker may be planning the same stretch."""
    if not rows:
        return 0
    keys = {(row.check_due_id, row.slot_key) for row in rows}
    there = set(
        DueCheck.objects.filter(
            check_due__in={check for check, _ in keys}, slot_key__in={key for _, key in keys}
        ).values_list("check_due_id", "slot_key")
    )
    fresh = [row for row in rows if (row.check_due_id, row.slot_key) not in there]
    DueCheck.objects.bulk_create(fresh, ignore_conflicts=True, batch_size=500)
    return len(fresh)
