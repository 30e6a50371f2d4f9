"""Which lots a breach touched itself: all made or kept there since the last check that was met, until the next.

What became of them from there, and what they have in common, is worked out in `haccp.deviations.reach`.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery

from haccp.checks.models import MissedCheck, Record, RulingRow
from haccp.deviations.models import Deviation
from haccp.ledger.bulk import among
from haccp.lots import queries as lots
from haccp.lots.kinds import USES
from haccp.lots.models import Lot
from haccp.plan.models import Check
from haccp.premises.models import Place, Premises
from haccp.science.ruling import Ruling

SATISFIED = (Ruling.MET, Ruling.CLOSE)
HOLDS_LOTS = (
    Place.Kind.VAT,
    Place.Kind.RIPENING_ROOM,
    Place.Kind.COLD_STORE,
    Place.Kind.MILK_STORE,
    Place.Kind.BRINE_TANK,
)
TOUCHES_CHEESE = (Place.Kind.VAT, Place.Kind.BRINE_TANK, Place.Kind.EQUIPMENT)


@dataclass(frozen=True, slots=True)
class Touched:
    """A lot, the sentence that says by which way it is touched, and from when on it may be."""

    lot: Lot
    why: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Implication:
    """exposed_from: the last check that was met before the breach; None when there never was one.

    travels: whether it goes from lot to lot by a brine or by what was not cleaned. A germ, glass or a dirty vat does. A
    step that was not shown to work (heat, acid, a warm room) concerns the lots that went through it and what was made
    of them.
    """

    exposed_from: datetime | None
    lots: tuple[Touched, ...]
    travels: bool


def implicated(premises: Premises, check: Check, lot: Lot | None, breach_at: datetime, now: datetime) -> Implication:
    """Computed from the plan's check, the lot it was about (None for a place or the dairy) and the moment.

    A lot that a check was about is taken as touched from its beginning: when the record was written says little of
    when the breach began. now: what came there after the breach is touched as well, until the check is met again.
    """
    if lot is not None:
        return Implication(None, (Touched(lot, f"{check.name} was about this lot", lot.begun_at),), travels=False)
    since = last_met_at(premises, check, breach_at)
    until = next_met_at(premises, check, breach_at) or max(now, breach_at)
    travels = check.place is not None and check.place.kind in TOUCHES_CHEESE
    return Implication(since, tuple(_exposed(premises, check, since, until)), travels)


def implicated_by_missed(
    missed: Sequence[MissedCheck], premises: Mapping[UUID, Premises], now: datetime
) -> list[Implication]:
    """As `implicated` for each, of one or many premises. What is read does not grow with their number, but for those
    whose premises hold any lot."""
    of_all = Lot.objects.filter(premises__in=among(list(premises))).order_by()
    with_lots = set(of_all.values_list("premises", flat=True).distinct())
    since = last_met_before([one for one in missed if one.due.premises_id not in with_lots])
    return [
        implicated(premises[one.due.premises_id], one.due.check_due, one.due.lot, one.missed_at, now)
        if one.due.premises_id in with_lots
        else Implication(since.get(one.pk), (), travels=False)
        for one in missed
    ]


def last_met_before(missed: Sequence[MissedCheck]) -> dict[UUID, datetime | None]:
    """As `last_met_at` for each, in three queries; of a check about a lot, when it was last met for that lot."""
    rows = MissedCheck.objects.filter(pk__in=among([one.pk for one in missed]))
    met = Record.objects.current_one_by_one().filter(
        Exists(RulingRow.objects.filter(record=OuterRef("pk"))),
        ~Exists(RulingRow.objects.filter(record=OuterRef("pk")).exclude(ruling__in=SATISFIED)),
        premises=OuterRef("due__premises"),
        check_done__name=OuterRef("due__check_due__name"),
        check_done__control_point__code=OuterRef("due__check_due__control_point__code"),
        observed_at__lt=OuterRef("missed_at"),
    )
    found: dict[UUID, datetime | None] = {}
    for those, here in (
        (Q(due__lot__isnull=False), met.filter(lot=OuterRef("due__lot"))),
        (Q(due__lot__isnull=True, due__check_due__place__isnull=True), met.filter(place__isnull=True)),
        (
            Q(due__lot__isnull=True, due__check_due__place__isnull=False),
            met.filter(place=OuterRef("due__check_due__place")),
        ),
    ):
        last = Subquery(here.order_by("-observed_at").values("observed_at")[:1])
        found |= dict(rows.filter(those).annotate(last_met=last).order_by().values_list("pk", "last_met"))
    return found


def implicated_by_name(named: Sequence[Lot], by: str, since: datetime | None = None) -> Implication:
    """Lots that a person or a laboratory named. since: when it happened to them; None for from their beginning on."""
    return Implication(None, tuple(touched_there(named, f"named by {by}", since)), travels=True)


def touched_there(lots_there: Iterable[Lot], why: str, since: datetime | None) -> list[Touched]:
    """Lots that were somewhere since a moment (None for ever), touched from when both had come about."""
    return [Touched(lot, why, max(lot.begun_at, since) if since else lot.begun_at) for lot in lots_there]


def last_met_at(premises: Premises, check: Check, before: datetime) -> datetime | None:
    """When the same check, by its control point's code and its name in any revision, was last met at this place."""
    met = _times_met(premises, check).filter(observed_at__lt=before)
    return met.order_by("-observed_at").first()


def next_met_at(premises: Premises, check: Check, after: datetime) -> datetime | None:
    met = _times_met(premises, check).filter(observed_at__gt=after)
    return met.order_by("observed_at").first()


def check_of(deviation: Deviation) -> tuple[Check, Lot | None] | None:
    """The check that was not met or not done, and the lot it was about; None where something else opened it."""
    if deviation.ruling is not None:
        return deviation.ruling.record.check_done, deviation.ruling.record.lot
    if deviation.missed is not None:
        return deviation.missed.due.check_due, deviation.missed.due.lot
    return None


def _exposed(premises: Premises, check: Check, since: datetime | None, until: datetime) -> list[Touched]:
    place = check.place
    when = f"since {check.name} was last met" if since else f"and {check.name} was never met before"
    if place is not None and place.kind in HOLDS_LOTS:
        there = lots.in_place_between(place, since, until)
        if place.kind == Place.Kind.BRINE_TANK:
            there = [*there, *lots.brines_in(place, since, until)]
        return touched_there(there, f"was in {place.name} {when}", since)
    batches = Lot.objects.for_premises(premises).filter(begun_at__lte=until).exclude(kind=Lot.Kind.RECEIVED)
    if place is not None and place.kind == Place.Kind.EQUIPMENT:
        used = Q(events__place=place, events__kind__in=USES, events__occurred_at__lte=until)
        if since:
            used &= Q(events__occurred_at__gt=since)
        with_it = list(batches.filter(used).distinct())
        if with_it or Lot.objects.filter(events__place=place, events__kind__in=USES).exists():
            return touched_there(with_it, f"{place.name} was used for it {when}", since)
    made = batches.batches()
    return touched_there(made.filter(begun_at__gt=since) if since else made, f"was made {when}", since)


def _times_met(premises: Premises, check: Check) -> QuerySet[Record, datetime]:
    """When the check was met, in any revision, at its place; in no order."""
    unmet = RulingRow.objects.exclude(ruling__in=SATISFIED).values("record")
    return (
        Record.objects.for_premises(premises)
        .current()
        .filter(
            check_done__name=check.name,
            check_done__control_point__code=check.control_point.code,
            place=check.place,
            rulings__isnull=False,
        )
        .exclude(pk__in=unmet)
        .values_list("observed_at", flat=True)
    )
