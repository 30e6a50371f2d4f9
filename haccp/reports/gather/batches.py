"""Batches with their milk, everything that happened to them, and their holds; and the milk itself."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db.models import Prefetch

from batches.intake.models import IngredientLot, MilkLot
from batches.making.models import Brine, Make
from batches.release.gate import Gate, gate_of
from batches.release.models import Release
from batches.ripening.ageing_clock import clocks_of
from batches.stock.models import ItemEvent
from batches.tracing.amounts import Balance, balances
from haccp.lots.kinds import EventKind
from haccp.lots.models import Hold, Lot, LotEvent, LotLink
from haccp.premises.models import Membership, Premises
from haccp.premises.scope import Scope
from haccp.reports.dates import day_words
from haccp.reports.gather.evidence import Evidence
from haccp.reports.gather.make_entries import MAKE
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
    is_bad: bool = False


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
    procedure: str
    note: str
    stock: str
    went_to: tuple[str, ...]
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
        makes = {make.lot_id: make for make in Make.objects.filter(lot__in=group).select_related("vat", "procedure")}
        made = _made(group, scope, evidence)
        stock = balances(premises, found.values())
        went_to = _went_to(group, scope)
        for one in group:
            yield _sheet(
                found[one],
                made_of[one],
                makes.get(one),
                ageing=clocks[one].sentence,
                stock=_balance(stock[one], scope),
                went_to=tuple(went_to[one]),
                made=made[one],
                evidence=evidence,
            )


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
        ingredients = {
            one.lot_id: one for one in IngredientLot.objects.filter(lot__in=group).select_related("supplier")
        }
        brines = {one.lot_id: one for one in Brine.objects.filter(lot__in=group).select_related("tank")}
        lots = {lot.id: lot for lot in Lot.objects.filter(id__in=group).select_related("recorded_by")}
        for one in group:
            lot, detail = lots[one], milk.get(one) or ingredients.get(one)
            yield MilkLine(
                ref=evidence.ref(f"lot:{one}"),
                code=lot.code,
                kind=lot.get_kind_display(),
                received_at=lot.begun_at,
                about=_about(detail, brines.get(one), scope.period),
                amount=_came(detail, scope.period),
                used_in=tuple(used[one]),
                by=lot.recorded_by.name,
            )


def _came(detail: MilkLot | IngredientLot | None, period: Period) -> str:
    if isinstance(detail, MilkLot):
        beside = period.units.beside("volume", detail.volume_l, detail.typed_unit)
        return f"{detail.typed_volume} {detail.typed_unit}{beside}"
    return f"{detail.typed_amount} {detail.typed_unit}" if detail else ""


def _about(detail: MilkLot | IngredientLot | None, brine: Brine | None, period: Period) -> str:
    if isinstance(detail, MilkLot):
        words = f"{detail.get_species_display()}, {detail.source}"
        if detail.milked_from and detail.milked_until:
            first, last = (one.astimezone(period.zone) for one in (detail.milked_from, detail.milked_until))
            words += f"; milked {first:%Y-%m-%d %H:%M} to {last:%Y-%m-%d %H:%M}"
        return words
    if detail is not None:
        parts = [detail.name, str(detail.get_kind_display())]
        if detail.supplier:
            parts.append(f"from {detail.supplier.name}")
        if detail.supplier_lot:
            parts.append(f"supplier's lot {detail.supplier_lot}")
        if detail.expires_on:
            parts.append(f"last day {day_words(detail.expires_on)}")
        return ", ".join(parts)
    return f"{brine.tank.name}; water: {brine.water}" if brine is not None else ""


def _lots(ids: Sequence[UUID]) -> Iterator[Lot]:
    yield from (
        Lot.objects.filter(id__in=ids)
        .select_related("product", "recorded_by")
        .prefetch_related(
            Prefetch(
                "events",
                queryset=LotEvent.every.select_related("place", "recorded_by", "corrected_by").order_by(
                    "occurred_at", "recorded_at"
                ),
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


def _made(group: Sequence[UUID], scope: PackScope, evidence: Evidence) -> dict[UUID, list[Happening]]:
    """The make sheet of each batch."""
    found: dict[UUID, list[Happening]] = defaultdict(list)
    for source in MAKE:
        for row in source.rows(group):
            told = source.tell(row, scope)
            if told.lot_id is not None:
                ref = evidence.ref(f"{source.prefix}:{row.pk}")
                found[told.lot_id].append(Happening(ref, told.at, told.what, "", told.text, told.by, told.is_bad))
    return found


def _went_to(group: Sequence[UUID], scope: PackScope) -> dict[UUID, list[str]]:
    """Batch -> each customer with what was dispatched to them and when."""
    rows = ItemEvent.objects.filter(item__lot__in=group, kind=ItemEvent.Kind.DISPATCHED)
    sums: dict[tuple[UUID, str, date], list[float]] = defaultdict(list)
    for lot_id, name, at, kg in rows.order_by("occurred_at").values_list(
        "item__lot", "dispatch__customer__name", "dispatch__dispatched_at", "weight_kg"
    ):
        sums[lot_id, name, at.astimezone(scope.period.zone).date()].append(kg)
    found: dict[UUID, list[str]] = defaultdict(list)
    for (lot_id, name, day), weights in sums.items():
        amount = scope.period.units.show("mass", sum(weights))
        found[lot_id].append(f"{name}: {len(weights)}, {amount}, {day_words(day)}")
    return found


def _balance(balance: Balance, scope: PackScope) -> str:
    """How much came into stock, and where it is or went."""
    if balance.there is None:
        return ""

    def amount(value: float) -> str:
        return scope.period.units.show("mass", value) if balance.unit == "kg" else f"{value:g} {balance.unit}"

    parts = [f"{amount(balance.there)} came into stock"]
    parts += [f"{one.label} {amount(one.amount)}" for one in balance.outlets]
    if balance.unexplained is not None:
        parts.append(f"unexplained {amount(balance.unexplained)}")
    return "; ".join(parts)


def _sheet(
    lot: Lot,
    made_of: list[tuple[str, str, str]],
    make: Make | None,
    *,
    ageing: str,
    stock: str,
    went_to: tuple[str, ...],
    made: list[Happening],
    evidence: Evidence,
) -> BatchSheet:
    holds = list(lot.holds.all())
    return BatchSheet(
        id=lot.id,
        code=lot.code,
        ref=evidence.ref(f"lot:{lot.id}"),
        product=lot.product.name if lot.product else "",
        begun_at=lot.begun_at,
        vat=make.vat.name if make else "",
        procedure=f"version {make.procedure.number}" if make and make.procedure else "",
        note=make.note if make else "",
        stock=stock,
        went_to=went_to,
        made_of=tuple(made_of),
        happenings=tuple(sorted([*_happenings(lot, holds, evidence), *made], key=lambda one: (one.at, one.ref))),
        holds_standing=tuple(hold.reason for hold in holds if getattr(hold, "lift", None) is None),
        ageing=ageing,
        gate=None,
    )


def _happenings(lot: Lot, holds: list[Hold], evidence: Evidence) -> Iterator[Happening]:
    for event in lot.events.all():
        what = str(EventKind(event.kind).label) if event.kind in EventKind.values else event.kind
        where = event.place.name if event.place else ""
        ref = evidence.ref(f"lot_event:{event.id}")
        note = "\n".join(filter(None, (event.note, _correction(event, evidence))))
        yield Happening(ref, event.occurred_at, what, where, note, event.recorded_by.name)
    for release in lot.releases.all():
        ref = evidence.ref(f"release:{release.id}")
        yield Happening(ref, release.released_at, "released", "", "", release.released_by.name)
    for hold in holds:
        ref = evidence.ref(f"hold:{hold.id}")
        yield Happening(ref, hold.placed_at, "put on hold", "", hold.reason, "", is_bad=True)
        lift = getattr(hold, "lift", None)
        if lift is not None:
            ref = evidence.ref(f"hold_lift:{lift.id}")
            yield Happening(ref, lift.lifted_at, "hold lifted", "", lift.reason, lift.lifted_by.name)


def _correction(event: LotEvent, evidence: Evidence) -> str:
    """Which event it takes the place of, and why; or which took its own."""
    said = []
    if event.corrects_id:
        verb = "Takes back" if event.withdrawn else "Corrects"
        said.append(f"{verb} entry {evidence.ref(f'lot_event:{event.corrects_id}').lstrip('#')}: {event.reason}")
    later = getattr(event, "corrected_by", None)
    if later is not None:
        number = evidence.ref(f"lot_event:{later.pk}").lstrip("#")
        said.append(f"Corrected by entry {number}; this is the original.")
    return "\n".join(said)


def _amount(link: LotLink) -> str:
    """Nothing of a brine: it is not used up by what lies in it."""
    return "" if link.parent.kind == Lot.Kind.BRINE else f"{link.amount:g} {link.unit}"
