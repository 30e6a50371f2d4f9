"""From what a label's code says to what it names, within one dairy."""

from collections.abc import Iterable
from uuid import UUID

from batches.stock.labels.content import ID_DIGITS
from batches.stock.models import PartyNumber, TradeNumber
from haccp.lots.models import Lot
from haccp.premises.models import Instrument, Place, Premises
from haccp.science import gs1
from haccp.science.errors import InputError

Found = Lot | Place | Instrument | None
KINDS = ("batch", "place", "instrument")


def resolve(premises: Premises, address: str, rest: str) -> Found:
    """address: as scanned; rest: what follows the stem. None for what this dairy does not have."""
    kind, _, row_id = rest.strip("/").partition("/")
    if kind in KINDS:
        try:
            return _by_id(premises, kind, UUID(row_id))
        except ValueError:
            return None
    try:
        named = gs1.read_link(address)
    except InputError:
        return None
    return _by_number(premises, named)


def _by_id(premises: Premises, kind: str, row_id: UUID) -> Found:
    if kind == "batch":
        return Lot.objects.for_premises(premises).filter(pk=row_id).first()
    if kind == "place":
        return Place.objects.filter(premises=premises, pk=row_id).first()
    return Instrument.objects.filter(premises=premises, pk=row_id).first()


def _by_number(premises: Premises, named: gs1.Named) -> Found:
    if named.identifier == gs1.GTIN:
        number = TradeNumber.objects.filter(product__premises=premises, gtin=named.value).first()
        if number is not None:
            made = Lot.objects.for_premises(premises).filter(product=number.product_id, code=named.qualifier).first()
            if made is not None:
                return made
        came = Lot.objects.for_premises(premises).filter(
            origins__origin__code=named.qualifier, origins__origin__product__trade_number__gtin=named.value
        )
        return came.order_by("-begun_at").first()
    party = PartyNumber.objects.filter(premises=premises).first()
    if party is None:
        return None
    if named.identifier == gs1.PLACE and named.value == party.gln:
        return _by_short_id(Place.objects.filter(premises=premises), named.qualifier)
    if named.identifier == gs1.ASSET and named.value.startswith(party.company_prefix):
        short = named.value.removeprefix(party.company_prefix)
        return _by_short_id(Instrument.objects.filter(premises=premises), short)
    return None


def _by_short_id(rows: Iterable[Place | Instrument], short: str) -> Found:
    """The one whose id begins so; None too where the digits are too few to tell."""
    return next((row for row in rows if len(short) == ID_DIGITS and row.pk.hex.startswith(short)), None)
