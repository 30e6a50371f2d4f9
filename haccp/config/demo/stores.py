"""Who the dairy buys from, the cultures, rennet and salt in its store, and the laboratory's counts of its milk."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from batches.intake import actions as intake
from batches.intake.models import Acceptance
from haccp.config.demo.agenda import Agenda
from haccp.config.demo.dairy import Dairy
from haccp.config.demo.local_days import at, chance
from haccp.config.demo.milk import SOURCES
from haccp.plan.models import MilkSpecies

CREAMERY = "Sedge & Daughter, dairy supplies"


@dataclass(frozen=True, slots=True)
class _Bought:
    """days_left: until its last day, counted from the first day of the demo; None: it does not expire."""

    key: str
    kind: str
    name: str
    amount: str
    unit: str
    days_left: int | None
    strength: str = ""
    bulk_density: str = ""


STORE = (
    _Bought("meso", "culture", "Mesophilic starter, freeze-dried", "400", "g", 240, bulk_density="0.35"),
    _Bought("lactic", "culture", "Starter for lactic curd, freeze-dried", "120", "g", 180, bulk_density="0.35"),
    _Bought("bloom", "mould", "White mould, freeze-dried", "40", "g", 150, bulk_density="0.3"),
    _Bought("rennet", "rennet", "Calf rennet, liquid", "5", "L", 120, strength="145"),
    _Bought("calcium", "calcium_chloride", "Calcium chloride 33 %", "5", "L", 400),
    _Bought("salt", "salt", "Fine salt without additives", "100", "kg", None),
    _Bought("paper", "packaging", "Waxed paper", "4000", "pc", None),
)
# Geometric means well inside the limits but for the goats' milk, whose counts rise: invented for the demo
COUNTS = {
    MilkSpecies.EWE: (60_000, 0),
    MilkSpecies.COW: (18_000, 165_000),
    MilkSpecies.GOAT: (240_000, 0),
}


def ingredient_id(dairy: Dairy, key: str) -> UUID:
    return dairy.new_id("ingredient", key)


def add_suppliers(dairy: Dairy, eve: date) -> None:
    """Before the first milk, so that every lot is linked to whose it is."""
    kinds = {MilkSpecies.EWE: "own_herd", MilkSpecies.COW: "own_herd", MilkSpecies.GOAT: "milk"}
    for species, name in SOURCES.items():
        intake.supplier_add(
            scope=dairy.staff.owner,
            supplier_id=dairy.new_id("supplier", species),
            name=name,
            kind=kinds[species],
            now=at(eve, 17, 20),
        )
    intake.supplier_add(
        scope=dairy.staff.owner,
        supplier_id=dairy.new_id("supplier", CREAMERY),
        name=CREAMERY,
        kind="ingredients",
        now=at(eve, 17, 21),
    )
    for species, (plates, cells) in COUNTS.items():
        for back in range(7):
            _count(dairy, species, "count_cfu", plates, eve - timedelta(days=14 * back), eve)
        for back in range(4 if cells else 0):
            _count(dairy, species, "somatic_cells", cells, eve - timedelta(days=28 * back), eve)


def _count(dairy: Dairy, species: MilkSpecies, quantity: str, about: int, sampled_on: date, eve: date) -> None:
    value = about * chance("count", species, quantity, sampled_on).uniform(0.7, 1.35)
    intake.count_record(
        scope=dairy.staff.owner,
        count_id=dairy.new_id("count", species, quantity, sampled_on),
        supplier_id=dairy.new_id("supplier", species),
        species=species,
        quantity=quantity,
        sampled_on=sampled_on,
        text=f"{round(value, -3):.0f}",
        laboratory="Withy County Laboratory",
        now=at(eve, 17, 30),
    )


def add_store(dairy: Dairy, agenda: Agenda, first_day: date) -> None:
    for n, bought in enumerate(STORE):
        agenda.add(at(first_day, 6, 5 + n), lambda now, one=bought: _receive(dairy, one, first_day, now))  # type: ignore[misc]


def _receive(dairy: Dairy, bought: _Bought, first_day: date, now: datetime) -> None:
    arrived = at(first_day, 6)
    lot_id = ingredient_id(dairy, bought.key)
    intake.ingredient_receive(
        scope=dairy.staff.maker,
        lot_id=lot_id,
        kind=bought.kind,
        name=bought.name,
        amount=bought.amount,
        amount_unit=bought.unit,
        received_at=arrived,
        supplier_id=dairy.new_id("supplier", CREAMERY),
        supplier_lot=f"{bought.key.upper()}-{first_day:%y%j}",
        expires_on=None if bought.days_left is None else first_day + timedelta(days=bought.days_left),
        strength=bought.strength,
        strength_unit="IMCU/mL" if bought.strength else "",
        bulk_density=bought.bulk_density,
        now=now,
    )
    intake.acceptance_decide(
        scope=dairy.staff.maker,
        acceptance_id=dairy.new_id("accepted", bought.key),
        lot_id=lot_id,
        decision=Acceptance.Decision.ACCEPTED,
        now=now,
    )
