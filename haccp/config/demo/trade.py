"""What became of the cheeses that came of age: released by signature, packed, sold to the trade and over the counter.

Only the soft cheese comes of age within four weeks. Where its gate is shut on both mornings it is left for whoever
tries the demo.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from batches.making.models import MakeYield
from batches.release.actions import batch_release
from batches.release.gate import gate_of
from batches.release.queries import release_of
from batches.stock import actions as stock
from batches.stock.models import Item
from batches.stock.queries import counter_left_kg, items_of
from haccp.config.demo.agenda import Act, Agenda
from haccp.config.demo.dairy import Dairy
from haccp.config.demo.incidents import Incidents, made_on
from haccp.config.demo.local_days import SUNDAY, at, chance
from haccp.config.demo.makes import LACTIC_LEAVES_AFTER_DAYS, batch_id
from haccp.config.demo.people import OWNER
from haccp.lots.models import Lot

# Days after the make. The gate is asked twice; then it is packed as it leaves the room.
ASKED_AFTER_DAYS = (12, 13)
PACKED_AFTER_DAYS = LACTIC_LEAVES_AFTER_DAYS
SENT_AFTER_DAYS = (15, 17)
COUNTER_AFTER_DAYS = (15, 16, 17)
DRIED_TO = 0.88  # of the weight of the second day
BOX_KG, RING_KG = 1.14, 0.92  # six cheeses in a box; a ring is cut at the counter
RINGS = 3
KEEPS_DAYS = 28
# What the counter's scale never saw: opened, and in no day's total.
SHORT_KG = 0.21


@dataclass(frozen=True, slots=True)
class _Buyer:
    name: str
    contact: str
    phone: str
    email: str
    address: str


# Invented for the demo.
BUYERS = (
    _Buyer(
        "Quill & Barley, grocers",
        "Odhran Tully",
        "+353 20 910 0141",
        "shop@quillandbarley.example",
        "4 Weir Street, Upper Rushfield\n(an invented place)",
    ),
    _Buyer(
        "The Heron's Table, restaurant",
        "Bridie Lannon",
        "+353 20 910 0162",
        "kitchen@heronstable.example",
        "Mill Lane, Upper Rushfield\n(an invented place)",
    ),
    _Buyer(
        "Saturday market stall of Piers Ashdown",
        "Piers Ashdown",
        "+353 20 910 0188",
        "piers@ashdownstall.example",
        "Market Square, Withy\n(an invented place)",
    ),
)


def buyer_id(dairy: Dairy, number: int) -> UUID:
    return dairy.new_id("buyer", number)


def add_buyers(dairy: Dairy) -> None:
    for number, one in enumerate(BUYERS):
        stock.customer_add(
            scope=dairy.staff.owner,
            customer_id=buyer_id(dairy, number),
            name=one.name,
            contact=one.contact,
            phone=one.phone,
            email=one.email,
            address=one.address,
        )


def add_trade(dairy: Dairy, agenda: Agenda, incidents: Incidents, day: date) -> None:
    """Adds to the agenda what becomes of the make of a day once it is of age."""
    if made_on(day) != "LC":
        return
    for after in ASKED_AFTER_DAYS:
        agenda.add(at(day + timedelta(days=after), 11, 20), _release(dairy, day))
    agenda.add(at(day + timedelta(days=PACKED_AFTER_DAYS), 15, 10), _pack(dairy, day))
    for n, after in enumerate(SENT_AFTER_DAYS):
        sent_on = day + timedelta(days=after)
        for m, number in enumerate(buyers_of(day, n)):
            agenda.add(at(sent_on, 8, 20 + 6 * m), _send(dairy, day, number))
    opened_on = day + timedelta(days=COUNTER_AFTER_DAYS[0])
    agenda.add(at(opened_on, 9, 5), _open_at_counter(dairy, day))
    short_kg = SHORT_KG if day == incidents.recalled_make else 0.0
    for after in COUNTER_AFTER_DAYS:
        sold_on, is_last = day + timedelta(days=after), after == COUNTER_AFTER_DAYS[-1]
        if sold_on.weekday() != SUNDAY:
            agenda.add(at(sold_on, 18, 25), _total(dairy, day, sold_on, last=is_last, short_kg=short_kg))


def buyers_of(day: date, nth: int) -> Sequence[int]:
    """Two of the three on the first day of sending, the third on the second."""
    first = day.toordinal() % len(BUYERS)
    return ((first, (first + 1) % len(BUYERS)), ((first + 2) % len(BUYERS),))[nth]


def _lot(dairy: Dairy, day: date) -> Lot:
    return Lot.objects.select_related("product", "premises").get(pk=batch_id(dairy, day))


def _release(dairy: Dairy, day: date) -> Act:
    """By the owner, who signs what the gate shows; where it is not open nothing is signed."""

    def release(now: datetime) -> None:
        lot, owner = _lot(dairy, day), dairy.staff.owner
        if release_of(lot) is not None:
            return
        gate = gate_of(owner, lot, now)
        if not gate.is_open:
            return
        batch_release(
            scope=owner,
            release_id=dairy.new_id("release", day),
            lot_id=lot.pk,
            password=OWNER.password,
            seen_sha256=gate.content_sha256,
            now=now,
        )

    return release


def _pack(dairy: Dairy, day: date) -> Act:
    """Into boxes, and a few rings for the counter; each weighed."""

    def pack(now: datetime) -> None:
        lot = _lot(dairy, day)
        weighed = MakeYield.objects.filter(make=lot.pk).first()
        if weighed is None or release_of(lot) is None:
            return
        throw = chance("packed", day)
        boxes = int((weighed.cheese_kg * DRIED_TO - RINGS * RING_KG) / BOX_KG)
        for kind, count, about in (("wheel", RINGS, RING_KG), ("pack", boxes, BOX_KG)):
            stock.items_add(
                scope=dairy.staff.helper,
                request_id=dairy.new_id("packed", kind, day),
                lot_id=lot.pk,
                kind=kind,
                weights="\n".join(f"{about * throw.uniform(0.96, 1.04):.2f}" for _ in range(count)),
                unit="kg",
                entered_at=now - timedelta(minutes=4),
                place_id=dairy.places.cold_store.id,
                best_before=day + timedelta(days=PACKED_AFTER_DAYS + KEEPS_DAYS),
                now=now,
            )

    return pack


def here(dairy: Dairy, day: date, kind: str) -> list[Item]:
    return list(items_of(dairy.premises, only_here=True).filter(lot=batch_id(dairy, day), kind=kind))


def _send(dairy: Dairy, day: date, number: int) -> Act:
    """A few boxes to one buyer, with a delivery note."""

    def send(now: datetime) -> None:
        boxes = here(dairy, day, Item.Kind.PACK)[: chance("sent", day, number).randint(4, 6)]
        if boxes:
            stock.dispatch_record(
                scope=dairy.staff.maker,
                dispatch_id=dispatch_id(dairy, day, number),
                customer_id=buyer_id(dairy, number),
                item_ids=[box.pk for box in boxes],
                document_type="delivery note",
                document_number=f"DN {day:%y%m%d}-{number + 1}",
                dispatched_at=now - timedelta(minutes=3),
                now=now,
            )

    return send


def dispatch_id(dairy: Dairy, day: date, number: int) -> UUID:
    return dairy.new_id("dispatch", day, number)


def _open_at_counter(dairy: Dairy, day: date) -> Act:
    """One ring cut into quarters, all of it and two boxes opened."""

    def open_up(now: datetime) -> None:
        rings, boxes = here(dairy, day, Item.Kind.WHEEL), here(dairy, day, Item.Kind.PACK)
        if not rings:
            return
        quarter = rings[0].weight_kg / 4 - 0.005  # crumbs stay on the board
        stock.item_cut(
            scope=dairy.staff.helper,
            request_id=dairy.new_id("cut", day),
            item_id=rings[0].pk,
            kind=Item.Kind.CUT,
            weights=f"4 × {quarter:.3f}",
            unit="kg",
            cut_at=now - timedelta(minutes=5),
            now=now,
        )
        stock.counter_open(
            scope=dairy.staff.helper,
            request_id=dairy.new_id("counter", day),
            item_ids=[item.pk for item in (*here(dairy, day, Item.Kind.CUT), *boxes[:2])],
            opened_at=now,
            now=now,
        )

    return open_up


def _total(dairy: Dairy, day: date, sold_on: date, *, last: bool, short_kg: float) -> Act:
    """short_kg: what no total holds."""

    def total(now: datetime) -> None:
        lot_id = batch_id(dairy, day)
        left = counter_left_kg([lot_id])[lot_id]
        sold = left - short_kg if last else left * chance("counter", sold_on, day).uniform(0.3, 0.5)
        if sold > 0.01:
            stock.counter_total(
                scope=dairy.staff.helper,
                sale_id=dairy.new_id("sold", day, sold_on),
                lot_id=lot_id,
                day=sold_on,
                weight=f"{sold:.3f}",
                unit="kg",
                now=now,
            )

    return total
