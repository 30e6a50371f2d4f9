"""Reads about checks: today's rounds, what was missed, whether the schedule runs."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from uuid import UUID

from django.conf import settings
from django.db.models import OuterRef, Prefetch, Q, QuerySet, Subquery

from haccp.checks.doubts import say_doubts
from haccp.checks.models import DueCheck, MissedCheck, Record, RulingRow, SweepRun, TraceFile
from haccp.checks.models.record import RecordQuerySet
from haccp.checks.unanswered import Unanswered, unanswered
from haccp.lots.models import Lot
from haccp.plan.models import Check
from haccp.premises.models import Instrument, Place, Premises
from haccp.science.evaluators.elapsed import SLOW

# Late in the evening "later today" would be empty, while an overnight set or the early round is still to come.
LOOK_AHEAD = timedelta(hours=8)
SLOW_LOOKS_BACK = timedelta(days=4)  # no vat acidifies for longer


@dataclass(frozen=True, slots=True)
class Round:
    """Due checks of one place, in the order of the walk; place is None for those of a lot or the whole dairy."""

    place: Place | None
    checks: tuple[DueCheck, ...]


@dataclass(frozen=True, slots=True)
class Today:
    """late: past due, still in grace. due: may be done now. later: opens later today, or in the next few hours.
    missed: what nobody has given a reason for, by kind."""

    late: tuple[Round, ...]
    due: tuple[Round, ...]
    later: tuple[Round, ...]
    missed: tuple[Unanswered, ...]
    done: tuple[Record, ...]

    @property
    def missed_count(self) -> int:
        return sum(one.count for one in self.missed)

    @property
    def late_count(self) -> int:
        return sum(len(one.checks) for one in self.late)

    @property
    def due_count(self) -> int:
        return sum(len(one.checks) for one in self.due)


def day_bounds(premises: Premises, day: date) -> tuple[datetime, datetime]:
    """The first moment of a local day and of the next, as aware datetimes; 23 to 25 hours apart."""
    start = datetime.combine(day, time.min, tzinfo=premises.zone)
    end = datetime.combine(day + timedelta(days=1), time.min, tzinfo=premises.zone)
    return start, end


def today(premises: Premises, now: datetime) -> Today:
    """What the first page shows, in a constant number of queries."""
    start, end = day_bounds(premises, premises.local_date(now))
    open_checks = list(
        DueCheck.objects.for_premises(premises)
        .unsettled()
        .filter(opens_at__lt=max(end, now + LOOK_AHEAD))
        .select_related("check_due__control_point", "check_due__place", "lot__product")
        .prefetch_related("check_due__measures__limits__products")
    )
    return Today(
        late=_rounds([due for due in open_checks if due.due_at < now]),
        due=_rounds([due for due in open_checks if due.opens_at <= now <= due.due_at]),
        later=_rounds([due for due in open_checks if due.opens_at > now]),
        missed=tuple(unanswered(premises)),
        done=tuple(
            Record.objects.for_premises(premises)
            .current()
            .filter(observed_at__gte=start, observed_at__lt=end)
            .with_details()
            .order_by("-observed_at")
        ),
    )


def missed_unanswered(premises: Premises) -> list[MissedCheck]:
    """Missed checks that nobody has given a reason for, oldest first."""
    return list(
        MissedCheck.objects.filter(due__premises=premises, due__reason_wanted=True)
        .select_related("due__check_due__control_point", "due__check_due__place", "due__lot")
        .order_by("missed_at")
    )


def records_between(premises: Premises, start: datetime, end: datetime) -> RecordQuerySet:
    """Records observed or recorded in [start, end), amended ones included."""
    return (
        Record.objects.for_premises(premises)
        .filter(observed_at__gte=start, observed_at__lt=end)
        .with_details()
        # The id settles ties: a signature binds to this very order.
        .order_by("observed_at", "recorded_at", "pk")
    )


@dataclass(frozen=True, slots=True)
class CheckToDo:
    """A check about to be done: one that is due, or an extra one (due is None)."""

    check: Check
    lot: Lot | None
    due: DueCheck | None


def due_to_do(premises: Premises, due_id: UUID) -> CheckToDo | None:
    due = (
        DueCheck.objects.for_premises(premises)
        .filter(id=due_id)
        .select_related("check_due__control_point", "check_due__place", "lot__product", "missed")
        .prefetch_related("check_due__measures__limits__products")
        .first()
    )
    return CheckToDo(due.check_due, due.lot, due) if due else None


def extra_to_do(premises: Premises, check_id: UUID, lot_id: UUID | None) -> CheckToDo | None:
    """None for a check or a lot that is not of this premises, or a check of a revision never approved."""
    check = (
        Check.objects.filter(id=check_id, revision__premises=premises, revision__approval__isnull=False)
        .select_related("control_point", "place")
        .prefetch_related("measures__limits__products")
        .first()
    )
    lot = Lot.objects.for_premises(premises).filter(id=lot_id).select_related("product").first() if lot_id else None
    if check is None or (lot_id and lot is None):
        return None
    return CheckToDo(check, lot, None)


def record_of_due(due: DueCheck) -> Record | None:
    """The latest version of the record that answered a due check."""
    done = Record.objects.current().filter(due=due).select_related("recorded_by").first()
    if done is None and due.answered_by_id is not None:
        return versions_of(Record.objects.get(pk=due.answered_by_id))[-1]
    return done


def last_records(dues: Sequence[DueCheck]) -> dict[UUID, Record]:
    """Due check -> the last record of the same check, of the same lot where it is about one; constant queries.

    The same check of whichever revision: a copy of the plan keeps where each part came from.
    """
    found = _last_of_lots([due for due in dues if due.lot_id]) | _last_of_checks(
        [due for due in dues if not due.lot_id]
    )
    records = Record.objects.with_details().in_bulk(set(found.values()))
    return {due_id: records[record_id] for due_id, record_id in found.items()}


def _last_of_lots(dues: Sequence[DueCheck]) -> dict[UUID, UUID]:
    if not dues:
        return {}
    latest = Record.objects.current_one_by_one().filter(check_done=OuterRef("check_due"), lot=OuterRef("lot"))
    return dict(
        DueCheck.objects.filter(pk__in=[due.pk for due in dues])
        .annotate(last_id=Subquery(latest.order_by("-observed_at").values("pk")[:1]))
        .exclude(last_id=None)
        .values_list("pk", "last_id")
    )


def _last_of_checks(dues: Sequence[DueCheck]) -> dict[UUID, UUID]:
    """One look at the end of an index for each revision of a check, whatever history holds."""
    if not dues:
        return {}
    keys = {UUID(due.check_due.key) for due in dues}
    latest = Record.objects.current_one_by_one().filter(check_done=OuterRef("pk")).order_by("-observed_at")
    newest: dict[UUID, tuple[datetime, UUID]] = {}
    of_keys = Check.objects.filter(Q(pk__in=keys) | Q(origin__in=keys)).annotate(
        last_id=Subquery(latest.values("pk")[:1]), last_at=Subquery(latest.values("observed_at")[:1])
    )
    for pk, origin, last_id, last_at in of_keys.values_list("pk", "origin", "last_id", "last_at"):
        key = origin or pk
        if last_id is not None and (key not in newest or newest[key][0] < last_at):
            newest[key] = (last_at, last_id)
    return {due.pk: newest[key][1] for due in dues if (key := UUID(due.check_due.key)) in newest}


def same_check(check: Check) -> QuerySet[Check]:
    """The check in every revision that has it."""
    return Check.objects.filter(Q(pk=check.key) | Q(origin=check.key))


def last_record(todo: CheckToDo) -> Record | None:
    found = Record.objects.current_one_by_one().filter(check_done__in=same_check(todo.check))
    if todo.lot is not None:
        found = found.filter(lot=todo.lot)
    return found.with_details().order_by("-observed_at").first()


def usual_instrument(check: Check, instruments: Sequence[Instrument]) -> Instrument | None:
    """The instrument last used for this check, else one that belongs to its place, else the only one there is."""
    last_id = (
        Record.objects.filter(check_done__in=same_check(check), instrument__in=instruments)
        .order_by("-recorded_at")
        .values_list("instrument", flat=True)
        .first()
    )
    for instrument in instruments:
        if instrument.id == last_id:
            return instrument
    at_place = [one for one in instruments if one.place_id and one.place_id == check.place_id]
    if at_place:
        return at_place[0]
    return instruments[0] if len(instruments) == 1 else None


def next_in_round(premises: Premises, *, place_id: UUID | None, now: datetime) -> DueCheck | None:
    """What to do next: at the same place first, then on along the walk, then what was passed by; None for nothing."""
    open_now = (
        DueCheck.objects.for_premises(premises)
        .unsettled()
        .filter(opens_at__lte=now)
        .select_related("check_due__place", "lot")
    )
    rounds = _rounds(list(open_now))
    if not rounds:
        return None
    here = Place.objects.filter(pk=place_id).first() if place_id else None
    onward = [one for one in rounds if _walk_key(one.place) >= _walk_key(here)]
    return (onward or rounds)[0].checks[0]


def record_in_full(premises: Premises, record_id: UUID) -> Record | None:
    """A record with what its page shows, rulings with the deviation that each opened."""
    return (
        Record.objects.for_premises(premises)
        .filter(id=record_id)
        .select_related(
            "check_done__control_point",
            "check_done__place",
            "revision",
            "due__missed",
            "lot__product",
            "place",
            "instrument",
            "trace",
            "recorded_by",
        )
        .prefetch_related(
            "readings__measure",
            Prefetch("rulings", queryset=RulingRow.objects.select_related("limit", "deviation")),
        )
        .first()
    )


def versions_of(record: Record) -> list[Record]:
    """Every version of a record, the first one first. One query for each amendment and two more."""
    first = record
    while first.amends_id:
        first = Record.objects.get(pk=first.amends_id)
    ids = [first.pk]
    while (following := Record.objects.filter(amends=ids[-1]).values_list("pk", flat=True).first()) is not None:
        ids.append(following)
    versions = Record.objects.with_details().in_bulk(ids)
    return [versions[pk] for pk in ids]


def trace_of(premises: Premises, trace_id: UUID) -> TraceFile | None:
    return TraceFile.objects.filter(premises=premises, id=trace_id).first()


def other_uses(trace: TraceFile, lot: Lot | None) -> list[Record]:
    """Records of other lots that rest on the very same file: one recording can prove one heat treatment."""
    found = Record.objects.current().filter(premises=trace.premises_id, trace__sha256=trace.sha256)
    return list((found.exclude(lot=lot) if lot else found).select_related("lot", "check_done").order_by("observed_at"))


def missed_in_full(premises: Premises, missed_id: UUID) -> MissedCheck | None:
    return (
        MissedCheck.objects.filter(due__premises=premises, id=missed_id)
        .select_related(
            "due__check_due__control_point",
            "due__check_due__place",
            "due__lot",
            "reason__given_by",
            "deviation",
            "deviation_joined__deviation",
        )
        .first()
    )


def due_of_lot(lot_id: UUID) -> list[DueCheck]:
    """Every check that is or was due for a lot, with its records."""
    return list(
        DueCheck.objects.filter(lot_id=lot_id)
        .select_related("check_due__control_point", "missed", "missed__reason")
        .prefetch_related(Prefetch("records", queryset=Record.objects.current().with_details()))
        .order_by("due_at")
    )


def slow_now(premises: Premises, now: datetime) -> list[RulingRow]:
    """Limits by elapsed time that will be missed at the rate of their last reading, before they are; one query.

    Each with its record and lot, the first to come first. What was read again since, or is over, is not among them.
    """
    rows = (
        RulingRow.objects.filter(
            record__premises=premises,
            record__lot__isnull=False,
            record__amended_by__isnull=True,
            record__observed_at__gt=now - SLOW_LOOKS_BACK,
            limit__evaluator="elapsed",
        )
        .select_related("record__lot__product", "limit")
        .order_by("record__observed_at", "record__recorded_at")
    )
    last: dict[tuple[UUID | None, UUID], RulingRow] = {(row.record.lot_id, row.limit_id): row for row in rows}
    slow = [
        row for row in last.values() if row.code == SLOW and datetime.fromisoformat(str(row.facts["deadline"])) > now
    ]
    return sorted(slow, key=lambda row: str(row.facts["deadline"]))


def schedule_patience_s() -> float:
    """How long the sweep may be silent before the site says so: several sweeps, and five minutes at least."""
    return max(300.0, 5 * settings.SWEEP_SECONDS)


def records_of_lot(lot_id: UUID) -> list[Record]:
    """Every record about a lot in order of observation, each in its latest version; those in doubt say so."""
    found = Record.objects.filter(lot_id=lot_id).current().with_details().order_by("observed_at", "recorded_at")
    return say_doubts(found)


def schedule_stopped_since(*, now: datetime, allowed_s: float) -> datetime | None:
    """When the sweep last ran, if that is longer ago than allowed; None while it runs.

    Where it has never run, the time since the first dairy was opened counts.
    """
    last = SweepRun.objects.filter(name=SweepRun.DUE_CHECKS).values_list("finished_at", flat=True).first()
    if last is None:
        last = Premises.objects.order_by("log__opened_at").values_list("log__opened_at", flat=True).first()
    if last is None or (now - last).total_seconds() <= allowed_s:
        return None
    return last


def _walk_key(place: Place | None) -> tuple[int, str]:
    return (place.walking_order, place.name) if place else (-1, "")


def _rounds(checks: Sequence[DueCheck]) -> tuple[Round, ...]:
    def place_key(due: DueCheck) -> tuple[int, str]:
        return _walk_key(due.check_due.place)

    rounds: dict[tuple[int, str], list[DueCheck]] = {}
    for due in sorted(checks, key=lambda due: (place_key(due), due.due_at)):
        rounds.setdefault(place_key(due), []).append(due)
    return tuple(Round(members[0].check_due.place, tuple(members)) for members in rounds.values())
