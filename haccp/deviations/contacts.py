"""How what is in one lot or on it comes to another: by being made from it, by a brine, by what was not cleaned between.

Each function gives contacts for many lots at once, in a constant number of queries.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from datetime import UTC, datetime, timedelta
from uuid import UUID

from haccp.deviations.cleaned import Cleanings, cleanings_of
from haccp.lots.kinds import USES, EventKind
from haccp.lots.models import Lot, LotEvent, LotLink
from haccp.lots.stays import InPlace, in_places, moves_of
from haccp.science.implication import Contact

Touch = Contact[UUID]

# Where cleaning is not recorded: a vat is cleaned after the day (common practice, no source).
SHARED_FOR = timedelta(hours=24)
ANY_TIME = datetime.max.replace(tzinfo=UTC)
MOMENT = timedelta(microseconds=1)  # at the end of its stay a lot is there no more


def made_from(asked: Mapping[UUID, datetime]) -> list[Touch]:
    """Lots that these went into. What lay in a brine is touched by it for as long as it lay there."""
    links = list(
        LotLink.objects.filter(parent__in=list(asked))
        .select_related("parent", "child")
        .order_by("recorded_at", "pk")
        .only("recorded_at", "parent__code", "parent__kind", "child__begun_at")
    )
    brined = [link for link in links if link.parent.kind == Lot.Kind.BRINE]
    lain = _in_brine({link.child_id for link in brined})
    found = [_made(link) for link in links if link.parent.kind != Lot.Kind.BRINE or link.child_id not in lain]
    for link in brined:
        found += [
            Contact(link.parent_id, link.child_id, stay.start, stay.end, f"lay in {link.parent.code}")
            for stay in lain.get(link.child_id, ())
        ]
    return found


class MadeFrom:
    """`made_from` for many breaches at once: asked of the database once for all lots that these went into, by rounds.

    What was made of a lot is the same whatever the moment, so that one answer serves every breach.
    """

    def __init__(self, lots: Iterable[UUID]) -> None:
        self._known: dict[UUID, list[Touch]] = {}
        asked = set(lots)
        while asked:
            self._read(asked)
            reached = {touch.target for lot in asked for touch in self._known[lot]}
            asked = {lot for lot in reached if lot not in self._known}

    def __call__(self, asked: Mapping[UUID, datetime]) -> list[Touch]:
        self._read({lot for lot in asked if lot not in self._known})
        return [touch for lot in asked for touch in self._known[lot]]

    def _read(self, lots: Collection[UUID]) -> None:
        if not lots:
            return
        self._known |= {lot: [] for lot in lots}
        for touch in made_from(dict.fromkeys(lots, ANY_TIME)):
            self._known[touch.source].append(touch)


def into_brines(asked: Mapping[UUID, datetime]) -> list[Touch]:
    """Brines in which these lots lay, from then on."""
    links = list(
        LotLink.objects.filter(child__in=list(asked), parent__kind=Lot.Kind.BRINE)
        .select_related("child")
        .only("parent_id", "child__code", "child__begun_at")
    )
    lain = _in_brine({link.child_id for link in links})
    found: list[Touch] = []
    for link in links:
        times = [(stay.start, stay.end) for stay in lain.get(link.child_id, ())] or [(link.child.begun_at, None)]
        why = f"{link.child.code} lay in it"
        found += [Contact(link.child_id, link.parent_id, start, end, why) for start, end in times]
    return found


def by_uncleaned(asked: Mapping[UUID, datetime]) -> list[Touch]:
    """Lots for which the same vat or piece of equipment was used next, as long as no cleaning is recorded between."""
    return _shared(asked, forwards=True)


def before_uncleaned(asked: Mapping[UUID, datetime]) -> list[Touch]:
    """Lots for which the same was used before, with no cleaning between: what was found may come from them."""
    return _shared(asked, forwards=False)


def _made(link: LotLink) -> Touch:
    # Whatever the moment: a milk may have been bad long before somebody said so.
    return Contact(link.parent_id, link.child_id, link.child.begun_at, None, f"was made with {link.parent.code}")


def _in_brine(lot_ids: Collection[UUID]) -> dict[UUID, list[InPlace]]:
    if not lot_ids:
        return {}
    tanks = set(
        LotEvent.objects.filter(lot__in=lot_ids, kind=EventKind.LAID_IN_BRINE).values_list("lot_id", "occurred_at")
    )
    found: dict[UUID, list[InPlace]] = defaultdict(list)
    for lot_id, moves in moves_of(lot_ids).items():
        found[lot_id] = [stay for stay in in_places(moves) if (lot_id, stay.start) in tanks]
    return {lot_id: stays for lot_id, stays in found.items() if stays}


def _shared(asked: Mapping[UUID, datetime], *, forwards: bool) -> list[Touch]:
    own = list(_uses(lot__in=list(asked)))
    places = {event.place_id for event in own if event.place_id is not None}
    if not places:
        return []
    others: dict[UUID, list[LotEvent]] = defaultdict(list)
    window = [event.occurred_at for event in own]
    around = {"occurred_at__gte": min(window)} if forwards else {"occurred_at__lte": max(window)}
    for event in _uses(place__in=places, **around):
        assert event.place_id is not None
        others[event.place_id].append(event)
    cleanings = cleanings_of(places)
    ends = {
        (stay.lot_id, stay.place.pk, stay.start): stay.end and stay.end - MOMENT
        for moves in moves_of({event.lot_id for event in own}).values()
        for stay in in_places(moves)
    }
    found: list[Touch] = []
    for use in own:
        assert use.place is not None
        stands = use.lot.kind == Lot.Kind.BRINE  # in its tank, until it is poured away
        in_use_until = None if stands else ends.get((use.lot_id, use.place.pk, use.occurred_at), use.occurred_at)
        for other in others[use.place.pk]:
            if other.lot_id == use.lot_id:
                continue
            first, then = (use, other) if forwards else (other, use)
            words = _uncleaned_between(first.occurred_at, then.occurred_at, cleanings.get(use.place.pk))
            if words:
                order = "after" if forwards else "before"
                why = f"{use.place.name} was used for it {order} {use.lot.code}, {words}"
                found.append(Contact(use.lot_id, other.lot_id, other.occurred_at, in_use_until, why))
    return found


def _uses(**which: object) -> Iterable[LotEvent]:
    return (
        LotEvent.objects.filter(kind__in=USES, place__isnull=False, **which)
        .select_related("place", "lot")
        .order_by("occurred_at", "recorded_at")
    )


def _uncleaned_between(first: datetime, then: datetime, cleanings: Cleanings | None) -> str:
    """In words, what connects two uses of a place; nothing where a cleaning stands between them."""
    if then < first:
        return ""
    if cleanings is None or first < cleanings.asked_since:
        return "within a day" if then - first < SHARED_FOR else ""
    at = bisect_right(cleanings.at, first)
    cleaned = at < len(cleanings.at) and cleanings.at[at] <= then
    return "" if cleaned else "and no cleaning is recorded between"
