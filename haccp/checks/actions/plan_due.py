"""Turns the plan's cadences into rows of due checks. Idempotent: the slot's key says which rows exist already."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.db.models import Exists, OuterRef, Q

from haccp.checks.actions.missed import flag_past_grace
from haccp.checks.closed import Calendar, calendar_of
from haccp.checks.models import DueCheck, PlanningMark, Record
from haccp.checks.models.due import DueQuerySet
from haccp.lots.kinds import USES
from haccp.lots.models import Lot, LotEvent
from haccp.lots.queries import revisions_over
from haccp.lots.subjects import SUBJECT_OF_KIND
from haccp.plan.models import Check, PlanRevision
from haccp.premises.models import Place, Premises
from haccp.science.schedule import USE, Slot, slots
from haccp.science.schedule.cadence import LONGEST_OFFSET_S

HORIZON = timedelta(hours=36)
LONGEST_OFFSET = timedelta(seconds=LONGEST_OFFSET_S)
USE_LOOKS_BACK = timedelta(days=9)  # a check is due a week after a use at most


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
    calendar = calendar_of(premises)
    for revision, start, stop in _stretches(revisions, begin, end):
        made += _plan_clock(premises, revision, start, stop, calendar)
    PlanningMark.objects.update_or_create(premises=premises, defaults={"planned_until": end})
    return made


def plan_due(*, premises: Premises, now: datetime) -> int:
    """All that time alone makes due: by the clock, and daily for the lots that have daily checks. How many are new."""
    planned = plan_due_for_premises(premises=premises, now=now)
    for lot in lots_with_daily_checks(premises):
        planned += plan_due_for_lot(lot=lot, now=now)
    return planned


@transaction.atomic
def plan_due_for_lot(*, lot: Lot, now: datetime) -> int:
    """Due checks that follow from the events of one lot, by the revision it stands under. Returns how many are new.

    A lot that was moved has the checks of each revision while it stood under it.
    """
    subject = SUBJECT_OF_KIND.get(Lot.Kind(lot.kind))
    if subject is None:
        return 0
    events: dict[str, list[datetime]] = defaultdict(list)
    for kind, occurred_at in lot.events.order_by("occurred_at").values_list("kind", "occurred_at"):
        events[kind].append(occurred_at)
    rows: list[DueCheck] = []
    calendar = calendar_of(lot.premises)
    for revision, start, stop in revisions_over(lot, now + LONGEST_OFFSET):
        for check in _checks_for(lot, revision, subject):
            # What a day alone makes due is planned a little ahead; what an event makes due is known at once.
            until = min(stop, now + HORIZON) if check.cadence["kind"] == "event_daily" else stop
            if start < until:
                rows += [
                    _row(check, lot.premises, slot, lot)
                    for slot in _slots(check, lot.premises, start, until, events, calendar)
                ]
    _take_back(DueCheck.objects.filter(lot=lot), rows, now)
    return insert_due(rows)


def retime_done(*, event: LotEvent, corrected: LotEvent) -> None:
    """A check that was done for an event at its wrong time was the one due at its right time: it keeps its record."""
    wrong, right = (f"{event.lot_id}|{one.kind}@{_in_key(one.occurred_at)}Z" for one in (corrected, event))
    shift = event.occurred_at - corrected.occurred_at
    done = DueCheck.objects.filter(lot=event.lot_id, slot_key__startswith=wrong, settled_at__isnull=False)
    for due in done.filter(missed__isnull=True):
        key = right + due.slot_key.removeprefix(wrong)
        if DueCheck.objects.filter(check_due=due.check_due_id, slot_key=key).exists():
            continue
        due.slot_key = key
        due.opens_at, due.due_at, due.grace_ends_at = (
            moment + shift for moment in (due.opens_at, due.due_at, due.grace_ends_at)
        )
        due.save(update_fields=["slot_key", "opens_at", "due_at", "grace_ends_at"])


def _in_key(moment: datetime) -> str:
    """As science.schedule writes it into the keys of slots."""
    return moment.astimezone(UTC).replace(tzinfo=None).isoformat()


@transaction.atomic
def plan_due_for_use(*, premises: Premises, place: Place, used_at: datetime, now: datetime) -> int:
    """Due checks that follow from the use of a place or piece of equipment. Returns how many are new.

    A later use of the day takes back what an earlier one had planned as the last, unless it was done or missed.
    """
    by_use = Check.objects.filter(
        place=place, revision__premises=premises, revision__approval__isnull=False, cadence__kind="use"
    )
    revisions = list(PlanRevision.objects.filter(checks__in=by_use).distinct().order_by("effective_from", "number"))
    if not revisions:
        return 0
    every = list(PlanRevision.objects.for_premises(premises).approved().order_by("effective_from", "number"))
    since, until = min(used_at, now) - USE_LOOKS_BACK, now + USE_LOOKS_BACK
    events = {
        USE: list(
            LotEvent.objects.filter(lot__premises=premises, place=place, kind__in=USES)
            .order_by("occurred_at")
            .values_list("occurred_at", flat=True)
        )
    }
    rows: list[DueCheck] = []
    calendar = calendar_of(premises)
    for revision, start, stop in _stretches(every, since, until):
        for check in by_use.filter(revision=revision):
            rows += [
                _row(check, premises, slot, None) for slot in _slots(check, premises, start, stop, events, calendar)
            ]
    planned = DueCheck.objects.filter(check_due__in=by_use, due_at__gte=since, due_at__lt=until)
    _take_back(planned, rows, now)
    made = insert_due(rows)
    _answer_by_extras(planned.filter(check_due__cadence__when="before_first"), now)
    return made


def _answer_by_extras(planned: DueQuerySet, now: datetime) -> None:
    """Before the first use nobody knows that it comes: a check done ahead, as an extra one, is the one then due."""
    for due in planned.unsettled():
        taken = DueCheck.objects.filter(answered_by__isnull=False).values("answered_by")
        record = (
            Record.objects.filter(
                check_done=due.check_due_id,
                due__isnull=True,
                amends__isnull=True,
                observed_at__gte=due.opens_at,
                observed_at__lte=due.grace_ends_at,
            )
            .exclude(pk__in=taken)
            .order_by("-observed_at")
            .first()
        )
        if record is not None:
            DueCheck.objects.filter(pk=due.pk, settled_at__isnull=True).update(settled_at=now, answered_by=record)


@transaction.atomic
def replan_after_approval(*, premises: Premises, revision: PlanRevision, at: datetime) -> None:
    """Takes back what an earlier revision had planned past the new one's start and nobody has done yet."""
    assert revision.effective_from is not None
    flag_past_grace(DueCheck.objects.for_premises(premises), at)  # no new plan takes back what was missed
    replan_from(premises=premises, moment=revision.effective_from)
    used = Check.objects.filter(
        revision__premises=premises, revision__approval__isnull=False, cadence__kind="use", place__isnull=False
    )
    for place in Place.objects.filter(pk__in=used.values("place")):
        plan_due_for_use(premises=premises, place=place, used_at=at, now=at)


def replan_from(*, premises: Premises, moment: datetime) -> None:
    """Takes back what the clock had planned from a moment on and nobody has done; the next sweep plans it anew."""
    DueCheck.objects.filter(
        premises=premises,
        lot__isnull=True,
        check_due__cadence__kind="clock",
        settled_at__isnull=True,
        due_at__gte=moment,
    ).delete()
    PlanningMark.objects.filter(premises=premises, planned_until__gt=moment).update(planned_until=moment)


def after_approval(revision: PlanRevision, at: datetime) -> None:
    """What the schedule does about a new revision; registered in haccp.plan.consequences."""
    replan_after_approval(premises=revision.premises, revision=revision, at=at)


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


def _plan_clock(premises: Premises, revision: PlanRevision, start: datetime, stop: datetime, calendar: Calendar) -> int:
    checks = revision.checks.filter(cadence__kind="clock")
    return insert_due(
        [
            _row(check, premises, slot, None)
            for check in checks
            for slot in _slots(check, premises, start, stop, {}, calendar)
        ]
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
    calendar: Calendar,
) -> list[Slot]:
    return slots(
        check.cadence,
        time_zone=premises.time_zone,
        window_before_s=check.window_before_s,
        grace_s=check.grace_s,
        start=start,
        end=end,
        events=events,
        closed=calendar.for_check(check),
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


def _take_back(planned: DueQuerySet, rows: list[DueCheck], now: datetime) -> None:
    """What was planned before an event ended it (the batch left the room) and nobody has done falls due no more.

    What is past its grace by then was missed, whether a sweep has come to it or not.
    """
    keys = {(row.check_due_id, row.slot_key) for row in rows}
    for due in planned.unsettled().filter(grace_ends_at__gt=now):
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
