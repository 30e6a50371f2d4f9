"""A make begins: the batch, the milk that goes into it, and what falls due from it."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone

from batches.hygiene.actions import refuse_unclean, unclean_use_open
from batches.intake.actions import exception_open
from batches.intake.models import MilkLot
from batches.intake.queries import ROUNDING_L, left_l
from batches.intake.standing import LotStanding, standings
from batches.making import sealing
from batches.making.models import Make, Procedure
from batches.making.whey import IN_THE_VAT, whey_of
from haccp.checks.actions import event_record
from haccp.ledger import actions as ledger
from haccp.lots import actions as lots
from haccp.lots.kinds import EventKind
from haccp.lots.models import Lot
from haccp.lots.queries import standing_holds
from haccp.plan.models import MilkSpecies, MilkTreatment, Product
from haccp.plan.queries import revision_in_force
from haccp.premises.errors import ActionError, Conflict
from haccp.premises.models import Place, Premises
from haccp.premises.roles import Right
from haccp.premises.scope import Scope
from haccp.science.units import show

CLOCK_TOLERANCE = timedelta(minutes=2)


@transaction.atomic
def make_start(
    *,
    scope: Scope,
    lot_id: UUID,
    product_id: UUID,
    vat_id: UUID,
    milk_l: Mapping[UUID, float],
    started_at: datetime,
    note: str = "",
    in_spite_of: str = "",
    exception: str = "",
    now: datetime | None = None,
) -> Make:
    """Starts a make in a vat.

    milk_l: lot of milk or whey -> litres of it in this vat; milk of the product's species, or of those that its
    procedure mixes.
    exception: why milk that was refused or not accepted, or that something speaks against, is used all the same; that
    opens a deviation about it and the batch. in_spite_of: why a vat that is not clean is used all the same; that opens
    one about the vat. Raises ActionError with a sentence per field: milk of another species, more milk than is there,
    milk on hold, milk that may not be used and no exception, a vat that is not clean and no reason, a vat or product
    that is not this dairy's.
    """
    scope.require(Right.RECORD)
    now = now or timezone.now()
    premises = Premises.objects.select_for_update().get(pk=scope.premises.pk)
    there = Make.objects.select_related("lot").filter(pk=lot_id).first()
    if there is not None:
        if _content(there) != (premises.id, product_id, vat_id, started_at, note.strip(), _used(milk_l)):
            raise Conflict("This make was already sent with other content; start a new one.")
        return there
    if started_at > now + CLOCK_TOLERANCE:
        raise ActionError("That time is in the future; correct the time.", field="started_at")
    product = Product.objects.filter(premises=premises, id=product_id, retired_at__isnull=True).first()
    if product is None:
        raise ActionError("Choose the cheese from the list.", field="product")
    vat = Place.objects.filter(premises=premises, id=vat_id, kind=Place.Kind.VAT).first()
    if vat is None:
        raise ActionError("Choose the vat from the list.", field="vat")
    revision = revision_in_force(premises, started_at)
    if revision is None:
        raise ActionError("No approved plan was in force then; have the plan approved before starting a make.")
    procedure = procedure_in_use(product, started_at)
    used = _used(milk_l)
    whey = _whey(premises, used)
    milk = _milk(premises, product, procedure, used, whey)
    found = refuse_unclean(place=vat, at=started_at, in_spite_of=in_spite_of, field="vat")
    against = _against(premises, product, [one.lot for one, _ in milk], now)
    _refuse_without_reason(against, exception)
    batch = lots.lot_open(
        scope=scope,
        lot_id=lot_id,
        kind=Lot.Kind.BATCH,
        code=_next_code(premises, product, started_at),
        revision=revision,
        begun_at=started_at,
        product=product,
        at=now,
    )
    make = Make.objects.create(lot=batch, vat=vat, procedure=procedure, note=note.strip())
    ledger.seal(
        log_id=scope.log_id,
        kind="make.started",
        subject=f"make:{make.pk}",
        body=sealing.make_body(make),
        actor=scope.actor,
        at=now,
    )
    for lot, volume in (*((one.lot, volume) for one, volume in milk), *whey):
        lots.link_add(scope=scope, parent=lot, child=batch, amount=volume, unit="L", at=now)
    event_record(
        scope=scope,
        lot_id=batch.id,
        kind=EventKind.MAKE_STARTED,
        occurred_at=started_at,
        event_id=uuid5(lot_id, EventKind.MAKE_STARTED),
        place_id=vat.id,
        now=now,
    )
    if not found.is_clean:
        unclean_use_open(scope=scope, lot=batch, found=found, used_at=started_at, in_spite_of=in_spite_of, now=now)
    if against:
        exception_open(
            scope=scope,
            deviation_id=uuid5(lot_id, "exception"),
            used=against,
            reason=exception.strip(),
            occurred_at=started_at,
            now=now,
        )
    return make


def _against(premises: Premises, product: Product, lots_used: Sequence[Lot], now: datetime) -> dict[Lot, str]:
    """Lots that may not be used, each with what stands against it."""
    heated = product.treatment == MilkTreatment.PASTEURISED
    found = {lot: standing.why_not(heated=heated) for lot, standing in _standing(premises, lots_used, now)}
    return {lot: ", ".join(why) for lot, why in found.items() if why}


def _standing(premises: Premises, lots_used: Sequence[Lot], now: datetime) -> Iterable[tuple[Lot, LotStanding]]:
    known = standings(premises, lots_used, now)
    return ((lot, known[lot.pk]) for lot in lots_used)


def _refuse_without_reason(against: Mapping[Lot, str], exception: str) -> None:
    """Milk that something speaks against is used only when somebody says why."""
    if against and not exception.strip():
        said = "; ".join(f"{lot.code}: {why}" for lot, why in against.items())
        raise ActionError(
            f"Some of this milk may not be used ({said}). Take other milk, have it accepted, or say below why it is "
            "used all the same, which opens a deviation.",
            field="exception",
        )


def _content(make: Make) -> tuple[object, ...]:
    """What was sent when the make was started."""
    milk = dict(make.lot.links_in.filter(parent__kind__in=IN_THE_VAT, unit="L").values_list("parent_id", "amount"))
    return make.lot.premises_id, make.lot.product_id, make.vat_id, make.lot.begun_at, make.note, milk


def _used(milk_l: Mapping[UUID, float]) -> dict[UUID, float]:
    return {lot_id: volume for lot_id, volume in milk_l.items() if volume > 0}


def procedure_in_use(product: Product, at: datetime) -> Procedure | None:
    """The latest version that was in use at a moment; for a make of before, written up from paper, the first one.

    None for a product without one.
    """
    versions = Procedure.objects.filter(product=product, in_use_from__isnull=False).prefetch_related("milks")
    return versions.filter(in_use_from__lte=at).order_by("-number").first() or versions.order_by("number").first()


def _whey(premises: Premises, used: Mapping[UUID, float]) -> list[tuple[Lot, float]]:
    """Of what goes into the vat, the whey."""
    found: list[tuple[Lot, float]] = []
    for one in whey_of(premises):
        volume = used.get(one.lot_id, 0.0)
        if not volume:
            continue
        if volume > one.left_l + ROUNDING_L:
            raise ActionError(f"Only {show('volume', one.left_l)} of {one.lot.code} is left.", field="milk")
        if one.is_held:
            raise ActionError(f"{one.lot.code} is on hold and cannot be used.", field="milk")
        found.append((one.lot, volume))
    return found


def _milk(
    premises: Premises,
    product: Product,
    procedure: Procedure | None,
    used: Mapping[UUID, float],
    whey: Sequence[tuple[Lot, float]],
) -> list[tuple[MilkLot, float]]:
    """Of what goes into the vat, all that is no whey."""
    if not used:
        raise ActionError("Say which milk goes into the vat, and how much of it.", field="milk")
    poured = {lot.pk for lot, _ in whey}
    used = {lot_id: volume for lot_id, volume in used.items() if lot_id not in poured}
    if not used:
        return []
    found = {
        milk.lot_id: milk for milk in MilkLot.objects.filter(lot__premises=premises, pk__in=used).select_related("lot")
    }
    mixed = {milk.species: milk for milk in procedure.milks.all()} if procedure else {}
    species = set(mixed) or {product.species}
    milk = [(_usable(found.get(lot_id), product, species, volume), volume) for lot_id, volume in used.items()]
    total = sum(volume for _, volume in milk)
    for one in mixed.values():
        share = sum(volume for lot, volume in milk if lot.species == one.species) / total * 100
        if not one.share_low_percent - 0.5 <= share <= one.share_high_percent + 0.5:
            raise ActionError(
                f"{one.get_species_display().capitalize()}'s milk would be {share:.0f} % of the vat; {product.name} "
                f"asks for {one.share_low_percent:.0f} to {one.share_high_percent:.0f} %.",
                field="milk",
            )
    return milk


def _usable(milk: MilkLot | None, product: Product, species: set[str], volume: float) -> MilkLot:
    if milk is None:
        raise ActionError("One of these milk lots is not known at this dairy; choose from the list.", field="milk")
    if milk.species not in species:
        wanted = " and ".join(sorted(str(MilkSpecies(one).label) + "'s" for one in species))
        raise ActionError(
            f"{milk.lot.code} is {milk.get_species_display()}'s milk; {product.name} is made of {wanted} milk.",
            field="milk",
        )
    there = left_l(milk)
    if volume > there + ROUNDING_L:
        raise ActionError(f"Only {show('volume', there)} of {milk.lot.code} is left.", field="milk")
    holds = standing_holds(milk.lot)
    if holds:
        raise ActionError(f"{milk.lot.code} is on hold and cannot be used: {holds[0].reason}", field="milk")
    return milk


def _next_code(premises: Premises, product: Product, started_at: datetime) -> str:
    stem = f"{product.code}{started_at.astimezone(premises.zone):%y%m%d}"
    count = Lot.objects.for_premises(premises).filter(code__startswith=stem).count()
    return stem if not count else f"{stem}-{count + 1}"
