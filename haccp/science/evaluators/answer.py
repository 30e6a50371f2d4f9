"""Answers (negative, pass, ...) against those that the limit accepts."""

from haccp.science.evaluators.evaluator import Evaluator
from haccp.science.evidence import Evidence, Reading
from haccp.science.limit import Comparator, Limit
from haccp.science.ruling import JsonValue, Ruling, Verdict


def judge(limit: Limit, evidence: Evidence) -> Verdict:
    """Any answer that is not accepted: BREACHED. None given, or by an unfit instrument: UNPROVEN. Else MET."""
    needed = " or ".join(f"“{answer}”" for answer in limit.accepted)
    if not evidence.readings:
        return Verdict(Ruling.UNPROVEN, None, "answer.missing", f"No answer was given; {needed} is needed.")
    refused = [r for r in evidence.readings if r.choice is not None and r.choice not in limit.accepted]
    if refused:
        return _verdict(Ruling.BREACHED, "answer.refused", refused[0], f"{_said(refused[0])}; {needed} is needed.")
    empty = [r for r in evidence.readings if r.choice is None]
    if empty:
        name = empty[0].label or "One question"
        return _verdict(Ruling.UNPROVEN, "answer.missing", empty[0], f"{name} has no answer; {needed} is needed.")
    unfit = [r for r in evidence.readings if r.unfit]
    if unfit:
        reason = f"{_said(unfit[0])}, which would do, but it cannot be relied on: {unfit[0].unfit}."
        return _verdict(Ruling.UNPROVEN, "answer.unfit", unfit[0], reason)
    first = evidence.readings[0]
    count = len(evidence.readings)
    reason = f"{_said(first)}, as needed." if count == 1 else f"All {count} answers are as needed ({needed})."
    return _verdict(Ruling.MET, "answer.met", first, reason)


def _said(reading: Reading) -> str:
    return f"{reading.label or 'The answer'}: “{reading.choice}”"


def _verdict(ruling: Ruling, code: str, reading: Reading, reason: str) -> Verdict:
    facts: dict[str, JsonValue] = {
        "choice": reading.choice,
        "label": reading.label,
        "observed_at": reading.observed_at.isoformat(),
        "unfit": reading.unfit,
    }
    return Verdict(ruling, None, code, reason, facts)


EVALUATOR = Evaluator(
    name="answer",
    title="An answer out of a list",
    schema={"type": "object", "properties": {}, "additionalProperties": False},
    comparators=frozenset({Comparator.ONE_OF}),
    judge=judge,
)
