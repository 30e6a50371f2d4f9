"""Where the batch was: the vat cleaned before the make, the rooms watched while it lay there."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Prefetch

from batches.release.facts import Facts, doubt_words
from batches.release.points import Link, Matter, Point, met, outstanding, unproven
from haccp.calibration.models import Doubt
from haccp.calibration.queries import standing_doubts
from haccp.checks.models import Record, RulingRow
from haccp.lots.kinds import EventKind
from haccp.lots.models import Lot, LotEvent
from haccp.lots.stays import ENTERS
from haccp.plan.models import Check
from haccp.premises.models import Place
from haccp.science.ruling import Ruling

CLEANING = "cleaning"


@dataclass(frozen=True, slots=True)
class Stay:
    """ended_at: the moment of the gate where the batch is still there."""

    place: Place
    began_at: datetime
    ended_at: datetime


def surroundings(facts: Facts) -> Iterable[Point]:
    stays = stays_of(facts)
    if not stays:
        return
    places = {stay.place.pk: stay.place for stay in stays}
    checks = list(
        Check.objects.filter(
            revision__in=set(facts.revisions.values()), subject=Check.Subject.PLACE, place__in=places
        ).select_related("control_point")
    )
    records = _records(facts, places, checks, max(stay.ended_at for stay in stays))
    doubts = standing_doubts(one.pk for group in records.values() for one in group)
    yield from _cleaned(facts, stays[0], checks, records, doubts)
    yield from _watched(facts, stays, checks, records, doubts)


def stays_of(facts: Facts) -> list[Stay]:
    """Where the batch was, from when to when, in order. One query."""
    moves = list(
        LotEvent.objects.filter(lot=facts.batch, kind__in=[*ENTERS, EventKind.LEFT_ROOM])
        .select_related("place")
        .order_by("occurred_at", "recorded_at")
    )
    ends = [move.occurred_at for move in moves[1:]] + [facts.at]
    return [
        Stay(move.place, move.occurred_at, end)
        for move, end in zip(moves, ends, strict=True)
        if move.place is not None and move.kind != EventKind.LEFT_ROOM
    ]


def _records(
    facts: Facts, places: Iterable[UUID], checks: Sequence[Check], until: datetime
) -> dict[tuple[UUID, str], list[Record]]:
    """(place, name of the check in any revision) -> records in order; from the last make in the vat on."""
    found: dict[tuple[UUID, str], list[Record]] = defaultdict(list)
    rows = (
        Record.objects.for_premises(facts.premises)
        .current()
        .filter(
            place__in=list(places),
            check_done__name__in={check.name for check in checks},
            observed_at__lte=until,
            observed_at__gte=_last_make_in_the_vat(facts) or facts.batch.begun_at,
        )
        .select_related("check_done__control_point")
        .prefetch_related(Prefetch("rulings", RulingRow.objects.all()))
        .order_by("observed_at")
    )
    for record in rows:
        if record.place_id is not None:
            found[record.place_id, record.check_done.name].append(record)
    return found


def _last_make_in_the_vat(facts: Facts) -> datetime | None:
    """When the make before this one began in the same vat; the dairy's opening where there was none."""
    own = LotEvent.objects.filter(lot=facts.batch, kind=EventKind.MAKE_STARTED).values("place")
    before = LotEvent.objects.filter(
        place__in=own, kind=EventKind.MAKE_STARTED, occurred_at__lt=facts.batch.begun_at, lot__kind=Lot.Kind.BATCH
    ).exclude(lot=facts.batch)
    last = before.order_by("-occurred_at").values_list("occurred_at", flat=True).first()
    return last or facts.premises.log.opened_at


def _cleaned(
    facts: Facts,
    vat: Stay,
    checks: Sequence[Check],
    records: dict[tuple[UUID, str], list[Record]],
    doubts: Mapping[UUID, Doubt],
) -> Iterable[Point]:
    """The last cleaning record of the vat between the make before and this one."""
    for check in checks:
        if check.place_id != vat.place.pk or check.control_point.programme != CLEANING:
            continue
        if check.revision_id != facts.revisions[facts.batch.pk]:
            continue
        done = [one for one in records[vat.place.pk, check.name] if one.observed_at <= vat.began_at]
        if not done:
            words = f"No record shows that {vat.place.name} was cleaned between the make before and this one."
            yield unproven(Matter.CLEANING, f"{words} “{check.name}” was not done.")
            continue
        last, link = done[-1], Link("checks:record", "Open the record", done[-1].pk)
        if doubt := doubt_words(doubts.get(last.pk)):
            yield unproven(Matter.CLEANING, f"{check.name} on {facts.when(last.observed_at)}: {doubt}", link)
        elif _is_satisfied(last):
            words = f"{check.name}: done and met on {facts.when(last.observed_at)}, before the make."
            yield met(Matter.CLEANING, words, link)
        elif not _told_by_a_deviation(facts, last):
            words = f"{check.name} on {facts.when(last.observed_at)} was not met, and nothing was decided about it."
            yield outstanding(Matter.CLEANING, words, link)


def _watched(
    facts: Facts,
    stays: Sequence[Stay],
    checks: Sequence[Check],
    records: dict[tuple[UUID, str], list[Record]],
    doubts: Mapping[UUID, Doubt],
) -> Iterable[Point]:
    """Critical limits of each place while the batch was there."""
    told: set[tuple[UUID, str]] = set()
    for check in checks:
        key = (check.place_id, check.name)
        if not check.control_point.is_critical or check.place_id is None or key in told:
            continue
        told.add((check.place_id, check.name))
        there = [stay for stay in stays if stay.place.pk == check.place_id]
        seen = [
            one
            for one in records[check.place_id, check.name]
            if any(stay.began_at <= one.observed_at <= stay.ended_at for stay in there)
        ]
        name = f"{check.name} ({check.control_point.code})"
        untold = [one for one in seen if not _is_satisfied(one) and not _told_by_a_deviation(facts, one)]
        for one in untold:
            words = f"{name} on {facts.when(one.observed_at)} was not met, and this batch was not evaluated."
            yield outstanding(Matter.ROOM, words, Link("checks:record", "Open the record", one.pk))
        in_doubt = [one for one in seen if one.pk in doubts]
        if in_doubt:
            first = in_doubt[0]
            words = f"{name}: {len(in_doubt)} of {len(seen)} records. {doubt_words(doubts[first.pk])}"
            yield unproven(
                Matter.ROOM, words, Link("deviations:detail", "Open the deviation", doubts[first.pk].deviation_id)
            )
        elif not seen:
            yield unproven(Matter.ROOM, f"{name}: no record while the batch was in {there[0].place.name}.")
        elif not untold:
            met_count = sum(_is_satisfied(one) for one in seen)
            span = f"from {facts.when(seen[0].observed_at)} to {facts.when(seen[-1].observed_at)}"
            rest = "" if met_count == len(seen) else "; the others were decided under their deviation"
            yield met(Matter.ROOM, f"{name}: {met_count} of {len(seen)} records met, {span}{rest}.")


def _is_satisfied(record: Record) -> bool:
    rulings = list(record.rulings.all())
    return bool(rulings) and all(Ruling(one.ruling).is_satisfied for one in rulings)


def _told_by_a_deviation(facts: Facts, record: Record) -> bool:
    """Whether a deviation about this record implicates the batch or its milk: it tells of the ruling."""
    return any(one.ruling is not None and one.ruling.record_id == record.pk for one in facts.deviations)
