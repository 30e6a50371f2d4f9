"""The same records as EPCIS 2.0 events in JSON-LD: milk received, cheese made, shipped, arrived, returned, destroyed.

GS1 EPCIS 2.0 (ISO/IEC 19987:2024) and its Core Business Vocabulary. What the standard has no field for, such as the
words of a source that has no GS1 number, stands in fields of our own namespace.
"""

from collections import defaultdict
from collections.abc import Iterable
from datetime import UTC, date, datetime
from uuid import UUID, uuid5

from batches.intake.models import IngredientLot, MilkLot
from batches.intake.stock import SI_UNIT
from batches.recall.export.key_data import location, lots_begun, made_kg, returned_between, sent_between
from batches.stock.labels.content import STEM
from batches.stock.models import Arrival, Dispatch, PartyNumber, TradeNumber
from batches.tracing.graph import Sent
from batches.tracing.picture import lot_words
from haccp.checks.queries import day_bounds
from haccp.deviations.models import CorrectiveStep, LotEnd
from haccp.lots.models import Lot, LotLink
from haccp.lots.queries import made_as
from haccp.premises.models import Premises
from haccp.science import gs1

CONTEXT = "https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld"
UNIT_CODES = {"kg": "KGM", "L": "LTR", "pc": "H87"}  # UN/ECE Recommendation 20
JsonDict = dict[str, object]


class _Names:
    """Addresses of lots, places and parties: Digital Links where there are numbers, else addresses of the service."""

    def __init__(self, premises: Premises, site: str) -> None:
        self.site = site
        self.premises = premises
        ours = Premises.objects.filter(producer=premises.producer_id)
        self.gtins = dict(TradeNumber.objects.filter(product__premises__in=ours).values_list("product", "gtin"))
        self.glns = dict(PartyNumber.objects.filter(premises__in=ours).values_list("premises", "gln"))
        self.made = made_as(Lot.objects.for_premises(premises).filter(kind=Lot.Kind.RECEIVED))

    def lot(self, lot: Lot) -> str:
        """The same at every premises of the producer: the lot as which it was made."""
        made = self.made.get(lot.pk, lot)
        gtin = self.gtins.get(made.product_id) if made.product_id else None
        if gtin and gs1.fits(made.code, gs1.LONGEST_BATCH):
            return gs1.link(f"{self.site}/{STEM}", gs1.Named(gs1.GTIN, gtin, made.code))
        return f"{self.site}/{STEM}/batch/{made.pk}"

    def here(self) -> str:
        return self.of_premises(self.premises.pk)

    def of_premises(self, premises_id: UUID) -> str:
        gln = self.glns.get(premises_id)
        if gln:
            return gs1.link(f"{self.site}/{STEM}", gs1.Named(gs1.PLACE, gln))
        return f"{self.site}/{STEM}/premises/{premises_id}"

    def customer(self, dispatch: Dispatch) -> str:
        if dispatch.customer.own_premises_id is not None:
            return self.of_premises(dispatch.customer.own_premises_id)
        if dispatch.customer.gln:
            return gs1.link(f"{self.site}/{STEM}", gs1.Named(gs1.PLACE, dispatch.customer.gln))
        return f"{self.site}/{STEM}/customer/{dispatch.customer_id}"

    def paper(self, dispatch: Dispatch) -> str:
        return f"{self.site}/{STEM}/dispatch/{dispatch.pk}"


def epcis_document(premises: Premises, first: date, last: date, *, site: str, made_at: datetime) -> JsonDict:
    """site: scheme and host under which the labels of this dairy lead to their pages."""
    start, _ = day_bounds(premises, first)
    _, end = day_bounds(premises, last)
    names = _Names(premises, site)
    events = [
        *_received(premises, names, start, end),
        *_made(premises, names, start, end),
        *_shipped(premises, names, start, end),
        *_arrived(premises, names, start, end),
        *_returned(premises, names, start, end),
        *_destroyed(premises, names, start, end),
    ]
    return {
        "@context": [CONTEXT, {"dairy": f"{site}/ns/"}],
        "type": "EPCISDocument",
        "schemaVersion": "2.0",
        "creationDate": _moment(made_at),
        "epcisBody": {"eventList": sorted(events, key=lambda event: str(event["eventTime"]))},
    }


def _received(premises: Premises, names: _Names, start: datetime, end: datetime) -> Iterable[JsonDict]:
    milk = MilkLot.objects.filter(lot__premises=premises, lot__begun_at__gte=start, lot__begun_at__lt=end)
    for one in milk.filter(lot__links_in__isnull=True).select_related("lot"):
        yield {
            **_event("ObjectEvent", premises, one.lot.begun_at, one.pk, "received"),
            "action": "ADD",
            "bizStep": "receiving",
            "disposition": "in_progress",
            "readPoint": {"id": names.here()},
            "bizLocation": {"id": names.here()},
            "quantityList": [_quantity(names, one.lot, one.volume_l, "L")],
            "dairy:previousSource": one.source,
            "dairy:description": lot_words(one.lot),
            "dairy:location": location(premises),
        }
    ingredients = IngredientLot.objects.filter(
        lot__premises=premises, lot__begun_at__gte=start, lot__begun_at__lt=end
    ).select_related("lot", "supplier")
    for row in ingredients:
        yield {
            **_event("ObjectEvent", premises, row.lot.begun_at, row.pk, "received"),
            "action": "ADD",
            "bizStep": "receiving",
            "disposition": "in_progress",
            "readPoint": {"id": names.here()},
            "bizLocation": {"id": names.here()},
            "quantityList": [_quantity(names, row.lot, row.amount_si, SI_UNIT[row.quantity])],
            "dairy:previousSource": row.supplier.name if row.supplier else "",
            "dairy:sourceLot": row.supplier_lot,
            "dairy:description": f"{row.get_kind_display()}, {row.name}",
            "dairy:location": location(premises),
        }


def _made(premises: Premises, names: _Names, start: datetime, end: datetime) -> Iterable[JsonDict]:
    batches = lots_begun(premises, Lot.Kind.BATCH, start, end)
    made = made_kg(batches)
    links: dict[UUID, list[LotLink]] = defaultdict(list)
    for link in LotLink.objects.filter(child__in=batches).select_related("parent"):
        links[link.child_id].append(link)
    for batch in batches:
        output: JsonDict = {"epcClass": names.lot(batch)}
        if batch.pk in made:
            output = _quantity(names, batch, made[batch.pk], "kg")
        yield {
            **_event("TransformationEvent", premises, batch.begun_at, batch.pk, "made"),
            "transformationID": f"urn:uuid:{batch.pk}",
            "bizStep": "commissioning",
            "disposition": "in_progress",
            "readPoint": {"id": names.here()},
            "bizLocation": {"id": names.here()},
            "inputQuantityList": [_input(names, one) for one in links[batch.pk]],
            "outputQuantityList": [output],
            "dairy:description": lot_words(batch),
            "dairy:location": location(premises),
        }


def _shipped(premises: Premises, names: _Names, start: datetime, end: datetime) -> Iterable[JsonDict]:
    by_dispatch: dict[UUID, list[Sent]] = defaultdict(list)
    for one in sent_between(premises, start, end):
        by_dispatch[one.dispatch.pk].append(one)
    for group in by_dispatch.values():
        dispatch = group[0].dispatch
        yield {
            **_event("ObjectEvent", premises, dispatch.dispatched_at, dispatch.pk, "shipped"),
            "action": "OBSERVE",
            "bizStep": "shipping",
            "disposition": "in_transit",
            "readPoint": {"id": names.here()},
            "quantityList": [_quantity(names, one.lot, one.weight_kg, "kg") for one in group],
            "bizTransactionList": [{"type": "desadv", "bizTransaction": names.paper(dispatch)}],
            "sourceList": [{"type": "possessing_party", "source": names.here()}],
            "destinationList": [{"type": "possessing_party", "destination": names.customer(dispatch)}],
            "dairy:document": f"{dispatch.document_type} {dispatch.document_number}",
            "dairy:recipient": dispatch.customer.name,
            "dairy:location": location(premises),
        }


def _arrived(premises: Premises, names: _Names, start: datetime, end: datetime) -> Iterable[JsonDict]:
    arrivals = Arrival.objects.filter(premises=premises, arrived_at__gte=start, arrived_at__lt=end)
    for one in arrivals.select_related("dispatch").prefetch_related("lots__lot"):
        came = [lot for lot in one.lots.all() if lot.pieces]
        if not came:
            continue
        yield {
            **_event("ObjectEvent", premises, one.arrived_at, one.pk, "arrived"),
            "action": "OBSERVE",
            "bizStep": "receiving",
            "disposition": "in_progress",
            "readPoint": {"id": names.here()},
            "bizLocation": {"id": names.here()},
            "quantityList": [_quantity(names, lot.lot, lot.weight_kg, "kg") for lot in came],
            "bizTransactionList": [{"type": "desadv", "bizTransaction": names.paper(one.dispatch)}],
            "sourceList": [{"type": "possessing_party", "source": names.of_premises(one.dispatch.premises_id)}],
            "destinationList": [{"type": "possessing_party", "destination": names.here()}],
            "dairy:document": f"{one.dispatch.document_type} {one.dispatch.document_number}",
            "dairy:location": location(premises),
        }


def _returned(premises: Premises, names: _Names, start: datetime, end: datetime) -> Iterable[JsonDict]:
    for (dispatch, at), pieces in returned_between(premises, start, end).items():
        weights: dict[Lot, float] = defaultdict(float)
        for piece in pieces:
            weights[piece.item.lot] += piece.weight_kg
        yield {
            **_event("ObjectEvent", premises, at, pieces[0].pk, "returned"),
            "action": "OBSERVE",
            "bizStep": "receiving",
            "disposition": "returned",
            "readPoint": {"id": names.here()},
            "bizLocation": {"id": names.here()},
            "quantityList": [_quantity(names, lot, weight, "kg") for lot, weight in weights.items()],
            "bizTransactionList": [{"type": "desadv", "bizTransaction": names.paper(dispatch)}],
            "sourceList": [{"type": "possessing_party", "source": names.customer(dispatch)}],
            "destinationList": [{"type": "possessing_party", "destination": names.here()}],
            "dairy:reason": pieces[0].note,
            "dairy:location": location(premises),
        }


def _destroyed(premises: Premises, names: _Names, start: datetime, end: datetime) -> Iterable[JsonDict]:
    """Lots that came to an end by a deviation's decision. Of how much of them was left, stock says nothing then."""
    ends = LotEnd.objects.filter(lot__premises=premises, ended_at__gte=start, ended_at__lt=end)
    for one in ends.filter(disposition=CorrectiveStep.Disposition.DESTROY).select_related("lot", "deviation"):
        yield {
            **_event("ObjectEvent", premises, one.ended_at, one.pk, "destroyed"),
            "action": "DELETE",
            "bizStep": "destroying",
            "disposition": "destroyed",
            "readPoint": {"id": names.here()},
            "quantityList": [{"epcClass": names.lot(one.lot)}],
            "dairy:reason": f"{one.deviation.reference}: {one.note}",
            "dairy:location": location(premises),
        }


def _event(kind: str, premises: Premises, moment: datetime, row_id: UUID, what: str) -> JsonDict:
    offset = moment.astimezone(premises.zone).strftime("%z")
    return {
        "type": kind,
        "eventID": f"urn:uuid:{uuid5(row_id, what)}",
        "eventTime": _moment(moment),
        "eventTimeZoneOffset": f"{offset[:3]}:{offset[3:5]}",
    }


def _input(names: _Names, link: LotLink) -> JsonDict:
    """Of a brine, which is not used up, without a quantity."""
    if link.parent.kind == Lot.Kind.BRINE:
        return {"epcClass": names.lot(link.parent)}
    return _quantity(names, link.parent, link.amount, link.unit)


def _quantity(names: _Names, lot: Lot, amount: float, unit: str) -> JsonDict:
    return {"epcClass": names.lot(lot), "quantity": round(amount, 6), "uom": UNIT_CODES[unit]}


def _moment(moment: datetime) -> str:
    return moment.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
