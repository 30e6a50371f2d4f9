"""The climate of each room over the period: what was read at its places, and what was missed."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from haccp.checks.models import MissedCheck, Reading
from haccp.plan.models import CriticalLimit, Measure
from haccp.premises.models import Place
from haccp.reports.gather.reader_units import ReaderUnits
from haccp.reports.gather.scope import PackScope, in_groups
from haccp.science.units import from_si, quantity_of, unit_of

CLIMATE = ("temperature", "relative_humidity")
ROOMS = (Place.Kind.RIPENING_ROOM, Place.Kind.COLD_STORE, Place.Kind.MILK_STORE)


@dataclass(frozen=True, slots=True)
class RoomClimate:
    """points: (observed, value in unit), oldest first. Bounds in unit, None where the plan sets none."""

    place: str
    label: str
    quantity: str
    unit: str
    decimals: int
    limit: str
    points: tuple[tuple[datetime, float], ...]
    low: float | None
    high: float | None
    target_low: float | None
    target_high: float | None
    missed: tuple[datetime, ...]
    outside: int


def room_climates(scope: PackScope) -> tuple[RoomClimate, ...]:
    """One for each room and thing measured in it, in walking order; one query for each five hundred records."""
    readings: dict[tuple[int, str, str, str], list[Reading]] = defaultdict(list)
    for group in in_groups(scope.current_ids):
        for reading in Reading.objects.filter(
            record__in=group,
            record__place__kind__in=ROOMS,
            measure__quantity__in=CLIMATE,
            value_si__isnull=False,
        ).select_related("record__place", "measure"):
            place = reading.record.place
            assert place is not None
            key = (place.walking_order, place.name, reading.measure.quantity, reading.measure.label)
            readings[key].append(reading)
    missed = _missed(scope)
    newest = {key: max(found, key=lambda one: one.record.observed_at).measure_id for key, found in readings.items()}
    limits = _limits(set(newest.values()))
    units = scope.period.units
    return tuple(
        _climate(readings[key], limits.get(newest[key]), missed[key[1]], key[3], units) for key in sorted(readings)
    )


def _limits(measure_ids: set[UUID]) -> dict[UUID, CriticalLimit]:
    found: dict[UUID, CriticalLimit] = {}
    for measure in Measure.objects.filter(id__in=measure_ids).prefetch_related("limits"):
        own = [limit for limit in measure.limits.all() if limit.quantity == measure.quantity]
        if own:
            found[measure.id] = own[0]
    return found


def _missed(scope: PackScope) -> dict[str, list[datetime]]:
    found: dict[str, list[datetime]] = defaultdict(list)
    for group in in_groups(scope.missed_ids):
        rows = MissedCheck.objects.filter(id__in=group, due__check_due__place__isnull=False)
        for place, due_at in rows.values_list("due__check_due__place__name", "due__due_at"):
            found[place].append(due_at)
    return found


def _climate(
    readings: list[Reading], limit: CriticalLimit | None, missed: list[datetime], label: str, units: ReaderUnits
) -> RoomClimate:
    first = readings[0]
    quantity = quantity_of(first.measure.quantity)
    unit = units.unit(quantity.key) or (limit.unit if limit else first.measure.unit)

    def shown(value: float | None) -> float | None:
        return None if value is None else from_si(quantity.key, value, unit)

    points = sorted((r.record.observed_at, shown(r.value_si) or 0.0) for r in readings)
    low, high = (shown(limit.low), shown(limit.high)) if limit else (None, None)
    outside = sum((low is not None and value < low) or (high is not None and value > high) for _, value in points)
    place = first.record.place
    assert place is not None
    return RoomClimate(
        place=place.name,
        label=label,
        quantity=quantity.name,
        unit=unit_of(quantity, unit).symbol,
        decimals=quantity.decimals,
        limit=limit.statement + units.beside_limit(limit) if limit else "",
        points=tuple(points),
        low=low,
        high=high,
        target_low=shown(limit.target_low) if limit else None,
        target_high=shown(limit.target_high) if limit else None,
        missed=tuple(sorted(missed)),
        outside=outside,
    )
