"""Sampling plans, their verdicts and their operating-characteristic curves."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom, multinomial, norm

from haccp.science.errors import InputError
from haccp.science.ruling import Ruling
from haccp.science.sampling.curves import (
    accept_three_class,
    accept_two_class,
    shares_of_lognormal,
    units_to_detect,
)
from haccp.science.sampling.plans import Count, Grade, Plan, grade, judge, judge_absence

# Regulation (EC) 2073/2005, Annex I, 2.2.3: coagulase-positive staphylococci in cheese of raw milk
RAW_MILK_CHEESE = Plan(5, 2, 1e4, 1e5)


@pytest.mark.parametrize(
    ("n", "c", "p", "expected"),
    # Binomial sums worked out by hand from the published formula (ICMSF 7, from memory)
    [(5, 0, 0.1, 0.59049), (5, 0, 0.2, 0.32768), (60, 0, 0.05, 0.04607), (5, 2, 0.2, 0.94208)],
)
def test_two_class_plans(n: int, c: int, p: float, expected: float) -> None:
    assert float(accept_two_class(n, c, p)) == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize(("pd", "pm", "expected"), [(0.05, 0.20, 0.72246), (0.10, 0.30, 0.46656)])
def test_three_class_plans(pd: float, pm: float, expected: float) -> None:
    assert float(accept_three_class(5, 2, pm, pd)) == pytest.approx(expected, abs=1e-5)


@given(st.integers(1, 60), st.data(), st.floats(0, 1))
def test_two_class_curves_are_scipys_binomial(n: int, data: st.DataObject, p: float) -> None:
    c = data.draw(st.integers(0, n - 1))

    assert float(accept_two_class(n, c, p)) == pytest.approx(binom.cdf(c, n, p), abs=1e-9)


@given(st.integers(1, 12), st.data(), st.floats(0, 1), st.floats(0, 1))
def test_three_class_curves_are_scipys_multinomial(n: int, data: st.DataObject, a: float, b: float) -> None:
    c = data.draw(st.integers(0, n - 1))
    pd, pm = a * b, a * (1 - b)
    good = 1 - pd - pm
    expected = sum(multinomial.pmf([i, 0, n - i], n, [pm, pd, max(good, 0.0)]) for i in range(c + 1))

    assert float(accept_three_class(n, c, pm, pd)) == pytest.approx(expected, abs=1e-7)


def test_a_curve_falls_as_batches_get_worse() -> None:
    curve = accept_two_class(5, 2, np.linspace(0, 1, 101))

    assert curve.shape == (101,)
    assert curve[0] == 1.0
    assert curve[-1] == 0.0
    assert np.all(np.diff(curve) <= 1e-12)


@pytest.mark.parametrize(("share", "units"), [(0.10, 29), (0.05, 59)])
def test_units_that_detect_with_95_percent(share: float, units: int) -> None:
    # The usual table of n for 95 %: 29 at 10 % and 59 at 5 %
    assert units_to_detect(share) == units
    assert binom.pmf(0, units, share) <= 0.05 < binom.pmf(0, units - 1, share)


def test_shares_of_a_lognormal_batch() -> None:
    marginal, defective = shares_of_lognormal(np.array([3.0, 4.0]), 0.8, 1e4, 1e5)

    assert defective == pytest.approx(norm.sf((5 - np.array([3.0, 4.0])) / 0.8))
    assert marginal + defective == pytest.approx(norm.sf((4 - np.array([3.0, 4.0])) / 0.8))
    assert shares_of_lognormal(3.0, 0.8, 1e4)[1] == 0.0


@pytest.mark.parametrize(
    ("counts", "expected"),
    [
        # Regulation (EC) 2073/2005, Annex I, interpretation of the results (in part from memory)
        ([1e4] * 5, Grade.SATISFACTORY),
        ([2e4, 1e5, 10, 10, 10], Grade.ACCEPTABLE),
        ([2e4, 2e4, 2e4, 10, 10], Grade.UNSATISFACTORY),
        ([1.1e5, 10, 10, 10, 10], Grade.UNSATISFACTORY),
    ],
)
def test_grades_of_the_regulation(counts: list[float], expected: Grade) -> None:
    assert grade(RAW_MILK_CHEESE, counts) is expected
    assert judge(RAW_MILK_CHEESE, [Count.exactly(c) for c in counts]).facts["grade"] == expected


def test_rulings_follow_the_grades() -> None:
    fine = [Count.below(10)] * 5

    assert judge(RAW_MILK_CHEESE, fine).ruling is Ruling.MET
    assert judge(RAW_MILK_CHEESE, [Count.exactly(2e4), *fine[1:]]).ruling is Ruling.CLOSE
    assert judge(RAW_MILK_CHEESE, [Count.exactly(2e5), *fine[1:]]).ruling is Ruling.BREACHED


def test_large_counts_are_written_out() -> None:
    verdict = judge(Plan(5, 2, 1e6, 1e7), [Count.exactly(2_500_000), *[Count.below(1000)] * 4])

    assert "m = 1\u00a0000\u00a0000" in verdict.reason
    assert verdict.facts["counts"] == ["2\u00a0500\u00a0000", *["< 1000"] * 4]


def test_missing_units_prove_nothing_but_may_condemn() -> None:
    assert judge(RAW_MILK_CHEESE, [Count.below(10)] * 4).ruling is Ruling.UNPROVEN
    assert judge(RAW_MILK_CHEESE, [Count.above(1e5)]).ruling is Ruling.BREACHED


def test_a_bound_that_leaves_the_grade_open_is_unproven() -> None:
    open_end = [Count.above(5e4), *[Count.below(10)] * 4]

    verdict = judge(RAW_MILK_CHEESE, open_end)

    assert verdict.ruling is Ruling.UNPROVEN
    assert verdict.facts["grade"] is None
    assert judge(Plan(5, 2, 10, 100), [Count.below(10)] * 5).ruling is Ruling.MET


def test_a_two_class_plan_has_no_upper_limit() -> None:
    # 2073/2005, 1.3: n 5, c 0, 100 cfu/g
    plan = Plan(5, 0, 100)

    assert judge(plan, [Count.exactly(100)] * 5).ruling is Ruling.MET
    assert judge(plan, [Count.exactly(101), *[Count.exactly(1)] * 4]).ruling is Ruling.BREACHED


def test_absence_in_25_g() -> None:
    # 2073/2005, 1.2: Listeria monocytogenes absent from five units of 25 g
    assert judge_absence(5, [False] * 5).ruling is Ruling.MET
    assert judge_absence(5, [False] * 4).ruling is Ruling.UNPROVEN
    assert judge_absence(5, [True]).ruling is Ruling.BREACHED


@given(st.lists(st.floats(0, 1e6), min_size=5, max_size=5), st.floats(0, 1e6), st.integers(0, 4))
def test_a_higher_count_never_improves_the_grade(counts: list[float], rise: float, unit: int) -> None:
    order = [Grade.SATISFACTORY, Grade.ACCEPTABLE, Grade.UNSATISFACTORY]
    worse = [value + rise * (i == unit) for i, value in enumerate(counts)]

    assert order.index(grade(RAW_MILK_CHEESE, worse)) >= order.index(grade(RAW_MILK_CHEESE, counts))


def test_impossible_plans_and_results_are_refused() -> None:
    for make in (lambda: Plan(5, 5, 10), lambda: Plan(5, 1, 100, 10), lambda: Count.exactly(-1)):
        with pytest.raises(InputError):
            make()
    with pytest.raises(InputError, match="takes 5 units"):
        judge(RAW_MILK_CHEESE, [Count.below(10)] * 6)
    with pytest.raises(InputError):
        accept_two_class(5, 0, 1.5)
    with pytest.raises(InputError):
        units_to_detect(0.0)
