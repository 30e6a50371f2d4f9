"""How long it takes to examine a plan: `uv run python -m benchmarks.plan_findings`.

A plan of 100 steps, 600 hazards and 60 limits is to take under 100 ms, and twice and four times that plan twice and
four times as long. Medians of several runs, the document's own caches thrown away each time.
"""

import datetime as dt
import itertools
import statistics
import sys
import time
from uuid import UUID

from haccp.plan.document import PlanDocument, ProductNamed
from haccp.plan.document.parts import (
    Check,
    ControlMeasure,
    ControlPoint,
    CriticalLimit,
    DecisionAnswers,
    Hazard,
    Link,
    Measure,
    Step,
)
from haccp.plan.findings import Circumstances, InstrumentOwned, examine

MOST_S = 0.100
MOST_GROWTH = 1.6  # of time per part, from the plan to four times the plan
HERE = Circumstances(
    jurisdiction="EU", today=dt.date(2026, 6, 1), instruments=(InstrumentOwned("thermometer", "T", 0.3),)
)


def plan_of(steps: int) -> PlanDocument:
    """Six hazards to a step; six limits with their checks to ten steps."""
    numbers = iter(range(1, 10**9))

    def key() -> str:
        return str(UUID(int=next(numbers)))

    step_keys = [key() for _ in range(steps)]
    hazards = [
        Hazard(
            key=key(),
            step=step_keys[n // 6],
            kind=("biological", "chemical", "physical", "allergen")[n % 4],
            name=f"Hazard {n}",
            likelihood=2,
            severity=4,
            significant=n % 3 == 0,
            justification="Weighed by the team.",
        )
        for n in range(6 * steps)
    ]
    points = [
        ControlPoint(
            key=key(), step=step_keys[n % steps], kind="ccp", code=f"CCP {n}", name=f"Point {n}",
            hazards=(hazards[n].key,), corrective_action="Hold.",
        )
        for n in range(steps // 5)
    ]  # fmt: skip
    limits = [
        CriticalLimit(
            key=key(), control_point=points[n % len(points)].key, statement=f"Limit {n}", quantity="temperature",
            evaluator="reading", comparator="at_most", high=8.0 + n % 5, unit="°C",
        )
        for n in range(6 * steps // 10)
    ]  # fmt: skip
    daily = {"kind": "clock", "rrule": "FREQ=DAILY;BYHOUR=8;BYMINUTE=0;BYSECOND=0", "from": "2026-01-01"}
    checks = [
        Check(
            key=key(), control_point=limit.control_point, name=f"Check {n}", subject="premises", cadence=daily,
            instrument_kind="thermometer",
        )
        for n, limit in enumerate(limits)
    ]  # fmt: skip
    return PlanDocument(
        products=(ProductNamed(code="A", name="A", species="cow", treatment="pasteurised", family=""),),
        steps=tuple(Step(key=step, position=n, name=f"Step {n}") for n, step in enumerate(step_keys, 1)),
        links=tuple(
            Link(key=key(), start=one, end=other) for one, other in itertools.pairwise(step_keys)
        ),
        hazards=tuple(hazards),
        control_points=tuple(points),
        control_measures=tuple(
            ControlMeasure(key=key(), hazard=hazard.key, description="Cold") for hazard in hazards[::3]
        ),
        decisions=tuple(
            DecisionAnswers(
                key=key(), hazard=hazard.key, step=hazard.step, answers={"q1": False, "q2": True, "q3": True}
            )
            for hazard in hazards[::3]
        ),
        limits=tuple(limits),
        checks=tuple(checks),
        measures=tuple(
            Measure(key=key(), check=check.key, position=0, label="°C", kind="number", quantity="temperature",
                    unit="°C", limits=(limit.key,))
            for check, limit in zip(checks, limits, strict=True)
        ),
    )  # fmt: skip


def seconds(steps: int, runs: int = 9) -> float:
    took = []
    for _ in range(runs):
        document = plan_of(steps)
        begun = time.perf_counter()
        examine(document, HERE)
        took.append(time.perf_counter() - begun)
    return statistics.median(took)


def main() -> int:
    times = {steps: seconds(steps) for steps in (100, 200, 400)}
    for steps, took in times.items():
        sys.stdout.write(f"{steps} steps, {6 * steps} hazards, {6 * steps // 10} limits: {1000 * took:.1f} ms\n")
    growth = times[400] / (4 * times[100])
    sys.stdout.write(f"time per part at four times the size: {growth:.2f} times\n")
    return 0 if times[100] < MOST_S and growth < MOST_GROWTH else 1


if __name__ == "__main__":
    sys.exit(main())
