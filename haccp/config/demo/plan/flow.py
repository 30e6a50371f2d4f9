"""The flow of steps, from the milk tank to the label."""

from haccp.config.demo.plan.products import Products
from haccp.plan import actions as plan
from haccp.plan.models import PlanRevision, ProcessStep, Product
from haccp.premises.scope import Scope

Flow = dict[str, ProcessStep]


def add_flow(owner: Scope, revision: PlanRevision, products: Products) -> Flow:
    """Steps by a short key."""
    hard, lactic, washed = (products.hard,), (products.lactic,), (products.washed,)

    def add(name: str, description: str, only: tuple[Product, ...] = (), kind: str = "operation") -> ProcessStep:
        return plan.step_add(
            scope=owner, revision=revision, name=name, description=description, products=only, kind=kind
        )

    return {
        "milk": add(
            "Milk received",
            "Filtered, cooled, into the tank; temperature and residue test of each lot.",
            kind="reception",
        ),
        "store": add("Milk stored", "In the tank at 6 °C or less, no longer than two days.", kind="storage"),
        "pasteurise": add("Pasteurised in the vat", "At least 63 °C for 30 min, stirred, lid shut.", lactic),
        "thermise": add("Thermised in the vat", "At least 64 °C for 60 s, then cooled to the set.", washed),
        "warm": add("Warmed", "To 32 °C; the milk stays raw.", hard),
        "starter": add("Starter added", "Freeze-dried culture from a sealed sachet, dose by the vat sheet."),
        "set": add("Rennet and set", "Animal rennet; 35 min, or overnight for the lactic curd."),
        "cut": add("Cut, stirred, drained", "Cutting wires counted before and after.", (*hard, *washed)),
        "mould": add("Moulded and pressed", "Lactic curd is ladled; the hard cheese is pressed overnight."),
        "salt": add("Salted", "Dry, or in brine at 12 °C."),
        "ripen": add(
            "Ripened",
            "Hard cheese in the cellar; soft cheeses in the cave, the square washed twice a week.",
            kind="storage",
        ),
        "pack": add("Packed and labelled", "Weighed, wrapped, labelled with lot, milk and allergen.", kind="packing"),
        "dispatch": add(
            "Stored cold and dispatched", "At 8 °C or less, with the lot on the delivery note.", kind="dispatch"
        ),
    }
