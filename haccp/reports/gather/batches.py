"""Batches with their milk, everything that happened to them, and their holds; and the milk itself."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Prefetch

from batches.intake.models import MilkLot
from batches.making.models import Brine, Make
from batches.release.gate import Gate, gate_of
from batches.release.models import Release
from batches.ripening.ageing_clock import clocks_of
from haccp.lots.kinds import EventKind
from haccp.lots.models import Hold, Lot, LotEvent, LotLink
from haccp.premises.models import Membership, Premises
from haccp.premises.scope import Scope
from haccp.reports.gather.evidence import Evidence
from haccp.reports.gather.period import Period
from haccp.reports.gather.scope import PackScope, in_groups

BATCHES_PER_QUERY = 100


@dataclass(frozen=True, slots=True)
class Happening:
    """An event, a hold or the end of one, as the ledger has it."""

    ref: str
    at: datetime
    what: str
    where: str
    note: str
    by: str


@dataclass(frozen=True, slots=True)
class BatchSheet:
    """made_of: (code, kind, amount with unit, empty of a brine). ageing: what its clock said when the paper was asked
    for. gate: None where not asked.
    """

    id: UUID
    code: str
    ref: str
    product: str
    begun_at: datetime
    vat: str
    note: str
    made_of: tuple[tuple[str, str, str], ...]
    happenings: tuple[Happening, ...]
    holds_standing: tuple[str, ...]
    ageing: str
    gate: Gate | None


@dataclass(frozen=True, slots=True)
class MilkLine:
    """used_in: (code of the batch, amount with unit, empty of a brine)."""

    ref: str
    code: str
    kind: str
    received_at: datetime
    about: str
    amount: str
    used_in: tuple[tuple[str, str], ...]
    by: str


def batch_sheets(scope: PackScope, evidence: Evidence) -> Iterator[BatchSheet]:
    """Oldest first, a hundred at a time; a constant number of queries for each."""
    premises = Premises.objects.get(pk=scope.period.premises_id)
    for group in in_groups(scope.batch_ids, BATCHES_PER_QUERY):
        found = {lot.id: lot for lot in _lots(group)}
        made_of = _made_of(group)
        clocks = clocks_of(premises, found.values(), scope.period.asked_at)
        makes = {make.lot_id: make for make in Make.objects.filter(lot__in=group).select_related("vat")}
        for one in group:
            yield _sheet(found[one], made_of[one], makes.get(one), clocks[one].sentence, evidence)


def gate_on(batch_id: UUID, period: Period) -> Gate | None:
    """The release gate when the paper was asked for; some dozens of queries. None where the asker has left since."""
    asker = Membership.objects.filter(
        premises=period.premises_id, user=period.asked_by_id, left_at__isnull=True
    ).first()
    if asker is None:
        return None
    lot = Lot.objects.filter(premises=period.premises_id).select_related("product", "premises").get(pk=batch_id)
    return gate_of(Scope(asker), lot, period.asked_at)


def milk_lines(scope: PackScope, evidence: Evidence) -> Iterator[MilkLine]:
    """Milk and ingredients, oldest first."""
    for group in in_groups(scope.milk_ids, BATCHES_PER_QUERY):
        used: dict[UUID, list[tuple[str, str]]] = defaultdict(list)
        for link in LotLink.objects.filter(parent__in=group).select_related("parent", "child").order_by("child__code"):
            used[link.parent_id].append((link.child.code, _amount(link)))
        milk = {one.lot_id: one for one in MilkLot.objects.filter(lot__in=group)}
        brines = {one.lot_id: one for one in Brine.objects.filter(lot__in=group).select_related("tank")}
        lots = {lot.id: lot for lot in Lot.objects.filter(id__in=group).select_related("recorded_by")}
        for one in group:
            lot, detail = lots[one], milk.get(one)
            yield MilkLine(
                ref=evidence.ref(f"lot:{one}"),
                code=lot.code,
                kind=lot.get_kind_display(),
                received_at=lot.begun_at,
                about=_about(detail, brines.get(one)),
                amount=f"{detail.typed_volume} {detail.typed_unit}" if detail else "",
                used_in=tuple(used[one]),
                by=lot.recorded_by.name,
            )


def _about(milk: MilkLot | None, brine: Brine | None) -> str:
    if milk is not None:
        return f"{milk.get_species_display()}, {milk.source}"
    return f"{brine.tank.name}; water: {brine.water}" if brine is not None else ""


def _lots(ids: Sequence[UUID]) -> Iterator[Lot]:
    yield from (
        Lot.objects.filter(id__in=ids)
        .select_related("product", "recorded_by")
        .prefetch_related(
            Prefetch(
                "events",
                queryset=LotEvent.objects.select_related("place", "recorded_by").order_by("occurred_at", "recorded_at"),
            ),
            Prefetch("releases", queryset=Release.objects.select_related("released_by").order_by("released_at")),
            Prefetch("holds", queryset=Hold.objects.select_related("lift__lifted_by").order_by("placed_at")),
        )
    )


def _made_of(ids: Sequence[UUID]) -> dict[UUID, list[tuple[str, str, str]]]:
    found: dict[UUID, list[tuple[str, str, str]]] = defaultdict(list)
    for link in LotLink.objects.filter(child__in=ids).select_related("parent").order_by("parent__code"):
        found[link.child_id].append((link.parent.code, link.parent.get_kind_display(), _amount(link)))
    return found


def _sheet(
    lot: Lot, made_of: list[tuple[str, str, str]], make: Make | None, ageing: str, evidence: Evidence
) -> BatchSheet:
    holds = list(lot.holds.all())
    return BatchSheet(
        id=lot.id,
        code=lot.code,
        ref=evidence.ref(f"lot:{lot.id}"),
        product=lot.product.name if lot.product else "",
        begun_at=lot.begun_at,
        vat=make.vat.name if make else "",
        note=make.note if make else "",
        made_of=tuple(made_of),
        happenings=tuple(sorted(_happenings(lot, holds, evidence), key=lambda one: (one.at, one.ref))),
        holds_standing=tuple(hold.reason for hold in holds if getattr(hold, "lift", None) is None),
        ageing=ageing,
        gate=None,
    )


def _happenings(lot: Lot, holds: list[Hold], evidence: Evidence) -> Iterator[Happening]:
    for event in lot.events.all():
        what = str(EventKind(event.kind).label) if event.kind in EventKind.values else event.kind
        where = event.place.name if event.place else ""
        ref = evidence.ref(f"lot_event:{event.id}")
        yield Happening(ref, event.occurred_at, what, where, event.note, event.recorded_by.name)
    for release in lot.releases.all():
        ref = evidence.ref(f"release:{release.id}")
        yield Happening(ref, release.released_at, "released", "", "", release.released_by.name)
    for hold in holds:
        yield Happening(evidence.ref(f"hold:{hold.id}"), hold.placed_at, "put on hold", "", hold.reason, "")
        lift = getattr(hold, "lift", None)
        if lift is not None:
            ref = evidence.ref(f"hold_lift:{lift.id}")
            yield Happening(ref, lift.lifted_at, "hold lifted", "", lift.reason, lift.lifted_by.name)


def _amount(link: LotLink) -> str:
    """Nothing of a brine: it is not used up by what lies in it."""
    return "" if link.parent.kind == Lot.Kind.BRINE else f"{link.amount:g} {link.unit}"
