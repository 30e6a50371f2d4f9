"""Guard bands and conformance probability."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from haccp.science.guard import conformance_probability, guard_band, highest_credible, lowest_credible


@given(st.floats(-5, 5), st.floats(0.01, 5))
def test_probability_is_the_normal_distribution_of_scipy(margin: float, expanded: float) -> None:
    # JCGM 106:2012, clause 7: p = Φ((y − T)/u), u = U/2
    assert conformance_probability(margin, expanded) == pytest.approx(norm.cdf(margin / (expanded / 2)), abs=1e-12)


def test_a_reading_a_guard_band_inside_conforms_with_95_percent() -> None:
    # JCGM 106:2012, clause 8; 1.645 is the 95 % quantile of any table of the normal distribution
    assert guard_band(0.4) == pytest.approx(0.329)
    assert conformance_probability(guard_band(0.4), 0.4) == pytest.approx(0.95, abs=1e-4)


def test_without_uncertainty_the_limit_itself_conforms() -> None:
    assert guard_band(0.0) == 0.0
    assert conformance_probability(0.0, 0.0) == 1.0
    assert conformance_probability(-1e-6, 0.0) == 0.0


def test_the_credible_ends_lie_one_expanded_uncertainty_away() -> None:
    assert lowest_credible(63.2, 0.3) == pytest.approx(62.9)
    assert highest_credible(63.2, 0.3) == pytest.approx(63.5)


@pytest.mark.parametrize("expanded", [-0.1, float("nan"), float("inf")])
def test_an_impossible_uncertainty_is_refused(expanded: float) -> None:
    with pytest.raises(ValueError, match="finite number"):
        guard_band(expanded)
