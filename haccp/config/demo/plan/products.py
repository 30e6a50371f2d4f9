"""The three cheeses."""

from dataclasses import dataclass
from datetime import datetime

from haccp.plan import actions as plan
from haccp.plan.models import MilkSpecies, MilkTreatment, Product
from haccp.premises.scope import Scope


@dataclass(frozen=True, slots=True)
class Products:
    """hard: raw ewe's milk. lactic: pasteurised goat's milk. washed: thermised cow's milk."""

    hard: Product
    lactic: Product
    washed: Product


def add_products(owner: Scope, at: datetime) -> Products:
    return Products(
        hard=plan.product_add(
            scope=owner,
            name="Rushfield Ewe",
            code="RE",
            species=MilkSpecies.EWE,
            treatment=MilkTreatment.RAW,
            family="hard, pressed, ripened four months and more",
            at=at,
        ),
        lactic=plan.product_add(
            scope=owner,
            name="Little Catkin",
            code="LC",
            species=MilkSpecies.GOAT,
            treatment=MilkTreatment.PASTEURISED,
            family="soft, lactic set, bloomy rind",
            at=at,
        ),
        washed=plan.product_add(
            scope=owner,
            name="Alder Square",
            code="AS",
            species=MilkSpecies.COW,
            treatment=MilkTreatment.THERMISED,
            family="semi-soft, washed rind, ripened six weeks and more",
            at=at,
        ),
    )
