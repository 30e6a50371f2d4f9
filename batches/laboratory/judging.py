"""What a laboratory's values say, by the plan of the test. The verdicts come from haccp.science.sampling."""

from collections.abc import Sequence
from dataclasses import dataclass

from batches.laboratory.models import SampleTest
from haccp.premises.errors import ActionError
from haccp.science.errors import InputError
from haccp.science.ruling import Verdict
from haccp.science.sampling.plans import Count, Plan, judge, judge_absence
from haccp.science.sampling.typed import read_count, read_detection
from haccp.science.units import read_typed

Kind = SampleTest.Kind


@dataclass(frozen=True, slots=True)
class Judged:
    """verdict: None where the test has no criterion. facts: numbers read out of what was typed."""

    verdict: Verdict | None
    facts: dict[str, object]


def plan_of(test: SampleTest) -> Plan | None:
    """The plan of a count; None where it has no m."""
    if test.kind != Kind.COUNT or test.m is None:
        return None
    # m = M is how the laws write two classes
    upper = None if test.largest is None or test.largest == test.m else test.largest
    return Plan(test.n, test.c, test.m, upper)


def judge_values(test: SampleTest, texts: Sequence[str], unit: str) -> Judged:
    """texts: one a unit, as typed; empty ones are units whose result is not there yet.

    Raises ActionError with a sentence for every value that cannot be used (field "value-<number>").
    """
    given = {i: text for i, text in enumerate(texts) if text.strip()}
    if not given:
        raise ActionError("Type the result of one unit at least.", field="value-0")
    wrong: dict[str, str] = {}
    read: dict[int, object] = {}
    for i, text in given.items():
        try:
            read[i] = _read(test, text, unit)
        except InputError as error:
            wrong[f"value-{i}"] = str(error)
    if wrong:
        raise ActionError(next(iter(wrong.values())), fields=wrong)
    if len(given) > test.n:
        raise ActionError(f"The plan takes {test.n} units and {len(given)} are given; judge the others apart.")
    return _judged(test, list(read.values()))


def _read(test: SampleTest, text: str, unit: str) -> object:
    if test.kind == Kind.COUNT:
        return read_count(text)
    if test.kind == Kind.ABSENCE:
        return read_detection(text)
    return read_typed(test.parameter, text, unit).value_si


def _judged(test: SampleTest, read: list[object]) -> Judged:
    if test.kind == Kind.QUANTITY:
        return Judged(None, {"values_si": read})
    if test.kind == Kind.ABSENCE:
        verdict = judge_absence(test.n, [bool(one) for one in read], amount=test.absent_in)
        return Judged(verdict, dict(verdict.facts))
    counts = [one for one in read if isinstance(one, Count)]
    facts: dict[str, object] = {"low": [one.low for one in counts], "high": [_finite(one.high) for one in counts]}
    plan = plan_of(test)
    if plan is None:
        return Judged(None, facts)
    verdict = judge(plan, counts)
    return Judged(verdict, facts | dict(verdict.facts))


def _finite(value: float) -> float | None:
    """“> 300” has no upper end, which JSON cannot say."""
    return value if value < float("inf") else None
