"""What a stage's limits say of a reading: by the same evaluator that judges the plan's limits."""

from datetime import datetime

from batches.making.models import ProcedureStage, StageReading
from haccp.science import evaluators
from haccp.science.evidence import Evidence, Reading
from haccp.science.limit import Comparator, Limit

What = StageReading.What
BOUNDS = {What.TEMPERATURE: "temperature_{}_c", What.PH: "ph_{}", What.ACIDITY: "acidity_{}_percent"}


def stage_limit(stage: ProcedureStage, what: str) -> Limit | None:
    """None where the stage asks nothing of it. A target alone asks nothing: it is aimed at."""
    name = BOUNDS.get(What(what))
    if name is None:
        return None
    low, high = (getattr(stage, name.format(end)) for end in ("low", "high"))
    if low is None and high is None:
        return None
    comparator = Comparator.AT_MOST if low is None else Comparator.AT_LEAST if high is None else Comparator.BETWEEN
    return Limit(quantity=str(what), evaluator="reading", comparator=comparator, low=low, high=high)


def judged(stage: ProcedureStage, reading: StageReading, at: datetime) -> tuple[str, str]:
    """Ruling and sentence; both empty where the stage asks nothing."""
    limit = stage_limit(stage, reading.what)
    if limit is None:
        return "", ""
    evidence = Evidence(
        readings=(
            Reading(
                observed_at=at,
                value=reading.value_si,
                expanded_uncertainty=reading.expanded_uncertainty,
                unfit=reading.unfit or None,
            ),
        )
    )
    verdict = evaluators.judge(limit, evidence)
    return verdict.ruling.value, verdict.reason
