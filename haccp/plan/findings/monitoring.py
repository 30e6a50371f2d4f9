"""Step 9: monitoring."""

from collections.abc import Iterator

from haccp.plan.document.parts import Check, ControlPoint, CriticalLimit
from haccp.plan.findings.circumstances import InstrumentOwned
from haccp.plan.findings.examined import Examined
from haccp.plan.findings.finding import Found, Severity, rule
from haccp.science.errors import InputError
from haccp.science.schedule import check_cadence
from haccp.science.schedule.interval import longest_interval_days
from haccp.science.units import show_difference

STEP_9 = "CXC 1-1969 (2022), chapter two, step 9 (principle 4)"
GUARD_BAND = "JCGM 106:2012, 8.3 (guarded acceptance); CXC 1-1969 (2022), chapter two, step 9"
QUANTITIES_OF = {
    "thermometer": "temperature",
    "recorder": "temperature",
    "ph_meter": "ph",
    "hygrometer": "relative_humidity",
}
# Where a limit has neither target nor width: ±1 °C as FSANZ Standard 3.2.2 clause 22 asks of a thermometer (from
# memory); the other two are common practice, no source.
WIDEST_U = {"temperature": 1.0, "ph": 0.1, "relative_humidity": 5.0}
SMALLEST_SHARE = 4  # U is to be at most a quarter of the room between two bounds; common practice, no source
EACH_DAY = 1.0  # how often product leaves where the plan does not say


@rule("check.instrument_too_coarse", GUARD_BAND, Severity.WARNS, remedy="Use a better instrument, or move the target.")
def instrument_too_coarse(plan: Examined) -> Iterator[Found]:
    for check, limit in _judged(plan):
        owned = _owned(plan, check)
        if QUANTITIES_OF.get(check.instrument_kind) != limit.quantity or not owned:
            continue
        best = min(owned, key=lambda one: one.expanded_uncertainty)
        needed = uncertainty_needed(limit)
        if best.expanded_uncertainty > needed + 1e-9:
            has, may = (show_difference(limit.quantity, u, decimals=2) for u in (best.expanded_uncertainty, needed))
            yield Found(check, f"“{limit.statement}” needs an uncertainty of {may} or less; {best.name} has {has}.")


def uncertainty_needed(limit: CriticalLimit) -> float:
    """The largest U (k = 2, SI) with which a value on target still proves the limit."""
    rooms = [
        abs(target - bound)
        for target, bound in ((limit.target_low, limit.low), (limit.target_high, limit.high))
        if target is not None and bound is not None and target != bound
    ]
    if rooms:
        return min(rooms)
    if limit.low is not None and limit.high is not None and limit.high > limit.low:
        return (limit.high - limit.low) / SMALLEST_SHARE
    return WIDEST_U[limit.quantity]


def _judged(plan: Examined) -> Iterator[tuple[Check, CriticalLimit]]:
    for check in plan.document.checks:
        keys = {key: None for measure in plan.measures_at.get(check.key, []) for key in measure.limits}
        for key in keys:
            if key in plan.limits:
                yield check, plan.limits[key]


def _owned(plan: Examined, check: Check) -> list[InstrumentOwned]:
    return [one for one in plan.circumstances.instruments if one.kind == check.instrument_kind]


@rule("check.instrument_not_owned", STEP_9, Severity.WARNS, remedy="Add the instrument with its calibration.")
def instrument_not_owned(plan: Examined) -> Iterator[Found]:
    for check in plan.document.checks:
        if check.instrument_kind and not _owned(plan, check):
            words = check.instrument_kind.replace("_", " ")
            yield Found(check, f"“{check.name}” needs a {words}, and the dairy has none on file.")


@rule("check.instrument_unfit", STEP_9, Severity.WARNS, remedy="Have it calibrated.")
def instrument_unfit(plan: Examined) -> Iterator[Found]:
    for check in plan.document.checks:
        owned = _owned(plan, check)
        if owned and all(one.unfit for one in owned):
            yield Found(check, f"No instrument for “{check.name}” can be relied on: {owned[0].unfit}.")


@rule(
    "check.place_retired",
    STEP_9,
    Severity.BLOCKS,
    remedy="Choose a place that is in use, or bring this one back under places and instruments.",
)
def place_retired(plan: Examined) -> Iterator[Found]:
    for check in plan.document.checks:
        if check.place in plan.circumstances.places_retired:
            yield Found(check, f"“{check.name}” is done at {check.place}, which is retired: no round comes past it.")


@rule("check.no_instrument", STEP_9, Severity.WARNS, remedy="Say with which kind of instrument it is measured.")
def no_instrument(plan: Examined) -> Iterator[Found]:
    for check, limit in _judged(plan):
        if not check.instrument_kind and limit.quantity in QUANTITIES_OF.values():
            yield Found(check, f"“{check.name}” is judged by “{limit.statement}”, but no instrument is named.")


@rule("check.no_method", STEP_9, Severity.WARNS, remedy="Say how it is done, so that two people do it the same way.")
def no_method(plan: Examined) -> Iterator[Found]:
    for check in plan.document.checks:
        if not check.how.strip():
            yield Found(check, f"It is not said how “{check.name}” is done.")


@rule("check.nobody", STEP_9, Severity.WARNS, remedy="Say whose task it is.")
def nobody(plan: Examined) -> Iterator[Found]:
    for check in plan.document.checks:
        if not check.who.strip():
            yield Found(check, f"It is not said who does “{check.name}”.")


@rule("check.nobody_covers", STEP_9, Severity.WARNS, remedy="Say who stands in, or choose somebody else for it.")
def nobody_covers(plan: Examined) -> Iterator[Found]:
    checks = {check.key: check for check in plan.document.checks}
    for key, sentence in plan.circumstances.uncovered:
        if key in checks:
            yield Found(checks[key], sentence)


@rule("check.enters_nothing", STEP_9, Severity.BLOCKS, remedy="Add what is measured or answered.")
def enters_nothing(plan: Examined) -> Iterator[Found]:
    for check in plan.document.checks:
        if check.key not in plan.measures_at:
            yield Found(check, f"There is nothing to enter at “{check.name}”.")


@rule("check.unusable_cadence", STEP_9, Severity.BLOCKS, remedy="Correct how often it is due.")
def unusable_cadence(plan: Examined) -> Iterator[Found]:
    for check in plan.document.checks:
        try:
            check_cadence(check.cadence)
        except InputError as error:
            yield Found(check, f"“{check.name}” can never fall due: {error.problem}", error.remedy)


@rule("check.too_rare", STEP_9, Severity.WARNS, remedy="Check at every batch, or at least as often as product leaves.")
def too_rare(plan: Examined) -> Iterator[Found]:
    for point in plan.critical:
        checks = [check for check in plan.checks_of.get(point.key, []) if plan.measures_at.get(check.key)]
        if not checks:
            continue
        shortest = _shortest_interval(checks)
        leaves = _leaves_every(plan, point)
        if shortest is None:
            yield Found(point, f"{point.title} is only monitored when someone asks for it.")
        elif shortest > leaves + 0.05:  # an hour's slack: an interval across a change of the clock
            yield Found(
                point,
                f"{point.title} is monitored every {shortest:g} days, but product leaves every {leaves:g} days.",
            )


def _shortest_interval(checks: list[Check]) -> float | None:
    found = []
    for check in checks:
        try:
            days = longest_interval_days(check.cadence)
        except InputError:
            continue
        if days is not None:
            found.append(days)
    return min(found, default=None)


def _leaves_every(plan: Examined, point: ControlPoint) -> float:
    """Days between dispatches of the product that leaves most often, of those that the point's limits cover."""
    codes = {product.code for limit in plan.limits_of.get(point.key, []) for product in plan.covered(limit)}
    stated = [
        description.dispatch_every_days
        for code in codes
        if (description := plan.descriptions.get(code)) and description.dispatch_every_days is not None
    ]
    return min(stated, default=EACH_DAY)
