"""Ageing of cheese of milk that was not pasteurised."""

from collections.abc import Iterator

from haccp.plan.document import ProductNamed
from haccp.plan.findings.examined import Examined
from haccp.plan.findings.finding import Found, Severity, rule
from haccp.plan.findings.floors import NOISE_C, AgeingFloor
from haccp.science.units import show

LAW = "the law of the jurisdiction; see the clause in the finding"
DAY_S = 86_400.0
WORDS_OF_TESTING = ("test", "sampl", "laborator", "microbiolog", "analys")


@rule(
    "raw_milk.no_ageing_or_testing",
    "CXC 57-2004, Annex II; Regulation (EC) 2073/2005, article 4",
    Severity.WARNS,
    remedy="State the least ageing of the product, or add the testing of its batches.",
)
def no_ageing_or_testing(plan: Examined) -> Iterator[Found]:
    if _is_tested(plan):
        return
    for product in plan.document.products:
        if product.treatment == "raw" and not _stated_days(plan, product):
            yield Found(
                plan.descriptions.get(product.code),
                f"{product.name} is of raw milk, and neither ageing nor testing controls what the milk may hold.",
            )


def _is_tested(plan: Examined) -> bool:
    if any(limit.quantity == "count_cfu" for limit in plan.document.limits):
        return True
    texts = (f"{row.what} {row.how}".lower() for row in plan.document.verifications)
    return any(word in text for text in texts for word in WORDS_OF_TESTING)


@rule("ageing.below_law", LAW, Severity.BLOCKS, remedy="State an age that the law allows, and age it so long.")
def below_law(plan: Examined) -> Iterator[Found]:
    for product, floor in _with_floors(plan):
        days = _stated_days(plan, product)
        if not days or days < floor.days:
            stated = f"its plan states {days:g}" if days else "its plan states none"
            yield Found(
                plan.descriptions.get(product.code),
                f"{product.name} must be aged for {floor.days} days or more; {stated} ({floor.clause}).",
            )


@rule("ageing.too_cold", LAW, Severity.BLOCKS, remedy="Age it warmer; the days only count at that temperature.")
def too_cold(plan: Examined) -> Iterator[Found]:
    for product, floor in _with_floors(plan):
        description = plan.descriptions.get(product.code)
        stated = description.ageing_temperature_c if description else None
        if floor.temperature_c is not None and stated is not None and stated < floor.temperature_c - NOISE_C:
            yield Found(
                description,
                f"{product.name} is aged at {stated:g} °C; the law counts days at "
                f"{show('temperature', floor.temperature_c)} and "
                f"above ({floor.clause}).",
            )


@rule(
    "law.forbidden",
    LAW,
    Severity.BLOCKS,
    remedy="Pasteurise the milk, or take this cheese out of the plan: no control makes it lawful as it is.",
)
def forbidden(plan: Examined) -> Iterator[Found]:
    for product in plan.document.products:
        for ban in plan.circumstances.floors.bans(
            jurisdiction=plan.circumstances.jurisdiction,
            treatment=product.treatment,
            species=product.species,
            family=product.family,
            herds_free=_herds_free(plan, product),
        ):
            yield Found(plan.descriptions.get(product.code), f"{product.name}: {ban.rule} ({ban.clause}).")


@rule(
    "milk.herd_status_unsaid",
    "Regulation (EC) 853/2004, Annex III, section IX, chapter I, part I (from memory)",
    Severity.WARNS,
    remedy="Say in the description whether every herd or flock is officially free of brucellosis and tuberculosis.",
)
def herd_status_unsaid(plan: Examined) -> Iterator[Found]:
    if plan.circumstances.jurisdiction not in ("EU", "UK"):
        return
    for product in plan.document.products:
        if product.treatment != "pasteurised" and _herds_free(plan, product) is None:
            yield Found(
                plan.descriptions.get(product.code),
                f"{product.name} is of {product.treatment} milk; it is not said whether the herds are free of disease.",
            )


def _herds_free(plan: Examined, product: ProductNamed) -> bool | None:
    description = plan.descriptions.get(product.code)
    return {"yes": True, "no": False}.get(description.herds_free if description else "")


def _with_floors(plan: Examined) -> Iterator[tuple[ProductNamed, AgeingFloor]]:
    for product in plan.document.products:
        floor = plan.circumstances.floors.ageing(
            jurisdiction=plan.circumstances.jurisdiction,
            treatment=product.treatment,
            species=product.species,
            family=product.family,
            herds_free=_herds_free(plan, product),
        )
        if floor is not None:
            yield product, floor


def _stated_days(plan: Examined, product: ProductNamed) -> float:
    """The longer of what the description states and what a limit of duration demands."""
    description = plan.descriptions.get(product.code)
    days = float(description.ageing_days or 0) if description else 0.0
    limits = plan.limits_covering.get(product.code, [])
    demanded = [limit.low / DAY_S for limit in limits if limit.quantity == "duration" and limit.low is not None]
    return max([days, *demanded])
