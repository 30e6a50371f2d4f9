"""Reads about rooms: what is in them, since when, and how old it is."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import OuterRef, QuerySet, Subquery

from batches.ripening.ageing_clock import BatchClock, clocks_of
from batches.ripening.models import RoomReading, Weighing
from batches.ripening.neglect import RoomCare, room_care
from haccp.checks.doubts import say_doubts
from haccp.checks.models import Record
from haccp.lots.age import age_in_days
from haccp.lots.queries import Lodger, batches_in_places
from haccp.premises.models import Instrument, Place, Premises
from haccp.premises.queries import places_of

ROOM_KINDS = (Place.Kind.RIPENING_ROOM, Place.Kind.COLD_STORE)


@dataclass(frozen=True, slots=True)
class Room:
    """lodgers: each with its age in days. last: the last record of a check at this place, in its latest version.
    air: what a person read there after it, besides the checks; None where nothing was."""

    place: Place
    lodgers: tuple[tuple[Lodger, int], ...]
    last: Record | None
    air: RoomReading | None
    care: RoomCare

    @property
    def held_count(self) -> int:
        return sum(one.on_hold for one, _age in self.lodgers)


def usual_scale(premises: Premises) -> Instrument | None:
    """The scale last weighed on, else the only one there is."""
    scales = Instrument.objects.filter(premises=premises, kind=Instrument.Kind.SCALE, retired_at__isnull=True)
    last = Weighing.objects.filter(instrument__in=scales).order_by("-recorded_at").first()
    if last is not None:
        return last.instrument
    found = list(scales[:2])
    return found[0] if len(found) == 1 else None


@dataclass(frozen=True, slots=True)
class Ageing:
    """A batch in a room, with its clock."""

    lodger: Lodger
    age_days: int
    clock: BatchClock


def lodgers_with_clocks(premises: Premises, room: Room, now: datetime) -> tuple[Ageing, ...]:
    """What is in a room, each with its ageing clock, in a constant number of queries."""
    clocks = clocks_of(premises, [one.lot for one, _age in room.lodgers], now)
    return tuple(Ageing(one, age, clocks[one.lot.pk]) for one, age in room.lodgers)


def rooms_of(premises: Premises) -> QuerySet[Place]:
    return places_of(premises).filter(kind__in=ROOM_KINDS)


def rooms(premises: Premises, now: datetime, places: list[Place] | None = None) -> tuple[Room, ...]:
    """Every room (or those given) with what is in it now, in a constant number of queries."""
    places = list(rooms_of(premises)) if places is None else places
    lodgers: dict[UUID, list[tuple[Lodger, int]]] = defaultdict(list)
    for one in batches_in_places(premises, places):
        lodgers[one.place_id].append((one, age_in_days(premises, one.lot, now)))
    last = _last_records(premises, places)
    inside = {place.pk: [one for one, _age in lodgers[place.pk]] for place in places}
    care = room_care(premises, inside, premises.local_date(now))
    air = _later_air(places, last)
    return tuple(
        Room(place, tuple(lodgers[place.pk]), last.get(place.pk), air.get(place.pk), care[place.pk]) for place in places
    )


def _later_air(places: list[Place], last: Mapping[UUID, Record]) -> dict[UUID, RoomReading]:
    newest = RoomReading.objects.filter(place=OuterRef("place")).order_by("-read_at", "-recorded_at").values("pk")[:1]
    found = RoomReading.objects.filter(place__in=[place.pk for place in places], pk=Subquery(newest))
    return {
        one.place_id: one for one in found if one.place_id not in last or one.read_at > last[one.place_id].observed_at
    }


def _last_records(premises: Premises, places: list[Place]) -> dict[UUID, Record]:
    current = Record.objects.for_premises(premises).current()
    newest = current.filter(place=OuterRef("pk")).order_by("-observed_at", "-recorded_at").values("pk")[:1]
    last = Place.objects.filter(pk__in=[place.pk for place in places]).annotate(last_record=Subquery(newest))
    record_of = dict(last.values_list("pk", "last_record"))
    records = Record.objects.with_details().in_bulk([pk for pk in record_of.values() if pk is not None])
    say_doubts(records.values())
    return {place_id: records[pk] for place_id, pk in record_of.items() if pk is not None}
