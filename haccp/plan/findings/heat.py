"""Heat treatment against the law of the jurisdiction."""

from collections.abc import Iterator

from haccp.plan.document import ProductNamed
from haccp.plan.document.parts import CriticalLimit
from haccp.plan.findings.examined import Examined
from haccp.plan.findings.finding import Found, Severity, rule
from haccp.plan.findings.floors import HeatFloor
from haccp.science.units import show, spell_duration

LAW = "the law of the jurisdiction; see the clause in the finding"
# A hold below this is the cooking of curd, not a treatment of milk; common practice, no source.
LOWEST_TREATMENT_C = 55.0


@rule(
    "heat.laxer_than_law",
    LAW,
    Severity.BLOCKS,
    remedy="Raise temperature or time to a pair that the law accepts, or change the milk treatment of the product.",
)
def laxer_than_law(plan: Examined) -> Iterator[Found]:
    for limit in plan.document.limits:
        for product in plan.covered(limit) if _is_treatment(limit) else []:
            floors = _floors(plan, product)
            low, hold_s = limit.low or 0.0, _hold_s(limit)
            if floors and not any(floor.is_met_by(low, hold_s) for floor in floors):
                yield Found(
                    limit, f"“{limit.statement}” is laxer than the law for {product.name}: {_nearest(floors, low)}."
                )
                break


@rule("heat.missing", LAW, Severity.BLOCKS, remedy="Add a limit of the heat treatment: temperature and holding time.")
def missing(plan: Examined) -> Iterator[Found]:
    for product in plan.document.products:
        if product.treatment == "raw" or any(
            _is_treatment(limit) for limit in plan.limits_covering.get(product.code, [])
        ):
            continue
        yield Found(
            plan.descriptions.get(product.code),
            f"{product.name} is of {product.treatment} milk, and no limit says how the milk is treated.",
        )


@rule("heat.of_raw_milk", LAW, Severity.WARNS, remedy="Say for which products the limit is, or correct the treatment.")
def of_raw_milk(plan: Examined) -> Iterator[Found]:
    for limit in plan.document.limits:
        raw = [product.name for product in plan.covered(limit) if product.treatment == "raw"]
        if raw and _is_treatment(limit):
            yield Found(limit, f"“{limit.statement}” also covers raw-milk cheese: {', '.join(raw)}.")


def _is_treatment(limit: CriticalLimit) -> bool:
    held = limit.evaluator == "holding" and limit.quantity == "temperature"
    return held and limit.low is not None and limit.low >= LOWEST_TREATMENT_C


def _hold_s(limit: CriticalLimit) -> float:
    hold_s = limit.parameters.get("hold_s", 0)
    return float(hold_s) if isinstance(hold_s, int | float) else 0.0


def _floors(plan: Examined, product: ProductNamed) -> tuple[HeatFloor, ...]:
    description = plan.descriptions.get(product.code)
    return plan.circumstances.floors.heat(
        jurisdiction=plan.circumstances.jurisdiction,
        treatment=product.treatment,
        species=product.species,
        milk_fat_percent=(description.milk_fat_percent if description else None) or 0.0,
    )


def _nearest(floors: tuple[HeatFloor, ...], low: float) -> str:
    """The pair of the law that is nearest in temperature."""
    floor = min(floors, key=lambda floor: abs(floor.temperature_c - low))
    return f"{show('temperature', floor.temperature_c)} for {spell_duration(floor.hold_s)} ({floor.clause})"
