"""What stands on a label, and what its code says."""

from dataclasses import dataclass
from uuid import UUID

from django.urls import reverse

from batches.intake.models import IngredientLot
from batches.stock.models import PartyNumber, TradeNumber
from batches.stock.queries import Piece
from haccp.lots.models import Lot
from haccp.lots.queries import HELD_ELSEWHERE, held_elsewhere, made_as, revision_ids_of, standing_holds
from haccp.plan.models import ProductDescription
from haccp.premises.models import Instrument, Place, Premises
from haccp.science import gs1
from haccp.science.units import show

STEM = "id"
ID_DIGITS = 12  # of the row's own id, enough to tell the places and instruments of one dairy apart


@dataclass(frozen=True, slots=True)
class Label:
    """code: the address that the QR code holds. beneath: the element string, or the short words in its place."""

    title: str
    code: str
    beneath: str
    lines: tuple[str, ...] = ()
    warning: str = ""


def batch_labels(premises: Premises, lot: Lot, items: list[Piece], site: str) -> list[Label]:
    """For a batch, or a lot that came in: one for it where no pieces are given, else one for each piece.

    site: scheme and host of the service.
    """
    held = next((hold.reason for hold in standing_holds(lot)), "")
    if not held and held_elsewhere([lot.pk]):
        held = f"This lot is {HELD_ELSEWHERE}."
    made = made_as([lot])[lot.pk]
    number = TradeNumber.objects.filter(product=made.product_id).first()
    described = ProductDescription.objects.filter(
        product=made.product_id, revision=revision_ids_of([made])[made.pk]
    ).first()
    code, beneath = _batch_code(lot, made.code, number, site)
    told = []
    if described is not None:
        told += [described.labelling] if described.labelling else []
        told += [f"Contains {', '.join(described.allergens)}."] if described.allergens else []
        told += [f"{described.storage}"] if described.storage else []
    warning = f"ON HOLD – NOT FOR SALE. {held}" if held else ""
    title, head = _name(lot, made), _head(premises, lot, made)
    if lot.kind == Lot.Kind.INGREDIENT and hasattr(lot, "ingredient"):
        told += _of_ingredient(lot.ingredient)
    foot = [premises.name, premises.approval_number]
    if not items:
        return [Label(title, code, beneath, tuple(filter(None, (head, *told, *foot))), warning)]
    return [
        Label(title, code, beneath, tuple(filter(None, (head, _piece(item), *told, *foot))), warning) for item in items
    ]


def _name(lot: Lot, made: Lot) -> str:
    if made.product is not None:
        return made.product.name
    if lot.kind == Lot.Kind.RECEIVED and hasattr(lot, "arrived"):
        return str(lot.arrived.cheese)
    if lot.kind == Lot.Kind.INGREDIENT and hasattr(lot, "ingredient"):
        return str(lot.ingredient.name)
    return str(lot.get_kind_display()).capitalize()


def _head(premises: Premises, lot: Lot, made: Lot) -> str:
    """made: the lot as which it was made; at another premises of the producer where it came from there."""
    begun = made.premises.local_date(made.begun_at)
    day = f"{begun.day} {begun:%b %Y}"
    if made.kind == Lot.Kind.BATCH:
        where = "" if made.premises_id == premises.pk else f" at {made.premises.name}"
        return f"Batch {made.code} · made {day}{where}"
    if lot.kind in (Lot.Kind.MILK, Lot.Kind.INGREDIENT, Lot.Kind.RECEIVED):
        return f"Lot {lot.code} · came in {day}"
    return f"Lot {lot.code} · {day}"


def _of_ingredient(ingredient: IngredientLot) -> list[str]:
    label = f"Supplier's lot {ingredient.supplier_lot}" if ingredient.supplier_lot else ""
    until = ingredient.expires_on
    last = f"last day {until.day} {until:%b %Y}" if until else ""
    return [" · ".join(filter(None, (label, last)))] if label or last else []


def place_label(premises: Premises, place: Place, site: str) -> Label:
    number = PartyNumber.objects.filter(premises=premises).first()
    lines = (place.get_kind_display(), premises.name)
    if number is None:
        return Label(place.name, _plain(site, "place", place.pk), "", lines)
    named = gs1.Named(gs1.PLACE, number.gln, _short(place.pk))
    return Label(place.name, gs1.link(f"{site}/{STEM}", named), gs1.in_brackets(named), lines)


def instrument_label(premises: Premises, instrument: Instrument, site: str) -> Label:
    number = PartyNumber.objects.filter(premises=premises).first()
    serial = f"serial {instrument.serial}" if instrument.serial else ""
    until = instrument.calibration_valid_until
    valid = f"calibrated until {until.day} {until:%b %Y}" if until else "no calibration on file"
    lines = tuple(filter(None, (instrument.get_kind_display(), serial, valid, premises.name)))
    if number is None:
        return Label(instrument.name, _plain(site, "instrument", instrument.pk), "", lines)
    named = gs1.Named(gs1.ASSET, number.company_prefix + _short(instrument.pk))
    return Label(instrument.name, gs1.link(f"{site}/{STEM}", named), gs1.in_brackets(named), lines)


def _batch_code(lot: Lot, made_code: str, number: TradeNumber | None, site: str) -> tuple[str, str]:
    """A Digital Link where the product has a GTIN and the code may stand in one; else a plain address.

    made_code: under which it was made, so that a wheel has one number at every premises of the producer.
    """
    if number is None or not gs1.fits(made_code, gs1.LONGEST_BATCH):
        return _plain(site, "batch", lot.pk), made_code
    named = gs1.Named(gs1.GTIN, number.gtin, made_code)
    return gs1.link(f"{site}/{STEM}", named), gs1.in_brackets(named)


def _plain(site: str, kind: str, row_id: UUID) -> str:
    return f"{site}{reverse('stock:scanned', args=[f'{kind}/{row_id}'])}"


def _short(row_id: UUID) -> str:
    return row_id.hex[:ID_DIGITS]


def _piece(item: Piece) -> str:
    best = f" · best before {item.best_before.day} {item.best_before:%b %Y}" if item.best_before else ""
    return f"{item.get_kind_display().capitalize()} {item.number} · {show('mass', item.now_kg)}{best}"
