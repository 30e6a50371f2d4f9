"""Which lots a breach may have touched: all made or kept there since the last check that was met, and what was made
from those."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db.models import QuerySet

from haccp.checks.models import Record, RulingRow
from haccp.deviations.models import Deviation
from haccp.lots import closure
from haccp.lots import queries as lots
from haccp.lots.models import Lot, LotEvent
from haccp.plan.models import Check
from haccp.premises.models import Place, Premises
from haccp.science.ruling import Ruling

SATISFIED = (Ruling.MET, Ruling.CLOSE)


@dataclass(frozen=True, slots=True)
class Implication:
    """exposed_from: the last check that was met before the breach; None when there never was one.
    lots: each with the sentence that says by which path it is touched."""

    exposed_from: datetime | None
    lots: tuple[tuple[Lot, str], ...]


def implicated(premises: Premises, check: Check, lot: Lot | None, breach_at: datetime) -> Implication:
    """Computed from the plan's check, the lot it was about (None for a place or the dairy) and the moment."""
    since = None if lot is not None else last_met_at(premises, check, breach_at)
    direct = [(lot, f"{check.name} was about this lot")] if lot else _exposed(premises, check, since, breach_at)
    return Implication(since, (*direct, *_made_from(premises, [touched for touched, _ in direct])))


def implicated_by_name(premises: Premises, named: Sequence[Lot], by: str) -> Implication:
    """Lots that a person named, and all that was made from them."""
    direct = [(lot, f"named by {by}") for lot in named]
    return Implication(None, (*direct, *_made_from(premises, named)))


def with_what_was_made(premises: Premises, since: datetime | None, direct: Sequence[tuple[Lot, str]]) -> Implication:
    """Lots that another room found touched, each with why, and all that was made from them."""
    return Implication(since, (*direct, *_made_from(premises, [lot for lot, _ in direct])))


def last_met_at(premises: Premises, check: Check, before: datetime) -> datetime | None:
    """When the same check, by its control point's code and its name in any revision, was last met at this place."""
    met = _times_met(premises, check).filter(observed_at__lt=before)
    return met.order_by("-observed_at").first()


def _exposed(premises: Premises, check: Check, since: datetime | None, until: datetime) -> list[tuple[Lot, str]]:
    place = check.place
    if place is not None and place.kind in (
        Place.Kind.VAT,
        Place.Kind.RIPENING_ROOM,
        Place.Kind.COLD_STORE,
        Place.Kind.MILK_STORE,
        Place.Kind.BRINE_TANK,
    ):
        touched: Iterable[Lot] = lots.in_place_between(place, since, until)
        why = f"was in {place.name}"
    else:
        made = Lot.objects.for_premises(premises).batches().filter(begun_at__lte=until)
        touched = made.filter(begun_at__gt=since) if since else made
        why = "was made"
    when = f"since {check.name} was last met" if since else f"and {check.name} was never met before"
    return [(lot, f"{why} {when}") for lot in touched]


def _made_from(premises: Premises, direct: Sequence[Lot]) -> list[tuple[Lot, str]]:
    parent_of = lots.descendants_of(lot.id for lot in direct)
    codes: dict[UUID, str] = {lot.id: lot.code for lot in direct}
    found = {lot.id: lot for lot in Lot.objects.for_premises(premises).filter(pk__in=parent_of)}
    codes |= {lot.id: lot.code for lot in found.values()}
    known = {lot.id for lot in direct}
    return [
        (lot, f"was made with {codes.get(parent_of[lot.id], 'a lot above')}")
        for lot in found.values()
        if lot.id not in known
    ]


VAT_SHARED_FOR = timedelta(hours=24)  # a vat is cleaned between makes: the one before and the one after may share it
MOST_SUGGESTED = 60


def also_touched(premises: Premises, deviation: Deviation, now: datetime) -> list[tuple[Lot, str]]:
    """Lots that are not implicated and may be: what shared a place, equipment, milk or an ingredient with those that
    are, and what came into the place of the check after the breach while control was not shown to be regained.

    For a person to choose from: the wider the net, the more sound product it holds.
    """
    known = list(deviation.implicated.select_related("lot"))
    known_ids = {one.lot_id for one in known}
    found: dict[UUID, tuple[Lot, str]] = {}

    def add(touched: Iterable[Lot], why: str) -> None:
        for lot in touched:
            if lot.pk not in known_ids:
                found.setdefault(lot.pk, (lot, why))

    check = _check_of(deviation)
    if check is not None and check.place is not None:
        until = _next_met_at(premises, check, deviation.occurred_at) or now
        add(lots.in_place_between(check.place, deviation.occurred_at, until), f"was in {check.place.name} after it")
    shared = closure.ancestors(known_ids) | known_ids
    sources = Lot.objects.filter(pk__in=shared).exclude(kind=Lot.Kind.BATCH)
    for source in sources.order_by("code"):
        siblings = Lot.objects.for_premises(premises).filter(pk__in=closure.descendants([source.pk]))
        add(siblings.order_by("code"), f"was made with {source.code} as well")
    enters = LotEvent.objects.filter(lot__in=known_ids, place__isnull=False, kind__in=lots.ENTERS)
    for event in enters.select_related("place", "lot").order_by("occurred_at"):
        if event.place is None:
            continue
        is_vat = event.place.kind == Place.Kind.VAT
        margin = VAT_SHARED_FOR if is_vat else timedelta(0)
        together = lots.in_place_between(event.place, event.occurred_at - margin, event.occurred_at + margin)
        how = "within a day of" if is_vat else "together with"
        add(together, f"was in {event.place.name} {how} {event.lot.code}")
    return list(found.values())[:MOST_SUGGESTED]


def _check_of(deviation: Deviation) -> Check | None:
    if deviation.ruling is not None:
        return deviation.ruling.record.check_done
    return deviation.missed.due.check_due if deviation.missed is not None else None


def _next_met_at(premises: Premises, check: Check, after: datetime) -> datetime | None:
    met = _times_met(premises, check).filter(observed_at__gt=after)
    return met.order_by("observed_at").first()


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
