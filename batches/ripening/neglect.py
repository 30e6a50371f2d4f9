"""Days of neglect: which batch's care is overdue, and on which days nobody recorded anything in a room."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from batches.ripening.models import Care, CareKind, CareLot, CareRhythm, RoomReading
from haccp.checks.models import Record
from haccp.lots.queries import Lodger
from haccp.premises.models import Premises
from haccp.science.climate.care import days_without_a_visit, neglected_days

# Far enough back for the slowest rhythm that people keep; what was neglected earlier is history, not a task
WINDOW = timedelta(days=60)
SHOWN = timedelta(days=13)


@dataclass(frozen=True, slots=True)
class Overdue:
    """A care of a batch that is overdue today. days: since when, in days; neglected: days of it in the window."""

    lodger: Lodger
    kind: str
    every_days: int
    days: int
    neglected: int

    @property
    def word(self) -> str:
        return str(CareKind(self.kind).label)


@dataclass(frozen=True, slots=True)
class DaySeen:
    """One of the last days of a room. neglected: batches whose care was overdue on it."""

    day: date
    is_seen: bool
    neglected: int


@dataclass(frozen=True, slots=True)
class RoomCare:
    """overdue: today, worst first. days: the last two weeks, oldest first."""

    overdue: tuple[Overdue, ...]
    days: tuple[DaySeen, ...]

    @property
    def unseen_count(self) -> int:
        return sum(not one.is_seen for one in self.days)

    @property
    def neglected_count(self) -> int:
        return sum(one.neglected > 0 for one in self.days)


def room_care(premises: Premises, lodgers: Mapping[UUID, Iterable[Lodger]], today: date) -> dict[UUID, RoomCare]:
    """Place -> how its cheeses are looked after. In a constant number of queries."""
    everyone = [one for of_room in lodgers.values() for one in of_room]
    rhythms = _rhythms(premises)
    given = _given(premises, everyone, today)
    seen = _seen(premises, list(lodgers), today)
    return {
        place_id: _of_room(premises, list(of_room), rhythms, given, seen[place_id], today)
        for place_id, of_room in lodgers.items()
    }


def _rhythms(premises: Premises) -> dict[UUID, list[tuple[str, int]]]:
    found: dict[UUID, list[tuple[str, int]]] = defaultdict(list)
    for one in CareRhythm.objects.filter(product__premises=premises):
        found[one.product_id].append((one.kind, one.every_days))
    return found


def _given(premises: Premises, lodgers: list[Lodger], today: date) -> dict[tuple[UUID, str], set[date]]:
    """(batch, kind) -> the local days on which it was given."""
    found: dict[tuple[UUID, str], set[date]] = defaultdict(set)
    rows = CareLot.objects.filter(
        lot__in=[one.lot.pk for one in lodgers], care__done_at__date__gte=today - WINDOW - timedelta(days=1)
    ).values_list("lot_id", "care__kind", "care__done_at")
    for lot_id, kind, done_at in rows:
        found[lot_id, kind].add(premises.local_date(done_at))
    return found


def _seen(premises: Premises, place_ids: list[UUID], today: date) -> dict[UUID, set[date]]:
    """Place -> the local days on which anything was recorded there."""
    since = today - SHOWN - timedelta(days=1)
    found: dict[UUID, set[date]] = defaultdict(set)
    rows = [
        *Record.objects.filter(place__in=place_ids, observed_at__date__gte=since).values_list(
            "place_id", "observed_at"
        ),
        *Care.objects.filter(place__in=place_ids, done_at__date__gte=since).values_list("place_id", "done_at"),
        *RoomReading.objects.filter(place__in=place_ids, read_at__date__gte=since).values_list("place_id", "read_at"),
    ]
    for place_id, moment in rows:
        if place_id is not None:
            found[place_id].add(premises.local_date(moment))
    return found


def _of_room(
    premises: Premises,
    lodgers: list[Lodger],
    rhythms: Mapping[UUID, list[tuple[str, int]]],
    given: Mapping[tuple[UUID, str], set[date]],
    seen: set[date],
    today: date,
) -> RoomCare:
    overdue: list[Overdue] = []
    neglected_on: dict[date, set[UUID]] = defaultdict(set)
    for one in lodgers:
        since = max(premises.local_date(one.since), today - WINDOW)
        for kind, every_days in rhythms.get(one.lot.product_id, ()) if one.lot.product_id else ():
            days = neglected_days(given.get((one.lot.pk, kind), ()), every_days, since=since, until=today)
            for day in days:
                neglected_on[day].add(one.lot.pk)
            if days and days[-1] == today:
                overdue.append(Overdue(one, kind, every_days, _run_to(days, today), len(days)))
    first = today - SHOWN
    unseen = set(days_without_a_visit(seen, since=first, until=today)) if lodgers else set()
    strip = tuple(
        DaySeen(day, day not in unseen, len(neglected_on.get(day, ())))
        for day in (first + timedelta(days=i) for i in range(SHOWN.days + 1))
    )
    return RoomCare(tuple(sorted(overdue, key=lambda x: (-x.days, x.lodger.lot.code))), strip)


def _run_to(days: list[date], today: date) -> int:
    """How many days in a row up to today."""
    known, count = set(days), 0
    while today - timedelta(days=count) in known:
        count += 1
    return count


def care_of(lot_id: UUID, *, most: int = 200) -> list[Care]:
    """What was done to a batch, newest first."""
    return list(
        Care.objects.filter(lots__lot=lot_id).select_related("place", "recorded_by").order_by("-done_at")[:most]
    )
