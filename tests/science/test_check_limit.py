"""Limits that cannot be judged are refused while the plan is written."""

from dataclasses import replace

import pytest

from haccp.science.errors import InputError
from haccp.science.evaluators import EVALUATORS, check_limit, check_parameters, judge
from haccp.science.evidence import Evidence
from haccp.science.limit import Comparator, Limit
from tests.science.evidence_factory import vat_limit

COLD = Limit("temperature", "reading", Comparator.AT_MOST, high=8.0)


def test_there_are_four_ways_of_judging() -> None:
    assert set(EVALUATORS) == {"reading", "answer", "elapsed", "holding"}


@pytest.mark.parametrize(
    ("limit", "sentence"),
    [
        (replace(COLD, evaluator="guess"), "no way of judging named “guess”"),
        (replace(COLD, quantity="colour"), "no quantity named “colour”"),
        (replace(COLD, unit="pH"), "“pH” is not a unit of temperature"),
        (replace(COLD, high=None), "A limit of “at most” needs a highest value. Give the highest value as a number."),
        (replace(COLD, low=2.0), "Leave the lowest value out."),
        (replace(COLD, high=float("nan")), "needs a highest value"),
        (replace(COLD, comparator=Comparator.BETWEEN, low=9.0), "The lowest value is above the highest."),
        (replace(COLD, target_high=9.0), "The target lies outside the limit."),
        (replace(COLD, comparator=Comparator.ONE_OF), "“reading” cannot judge “one of”."),
        (replace(COLD, parameters={"hold_s": 3.0}), "judged by each reading does not take hold_s"),
        (Limit("answer", "answer", Comparator.ONE_OF), "The limit accepts no answer."),
        (replace(vat_limit(), parameters={}), "A limit that is held for a time says for how long it is held. Give it."),
        (vat_limit(hold_s=-1.0), "(hold_s): "),
        (vat_limit(hold_s=float("inf")), "hold_s is not a number"),
        (vat_limit(target_hold_s=60.0), "The target holding time is shorter than the limit."),
        (replace(vat_limit(), parameters={"hold_s": True}), "(hold_s): True is not of type 'number'"),
        (replace(vat_limit(unit="pH"), quantity="ph"), "“holding” cannot judge pH."),
        (
            replace(vat_limit(), comparator=Comparator.AT_MOST, low=None, high=3.0),
            "“holding” cannot judge “at most”",
        ),
    ],
)
def test_a_defective_limit_is_refused_with_a_sentence(limit: Limit, sentence: str) -> None:
    with pytest.raises(InputError) as caught:
        check_limit(limit)

    assert sentence in str(caught.value)
    assert caught.value.remedy
    with pytest.raises(InputError):
        judge(limit, Evidence())


def test_a_target_time_later_than_the_limit_is_refused() -> None:
    with pytest.raises(InputError, match="The target time is later than the limit"):
        check_parameters("elapsed", {"from_event": "set", "within_s": 60, "target_within_s": 61})


def test_sound_limits_pass() -> None:
    check_limit(COLD)
    check_limit(vat_limit(target_hold_s=2100.0, air_space_above_c=3.0))
    check_limit(Limit("answer", "answer", Comparator.ONE_OF, accepted=("negative",)))
