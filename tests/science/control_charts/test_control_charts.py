"""Control charts against published worked examples."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from haccp.science.control_charts.capability import capability
from haccp.science.control_charts.cusum import cusum
from haccp.science.control_charts.ewma import ewma
from haccp.science.control_charts.individuals import individuals, run_signals
from haccp.science.errors import InputError

# NIST/SEMATECH e-Handbook 6.3.2.2: flow rates of ten batches (read in copies)
FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
# NIST/SEMATECH e-Handbook 6.3.2.4 (read in copies): the data, and the averages as printed
EWMA_DATA = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, *FLOW]
EWMA_PRINTED = [50.00, 50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33]
EWMA_PRINTED += [50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99]
# NIST/SEMATECH e-Handbook 6.3.2.3 (read in copies): the data, and both sums as printed
CUSUM_DATA = [324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600]
CUSUM_DATA += [324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350]
CUSUM_HIGH = [0, 0, 0, 0, 0.03, 0, 0, 0, 0, 0, 0, 0, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.00, 19.04]
CUSUM_LOW = [0, 0.01, 0, 0.33, 0, 0, 0.56, 0.72, 0.17, 0.25, 0.31, 0, 0, 0, 0, 0, 0, 0, 0, 0]
# Montgomery and Runger, Applied Statistics and Probability for Engineers, example 16-6 (read): target 99, K 1, H 10
CONCENTRATION = [102.0, 94.8, 98.3, 98.4, 102.0, 98.5, 99.0, 97.7, 100.0, 98.1]
CONCENTRATION += [101.3, 98.7, 101.1, 98.4, 97.0, 96.7, 100.3, 101.4, 97.2, 101.0]


def test_individuals_of_the_handbook() -> None:
    chart = individuals(FLOW)

    assert chart.centre == pytest.approx(50.81)
    assert chart.mean_range == pytest.approx(1.8778, abs=5e-5)
    assert chart.upper == pytest.approx(55.8041, abs=5e-5)
    assert chart.lower == pytest.approx(45.8159, abs=5e-5)
    assert not any(s.code == "point.beyond_3_sigma" for s in chart.signals)


def test_a_value_beyond_the_limits_of_its_baseline_is_said_in_words() -> None:
    chart = individuals([*FLOW, 60.0], baseline=10)

    codes = {s.code: s for s in chart.signals if s.index == 10}
    assert "above the limits" in codes["point.beyond_3_sigma"].sentence
    assert "jump" in codes["range.beyond"].sentence
    assert chart.upper == pytest.approx(55.8041, abs=5e-5)


@pytest.mark.parametrize(
    ("z", "code", "index"),
    [
        ([0.1, 3.1], "point.beyond_3_sigma", 1),
        ([2.1, 0.0, 2.2], "run.2_of_3_beyond_2_sigma", 2),
        ([-1.1, -1.2, 0.3, -1.1, -1.5], "run.4_of_5_beyond_1_sigma", 4),
        ([0.1] * 8, "run.8_on_one_side", 7),
    ],
)
def test_each_run_rule(z: list[float], code: str, index: int) -> None:
    found = [s for s in run_signals(np.array(z)) if s.code == code]

    assert [s.index for s in found] == [index]


@pytest.mark.parametrize("z", [[2.1, 0.0, -2.2], [0.1] * 7 + [-0.1] + [0.1] * 7, [2.9, 0, 0, 2.9, 0, 0]])
def test_what_is_no_run(z: list[float]) -> None:
    assert run_signals(np.array(z)) == []


@given(st.lists(st.floats(-4, 4), min_size=1, max_size=60))
def test_runs_mirror(z: list[float]) -> None:
    up = [(s.index, s.code) for s in run_signals(np.array(z))]

    assert up == [(s.index, s.code) for s in run_signals(-np.array(z))]


def test_ewma_of_the_handbook() -> None:
    chart = ewma(EWMA_DATA, target=50.0, sigma=2.0539, weight=0.3, is_steady=True)

    assert np.round(chart.averages, 2).tolist() == EWMA_PRINTED
    # The handbook rounds the root to 0.4201
    assert chart.upper[-1] == pytest.approx(52.5884, abs=1e-3)
    assert chart.lower[-1] == pytest.approx(47.4115, abs=1e-3)
    assert chart.signals == ()


def test_ewma_limits_widen_to_their_steady_state() -> None:
    steady = ewma(EWMA_DATA, target=50.0, sigma=2.0, is_steady=True)
    exact = ewma(EWMA_DATA, target=50.0, sigma=2.0)

    # After one value the average varies by λσ alone
    assert exact.upper[1] == pytest.approx(50 + 3 * 0.3 * 2.0)
    assert np.all(np.diff(exact.upper) > 0)
    assert exact.upper[-1] == pytest.approx(steady.upper[-1], abs=1e-3)


def test_a_lasting_shift_is_signalled_by_ewma() -> None:
    chart = ewma([50.0] * 5 + [52.0] * 20, target=50.0, sigma=1.0)

    assert chart.signals
    assert 5 < chart.signals[0].index < 10
    assert "above" in chart.signals[0].sentence


@given(st.lists(st.floats(-1e3, 1e3), min_size=1, max_size=30))
def test_a_weight_of_one_is_the_value_itself(values: list[float]) -> None:
    assert ewma(values, target=0.0, sigma=1.0, weight=1.0).averages[1:].tolist() == pytest.approx(values)


def test_cusum_of_the_handbook() -> None:
    chart = cusum(CUSUM_DATA, target=325.0, allowance=0.3175, decision=4.1959)

    # Printed to two digits, each row from the rounded one before
    assert chart.high == pytest.approx(np.array(CUSUM_HIGH), abs=0.02)
    assert chart.low == pytest.approx(np.array(CUSUM_LOW), abs=0.02)
    # The handbook: out of control from group 14 on
    assert [s.index for s in chart.signals] == list(range(13, 20))
    assert set(chart.began) == {12}
    assert "since value 13" in chart.signals[0].sentence


def test_cusum_of_montgomery_and_runger() -> None:
    chart = cusum(CONCENTRATION, target=99.0, allowance=1.0, decision=10.0)

    # Table 16-8: S_H(1) 2.0, S_H(6) 0.5, S_H(18) 1.7; S_L(2) 3.2, S_L(4) 2.5, S_L(16) 2.3; no signal
    assert [chart.high[i] for i in (0, 5, 17)] == pytest.approx([2.0, 0.5, 1.7])
    assert [chart.low[i] for i in (1, 3, 15)] == pytest.approx([3.2, 2.5, 2.3])
    assert chart.signals == ()


@given(st.lists(st.floats(-50, 50), min_size=1, max_size=40))
def test_cusum_sums_mirror(values: list[float]) -> None:
    x = np.array(values)
    up = cusum(values, target=0.0, allowance=0.5, decision=5.0)
    down = cusum((-x).tolist(), target=0.0, allowance=0.5, decision=5.0)

    assert up.high == pytest.approx(down.low)
    assert np.all(up.high >= 0)


def test_capability_of_a_process_known_by_hand() -> None:
    # NIST/SEMATECH e-Handbook 6.1.6 (from memory): limits 8 to 20, mean 16, sigma 2: Cp 1.0, Cpk 0.6667
    spread = 2.0 / math.sqrt(2 * 20 / 39)
    values = [16 + spread, 16 - spread] * 10 + [16 + spread, 16 - spread] * 10
    found = capability(values, low=8.0, high=20.0)

    assert found.mean == pytest.approx(16.0)
    assert found.sigma_overall == pytest.approx(np.std(values, ddof=1))
    assert found.pp == pytest.approx(12 / (6 * found.sigma_overall))
    assert found.ppk == pytest.approx(4 / (3 * found.sigma_overall))
    assert found.cpk == pytest.approx(4 / (3 * 2 * spread / 1.128))
    assert "by itself" in found.sentence


@given(st.lists(st.floats(5.0, 5.4), min_size=3, max_size=60, unique=True))
def test_the_share_outside_is_scipys(values: list[float]) -> None:
    if np.std(values) < 1e-6:
        return
    found = capability(values, high=5.3)

    expected = norm.sf(5.3, np.mean(values), np.std(values, ddof=1))
    assert found.share_outside == pytest.approx(expected, abs=1e-9)
    assert found.cp is None


def test_few_values_are_called_few() -> None:
    assert "few" in capability([5.1, 5.2, 5.15], high=6.0).sentence


@pytest.mark.parametrize(
    "make",
    [
        lambda: individuals([1.0]),
        lambda: individuals([2.0, 2.0, 2.0]),
        lambda: individuals([1.0, float("nan"), 2.0]),
        lambda: ewma([1.0], target=0, sigma=0),
        lambda: cusum([1.0], target=0, allowance=-1, decision=1),
        lambda: capability([1.0, 2.0]),
        lambda: capability([1.0, 2.0], low=3, high=1),
    ],
)
def test_what_makes_no_chart_is_refused(make: Callable[[], object]) -> None:
    with pytest.raises(InputError):
        make()
