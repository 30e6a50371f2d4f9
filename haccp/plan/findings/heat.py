"""Heat treatment of milk against the law of the jurisdiction.

What counts as a treatment of milk is told by where a limit stands, not by its words: a limit of temperature "at least"
at a critical control point, held for a time or read at the end of a holding tube. The scald of curd lies below it,
and the hot wash of a cleaning programme is no critical control point. A heating below pasteurisation may be a
programme, if it is monitored at each batch or milk lot.
"""

import math
from collections.abc import Iterator

from haccp.plan.document import ProductNamed
from haccp.plan.document.parts import CriticalLimit
from haccp.plan.findings.examined import Examined
from haccp.plan.findings.finding import Found, Severity, rule
from haccp.plan.findings.floors import HeatFloor
from haccp.science.limit import Comparator
from haccp.science.units import show, spell_duration

LAW = "the law of the jurisdiction; see the clause in the finding"
# Warmer than any curd is scalded, and colder than any pair of the law; common practice, no source.
LOWEST_PASTEURISATION_C = 58.0
LOWEST_THERMISATION_C = 55.0
# A holding tube holds for seconds; the longest in the law is 16 s (Standard 4.2.4, clause 16).
LONGEST_TUBE_S = 60.0
# The steepness that lies between the published pairs: 4.33 °C from 63 °C for 30 min to 72 °C for 15 s, and 14.5 °C
# from there to 89 °C for 1 s (21 CFR 1240.61(b); calculated). Only to tell what cannot be equal, never to accept.
AROUND_C, AROUND_S = 72.0, 15.0
Z_BELOW_C = (AROUND_C - 63.0) / math.log10(1800.0 / AROUND_S)
Z_ABOVE_C = (89.0 - AROUND_C) / math.log10(AROUND_S / 1.0)
NOISE_S = 1e-6


@rule(
    "heat.laxer_than_law",
    LAW,
    Severity.BLOCKS,
    remedy="Raise temperature or time to a pair that the law accepts, or change the milk treatment of the product.",
)
def laxer_than_law(plan: Examined) -> Iterator[Found]:
    for limit in plan.document.limits:
        for product in plan.covered(limit):
            floors = _floors(plan, product) if _is_treatment(plan, limit, product) else ()
            if floors and not any(_is_met(floor, limit) for floor in floors):
                yield from _judged_otherwise(plan, limit, product, floors)
                break


def _judged_otherwise(
    plan: Examined, limit: CriticalLimit, product: ProductNamed, floors: tuple[HeatFloor, ...]
) -> Iterator[Found]:
    """None of the pairs of the law. Where the law takes another of equal effect, a validation has to show it."""
    floor = _nearest(floors, limit)
    pair = f"{show('temperature', floor.temperature_c)} for {spell_duration(floor.hold_s)} ({floor.clause})"
    if not floor.equivalent or _effect_s(limit.low or 0.0, _hold_s(limit, AROUND_S)) < _least_effect_s(floors):
        yield Found(limit, f"“{limit.statement}” is laxer than the law for {product.name}: {pair}.")
    elif not _is_validated(plan, limit):
        yield Found(
            limit,
            f"“{limit.statement}” is not the pair that the law names for {product.name}: {pair}, "
            f"or {floor.equivalent}.",
            "Add a validation of this limit that shows that it is equal, or take the pair of the law.",
        )


@rule("heat.missing", LAW, Severity.BLOCKS, remedy="Add a limit of the heat treatment: temperature and holding time.")
def missing(plan: Examined) -> Iterator[Found]:
    for product in plan.document.products:
        if product.treatment == "raw" or any(
            _is_treatment(plan, limit, product) for limit in plan.limits_covering.get(product.code, [])
        ):
            continue
        where = " at a critical control point" if product.treatment == "pasteurised" else ""
        yield Found(
            plan.descriptions.get(product.code),
            f"{product.name} is of {product.treatment} milk, and no limit{where} says how the milk is treated.",
        )


@rule("heat.of_raw_milk", LAW, Severity.WARNS, remedy="Say for which products the limit is, or correct the treatment.")
def of_raw_milk(plan: Examined) -> Iterator[Found]:
    for limit in plan.document.limits:
        raw = [
            product.name
            for product in plan.covered(limit)
            if product.treatment == "raw" and not _is_of_whey(product) and _is_treatment(plan, limit, product)
        ]
        if raw:
            yield Found(limit, f"“{limit.statement}” also covers raw-milk cheese: {', '.join(raw)}.")


def _is_treatment(plan: Examined, limit: CriticalLimit, product: ProductNamed) -> bool:
    if limit.quantity != "temperature" or limit.comparator != Comparator.AT_LEAST or limit.low is None:
        return False
    if limit.evaluator not in ("holding", "reading"):
        return False
    point = plan.control_points.get(limit.control_point)
    is_critical = point is not None and point.is_critical
    if product.treatment != "thermised":
        return is_critical and limit.low >= LOWEST_PASTEURISATION_C
    return limit.low >= LOWEST_THERMISATION_C and (is_critical or _is_of_a_lot(plan, limit))


def _is_of_a_lot(plan: Examined, limit: CriticalLimit) -> bool:
    return any(check.subject in ("batch", "milk") for check in plan.checks_watching.get(limit.key, []))


def _is_of_whey(product: ProductNamed) -> bool:
    return "whey" in product.family.lower()


def _is_met(floor: HeatFloor, limit: CriticalLimit) -> bool:
    """A reading at the end of a holding tube stands for the time of the tube, which is proved once."""
    if limit.evaluator == "reading" and floor.hold_s > LONGEST_TUBE_S:
        return False
    return floor.is_met_by(limit.low or 0.0, _hold_s(limit, floor.hold_s))


def _hold_s(limit: CriticalLimit, of_the_tube_s: float) -> float:
    if limit.evaluator == "reading":
        return of_the_tube_s
    hold_s = limit.parameters.get("hold_s", 0)
    return float(hold_s) if isinstance(hold_s, int | float) and not isinstance(hold_s, bool) else 0.0


def _effect_s(low_c: float, hold_s: float) -> float:
    """Seconds at 72 °C of the same lethal effect."""
    z = Z_BELOW_C if low_c < AROUND_C else Z_ABOVE_C
    return float(hold_s * 10 ** ((low_c - AROUND_C) / z))


def _least_effect_s(floors: tuple[HeatFloor, ...]) -> float:
    return min(_effect_s(floor.temperature_c, floor.hold_s) for floor in floors) - NOISE_S


def _is_validated(plan: Examined, limit: CriticalLimit) -> bool:
    return any(
        validation.limit == limit.key and validation.document.strip()
        for validation in plan.validations_of.get(limit.control_point, [])
    )


def _floors(plan: Examined, product: ProductNamed) -> tuple[HeatFloor, ...]:
    description = plan.descriptions.get(product.code)
    return plan.circumstances.floors.heat(
        jurisdiction=plan.circumstances.jurisdiction,
        treatment=product.treatment,
        species=product.species,
        milk_fat_percent=(description.milk_fat_percent if description else None) or 0.0,
    )


def _nearest(floors: tuple[HeatFloor, ...], limit: CriticalLimit) -> HeatFloor:
    """The pair of the law that is nearest in temperature; of a tube's where one is named."""
    tubes = [floor for floor in floors if floor.hold_s <= LONGEST_TUBE_S]
    among = tubes if limit.evaluator == "reading" and tubes else floors
    return min(among, key=lambda floor: abs(floor.temperature_c - (limit.low or 0.0)))
