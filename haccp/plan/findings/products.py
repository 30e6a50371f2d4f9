"""Steps 2 and 3: what the products are, how they are used, and by whom."""

from collections.abc import Iterator

from haccp.plan.document.parts import ProductDescription
from haccp.plan.findings.examined import Examined
from haccp.plan.findings.finding import Found, Severity, rule

STEP_2 = "CXC 1-1969 (2022), chapter two, step 2"
STEP_3 = "CXC 1-1969 (2022), chapter two, step 3"
GROWTH = "Regulation (EC) 2073/2005, Annex I, chapter 1, footnote 8"
# pH ≤ 4.4, or aw ≤ 0.92, or pH ≤ 5.0 and aw ≤ 0.94: products in which Listeria monocytogenes is taken not to grow.
PH_ALONE, AW_ALONE, PH_WITH_AW, AW_WITH_PH = 4.4, 0.92, 5.0, 0.94


@rule("product.undescribed", STEP_2, Severity.BLOCKS, remedy="Describe the product.")
def undescribed(plan: Examined) -> Iterator[Found]:
    """Blocks: a plan that came into force without it would leave a cheese that is made here without its controls."""
    for product in plan.document.products:
        if product.code not in plan.descriptions:
            yield Found(
                None,
                f"{product.name} is made here, and this plan does not describe it.",
                f"Describe {product.name}, add it from your answers, or say that it is no longer made.",
            )


@rule("product.incomplete", STEP_2, Severity.WARNS, remedy="Add what is missing from the description.")
def incomplete(plan: Examined) -> Iterator[Found]:
    for description in plan.document.descriptions:
        missing = _missing(description)
        if missing:
            name = _name(plan, description)
            yield Found(description, f"The description of {name} lacks {', '.join(missing)}.")


def _missing(description: ProductDescription) -> list[str]:
    given: dict[str, object] = {
        "composition": description.composition.strip(),
        "pH": description.ph_high,
        "water activity": description.water_activity_high,
        "salt": description.salt_percent,
        "packaging": description.packaging.strip(),
        "shelf life": description.shelf_life_days,
        "storage": description.storage.strip(),
        "labelling": description.labelling.strip(),
    }
    return [name for name, value in given.items() if value in (None, "")]


@rule("product.intended_use", STEP_3, Severity.WARNS, remedy="Say how it is meant to be eaten, and by whom.")
def intended_use(plan: Examined) -> Iterator[Found]:
    for description in plan.document.descriptions:
        if not description.intended_use.strip():
            yield Found(description, f"The intended use of {_name(plan, description)} is not stated.")


@rule(
    "product.vulnerable_consumers",
    STEP_3,
    Severity.WARNS,
    remedy="Say whether young children, pregnant, old or ill people eat it, and what follows from that.",
)
def vulnerable_consumers(plan: Examined) -> Iterator[Found]:
    for description in plan.document.descriptions:
        if not description.vulnerable_consumers.strip():
            yield Found(description, f"Vulnerable consumers are not considered for {_name(plan, description)}.")


@rule(
    "product.milk_allergen",
    "General standard for labelling CXS 1-1985, 4.2.1.4; Regulation (EU) 1169/2011, Annex II",
    Severity.WARNS,
    remedy="Name milk among the allergens.",
)
def milk_allergen(plan: Examined) -> Iterator[Found]:
    for description in plan.document.descriptions:
        if not any("milk" in allergen.lower() for allergen in description.allergens):
            yield Found(description, f"Milk is not among the allergens of {_name(plan, description)}.")


@rule(
    "product.raw_milk_label",
    "Regulation (EC) 853/2004, Annex III, section IX, chapter IV",
    Severity.WARNS,
    remedy="State on the label that it is made with raw milk.",
)
def raw_milk_label(plan: Examined) -> Iterator[Found]:
    if plan.circumstances.jurisdiction not in ("EU", "UK"):
        return
    for description in plan.document.descriptions:
        product = plan.products.get(description.product)
        if product and product.treatment == "raw" and "raw" not in description.labelling.lower():
            yield Found(description, f"The labelling of {product.name} does not say “made with raw milk”.")


@rule(
    "product.listeria_growth",
    GROWTH,
    Severity.WARNS,
    remedy="Add the hazard Listeria monocytogenes, or correct pH and water activity.",
)
def listeria_growth(plan: Examined) -> Iterator[Found]:
    if plan.is_considered("listeria"):
        return
    for description in plan.document.descriptions:
        if lets_listeria_grow(description.ph_high, description.water_activity_high):
            yield Found(
                description,
                f"Listeria monocytogenes can grow in {_name(plan, description)} as described, and no hazard names it.",
            )


def lets_listeria_grow(ph: float | None, water_activity: float | None) -> bool:
    """Whether the regulation does not presume that it cannot; what is not known counts against it."""
    ph = 14.0 if ph is None else ph
    water_activity = 1.0 if water_activity is None else water_activity
    presumed_safe = ph <= PH_ALONE or water_activity <= AW_ALONE or (ph <= PH_WITH_AW and water_activity <= AW_WITH_PH)
    return not presumed_safe


def _name(plan: Examined, description: ProductDescription) -> str:
    product = plan.products.get(description.product)
    return product.name if product else description.product
