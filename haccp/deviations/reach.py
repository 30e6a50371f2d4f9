"""How far a breach reaches: what was made of what it touched, what it came to by brine or unclean equipment, and, where
nobody knows where it came from, what shares a source with it."""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from haccp.deviations import contacts
from haccp.deviations.contacts import Touch
from haccp.deviations.implication import Implication, Touched, check_of, implicated
from haccp.deviations.models import CorrectiveStep, Deviation, ImplicatedLot
from haccp.lots import closure
from haccp.lots import queries as lots
from haccp.lots.models import Lot
from haccp.lots.stays import in_places, moves_of
from haccp.premises.models import Place, Premises
from haccp.science.implication import spread

Way = ImplicatedLot.Way
STORES = (Place.Kind.RIPENING_ROOM, Place.Kind.COLD_STORE)

# Lots, each with the moment from which it is touched -> what it may pass on to.
Ways = Callable[[Mapping[UUID, datetime]], Iterable[Touch]]
# (deviation, now) -> lots that came to where the breach is after it was opened; registered by its cause.
Newcomers = Callable[[Deviation, datetime], Iterable[Touched]]
_NEWCOMERS: dict[str, Newcomers] = {}


def register_newcomers(cause: str, source: Newcomers) -> None:
    """Called once, when a room above that opens deviations is ready."""
    _NEWCOMERS[cause] = source


def reach(
    premises: Premises,
    implication: Implication,
    now: datetime,
    *,
    origin_unknown: bool = False,
    cleared: Collection[UUID] = (),
    made_from: Ways = contacts.made_from,
) -> list[tuple[Touched, str]]:
    """Every lot that may be touched, with its way: the direct ones first, then what they came to, then what they share
    a source with. Each lot once. cleared: lots that were shown not to be touched; they pass nothing on. made_from: for
    many breaches at once, `contacts.MadeFrom` of their lots."""
    direct = implication.lots
    ways = _all_ways if implication.travels else made_from
    found = [(one, Way.DIRECT.value) for one in direct]
    found += [(one, Way.ONWARD.value) for one in _onward(premises, direct, ways, cleared)]
    if origin_unknown:
        known = {one.lot.pk for one, _ in found}
        common = [one for one in in_common(premises, direct, now) if one.lot.pk not in known]
        known |= {one.lot.pk for one in common}
        made = [one for one in _onward(premises, common, contacts.made_from, cleared) if one.lot.pk not in known]
        found += [(one, Way.COMMON.value) for one in (*common, *made)]
    return found


def in_common(premises: Premises, direct: Sequence[Touched], now: datetime) -> list[Touched]:
    """What may have brought it: all that went into these lots and what else was made of that, what was in the same vat
    or on the same equipment before them without a cleaning between, and what lay in the same room with them."""
    own = {one.lot.pk for one in direct}
    found: dict[UUID, Touched] = {}

    def add(touched: Iterable[Touched]) -> None:
        for one in touched:
            if one.lot.pk not in own:
                found.setdefault(one.lot.pk, one)

    sources = list(
        Lot.objects.for_premises(premises).filter(pk__in=closure.ancestors(own)).order_by("-begun_at", "code")
    )
    codes = ", ".join(one.lot.code for one in direct[:3]) + (" and others" if len(direct) > 3 else "")
    add(Touched(source, f"went into {codes}", source.begun_at) for source in sources)
    for source in sources:
        made = Lot.objects.for_premises(premises).filter(pk__in=closure.descendants([source.pk]))
        add(Touched(lot, f"was made with {source.code} as well", lot.begun_at) for lot in made.order_by("begun_at"))
    add(_with_lots(premises, contacts.before_uncleaned({one.lot.pk: one.at for one in direct})))
    for moves in moves_of(own).values():
        for stay in in_places(moves):
            if stay.place.kind in STORES:
                there = lots.in_place_between(stay.place, stay.start, stay.end or now)
                add(
                    Touched(lot, f"was in {stay.place.name} together with it", max(lot.begun_at, stay.start))
                    for lot in there
                )
    return list(found.values())


def not_yet_implicated(premises: Premises, deviation: Deviation, now: datetime) -> list[tuple[Touched, str]]:
    """What an open deviation reaches by now and does not name: what came there since, and what was made since.

    What somebody took out again (“not touched after all”) passes nothing on.
    """
    return _beyond(premises, _as_it_stands(premises, deviation, now), now, origin_unknown=deviation.origin_unknown)


def may_be_touched(premises: Premises, deviation: Deviation, now: datetime, most: int = 60) -> list[tuple[Lot, str]]:
    """What it would reach besides, did it travel and were its origin unknown: for a person to choose from.

    The wider the net, the more sound product it holds.
    """
    stands = _as_it_stands(premises, deviation, now)
    found = _beyond(premises, stands, now, origin_unknown=deviation.origin_unknown)
    if not (stands.touched.travels and deviation.origin_unknown):
        wider = replace(stands, touched=replace(stands.touched, travels=True))
        found += _beyond(premises, wider, now, origin_unknown=True)
    offered: dict[UUID, tuple[Lot, str]] = {}
    for one, _ in found:
        offered.setdefault(one.lot.pk, (one.lot, one.why))
    return list(offered.values())[:most]


@dataclass(frozen=True, slots=True)
class _Standing:
    """touched: the lots touched themselves that were not taken out again, and what came to them since. reached: those
    named that they came to. named: all that the deviation names. cleared: those that were taken out again."""

    touched: Implication
    reached: tuple[Touched, ...]
    named: frozenset[UUID]
    cleared: frozenset[UUID]


def _as_it_stands(premises: Premises, deviation: Deviation, now: datetime) -> _Standing:
    known = list(deviation.implicated.select_related("lot"))
    named = frozenset(one.lot_id for one in known)
    cleared = frozenset(_cleared([deviation])[deviation.pk])
    came = _newcomers(premises, deviation, now)

    def by(way: str) -> tuple[Touched, ...]:
        return tuple(
            Touched(one.lot, one.why, one.touched_from) for one in known if one.way == way and one.lot_id not in cleared
        )

    new = tuple(one for one in came.lots if one.lot.pk not in named)
    touched = replace(came, lots=(*by(Way.DIRECT), *new))
    return _Standing(touched, by(Way.ONWARD), named, cleared)


def _beyond(premises: Premises, stands: _Standing, now: datetime, *, origin_unknown: bool) -> list[tuple[Touched, str]]:
    found = reach(premises, stands.touched, now, origin_unknown=origin_unknown, cleared=stands.cleared)
    ways = _ways_of(stands.touched)
    found += [(one, Way.ONWARD.value) for one in _onward(premises, stands.reached, ways, stands.cleared)]
    fresh: dict[UUID, tuple[Touched, str]] = {}
    for one, way in found:
        if one.lot.pk not in stands.named:
            fresh.setdefault(one.lot.pk, (one, way))
    return list(fresh.values())


def implicated_with(lot: Lot, at: datetime) -> set[UUID]:
    """Ids of all lots that the deviations about this lot implicate, of those that were open at a moment or since; but
    for what was shown not to be touched. Three queries."""
    about = Deviation.objects.filter(implicated__lot=lot).exclude(closure__closed_at__lt=at)
    deviations = list(about.prefetch_related("implicated"))
    cleared = _cleared(deviations)
    return {
        one.lot_id
        for deviation in deviations
        for one in deviation.implicated.all()
        if one.lot_id not in cleared[deviation.pk]
    }


def _newcomers(premises: Premises, deviation: Deviation, now: datetime) -> Implication:
    checked = check_of(deviation)
    if checked is not None:
        check, lot = checked
        return implicated(premises, check, lot, deviation.occurred_at, now)
    source = _NEWCOMERS.get(deviation.cause)
    came = tuple(source(deviation, now)) if source is not None else ()
    return Implication(deviation.exposed_from, came, travels=deviation.cause != Deviation.Cause.INSTRUMENT)


def _cleared(deviations: Sequence[Deviation]) -> dict[UUID, set[UUID]]:
    """Deviation -> the lots of which “not touched after all” was said last. One query."""
    steps = CorrectiveStep.objects.filter(
        deviation__in=deviations, kind=CorrectiveStep.Kind.DISPOSITION, lot__isnull=False
    ).order_by("recorded_at", "pk")
    last = {(of, lot_id): said for of, lot_id, said in steps.values_list("deviation", "lot", "disposition")}
    found: dict[UUID, set[UUID]] = {deviation.pk: set() for deviation in deviations}
    for (of, lot_id), said in last.items():
        if said == CorrectiveStep.Disposition.NOT_TOUCHED:
            found[of].add(lot_id)
    return found


def _ways_of(implication: Implication) -> Ways:
    return _all_ways if implication.travels else contacts.made_from


def _all_ways(asked: Mapping[UUID, datetime]) -> list[Touch]:
    return [*contacts.made_from(asked), *contacts.into_brines(asked), *contacts.by_uncleaned(asked)]


def _onward(
    premises: Premises,
    direct: Sequence[Touched],
    ways: Ways,
    cleared: Collection[UUID],
) -> list[Touched]:
    seeds: dict[UUID, datetime] = {}
    for one in direct:
        seeds[one.lot.pk] = min(one.at, seeds.get(one.lot.pk, one.at))
    reached = spread(seeds, lambda asked: [contact for contact in ways(asked) if contact.target not in cleared])
    passed = [(node, at.by, at.at) for node, at in reached.items() if at.by is not None and node not in seeds]
    found = Lot.objects.for_premises(premises).in_bulk([node for node, _, _ in passed])
    return [Touched(found[node], by.why, at) for node, by, at in passed if node in found]


def _with_lots(premises: Premises, touches: Collection[Touch]) -> list[Touched]:
    found = Lot.objects.for_premises(premises).in_bulk({one.target for one in touches})
    return [Touched(found[one.target], one.why, one.begun) for one in touches if one.target in found]
