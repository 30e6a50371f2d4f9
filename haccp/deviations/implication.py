"""Which lots a breach may have touched: all made or kept there since the last check that was met, and what was made
from those."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from haccp.checks.models import Record, RulingRow
from haccp.lots import queries as lots
from haccp.lots.models import Lot
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
    unmet = RulingRow.objects.exclude(ruling__in=SATISFIED).values("record")
    return (
        Record.objects.for_premises(premises)
        .current()
        .filter(
            check_done__name=check.name,
            check_done__control_point__code=check.control_point.code,
            place=check.place,
            observed_at__lt=before,
            rulings__isnull=False,
        )
        .exclude(pk__in=unmet)
        .order_by("-observed_at")
        .values_list("observed_at", flat=True)
        .first()
    )


def _exposed(premises: Premises, check: Check, since: datetime | None, until: datetime) -> list[tuple[Lot, str]]:
    place = check.place
    if place is not None and place.kind in (
        Place.Kind.VAT,
        Place.Kind.RIPENING_ROOM,
        Place.Kind.COLD_STORE,
        Place.Kind.MILK_STORE,
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
