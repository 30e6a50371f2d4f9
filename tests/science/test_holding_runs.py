"""Runs at or above a temperature on straight segments, and arithmetic on intervals."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.science.heat.holding import runs_at_or_above
from haccp.science.heat.intervals import intersect, length_s, longest, share_time, subtract, total_s
from tests.science.vat_log import VAT_LOG_C, VAT_LOG_MIN

# Tenths of a degree, as recorders write them: dips to exactly the threshold are common
TENTHS = st.lists(st.integers(600, 660), min_size=2, max_size=40)


def test_vat_log_has_its_longest_run_at_exact_crossings() -> None:
    # Worked out by hand: 63.1 °C at 35 min and 62.5 °C at 40 min cross 63 °C at 35.83 min
    run = longest(runs_at_or_above(VAT_LOG_MIN * 60, VAT_LOG_C, 63.0))

    assert run == pytest.approx((600.0, 35 * 60 + 50.0))
    assert length_s(run) / 60 == pytest.approx(25.83, abs=0.02)


@given(TENTHS, st.integers(600, 660))
def test_runs_agree_with_dense_sampling(tenths: list[int], threshold: int) -> None:
    t = np.arange(len(tenths)) * 10.0
    values = np.array(tenths) / 10.0
    dense = np.linspace(0.0, t[-1], 200 * (len(tenths) - 1) + 1)
    above = np.interp(dense, t, values) >= threshold / 10.0 - 1e-9

    runs = runs_at_or_above(t, values, threshold / 10.0)

    step = dense[1] - dense[0]
    crossings = int(np.abs(np.diff(above.astype(int))).sum()) + 2
    assert total_s(runs) == pytest.approx(above[:-1].sum() * step, abs=crossings * step)
    # Away from the crossings every moment lies in a run exactly when it is warm enough
    for moment, is_above in zip(dense[::17], above[::17], strict=True):
        if all(abs(moment - edge) > 1e-6 for run in runs for edge in run):
            assert (
                any(a < moment < b for a, b in runs) == is_above
                or abs(np.interp(moment, t, values) - threshold / 10.0) < 1e-9
            )


@given(TENTHS, st.data())
def test_a_warmer_trace_never_loses_holding(tenths: list[int], data: st.DataObject) -> None:
    rises = data.draw(st.lists(st.integers(0, 30), min_size=len(tenths), max_size=len(tenths)))
    t = np.arange(len(tenths)) * 10.0
    cooler = runs_at_or_above(t, np.array(tenths) / 10.0, 63.0)
    warmer = runs_at_or_above(t, (np.array(tenths) + np.array(rises)) / 10.0, 63.0)

    assert length_s(longest(warmer)) >= length_s(longest(cooler)) - 1e-6
    assert total_s(warmer) >= total_s(cooler) - 1e-6


@given(TENTHS, st.floats(0.01, 0.99))
def test_splitting_segments_changes_no_run(tenths: list[int], part: float) -> None:
    t = np.arange(len(tenths)) * 10.0
    values = np.array(tenths) / 10.0
    finer = np.sort(np.concatenate([t, t[:-1] + part * 10.0]))

    whole, split = (runs_at_or_above(times, np.interp(times, t, values), 63.0) for times in (t, finer))

    assert length_s(longest(split)) == pytest.approx(length_s(longest(whole)), abs=1e-5)
    assert total_s(split) == pytest.approx(total_s(whole), abs=1e-5)


def test_a_dip_to_exactly_the_threshold_breaks_nothing() -> None:
    t = np.array([0.0, 10.0, 20.0])

    assert runs_at_or_above(t, np.array([63.2, 63.0, 63.2]), 63.0) == [(0.0, 20.0)]
    assert len(runs_at_or_above(t, np.array([63.2, 62.9, 63.2]), 63.0)) == 2


def test_a_peak_of_no_length_is_no_run() -> None:
    assert runs_at_or_above(np.array([0.0, 10.0, 20.0]), np.array([62.0, 63.0, 62.0]), 63.0) == []
    assert runs_at_or_above(np.array([0.0]), np.array([70.0]), 63.0) == []
    assert runs_at_or_above(np.array([0.0, 1.0]), np.array([np.nan, np.nan]), 63.0) == []


MOMENTS = st.lists(st.integers(0, 100), min_size=0, max_size=12, unique=True)


def intervals_of(moments: list[int]) -> list[tuple[float, float]]:
    ordered = sorted(moments)[: len(moments) // 2 * 2]
    return [(float(a), float(b)) for a, b in zip(ordered[::2], ordered[1::2], strict=True)]


@given(MOMENTS, MOMENTS)
def test_intersection_and_difference_agree_with_sets_of_moments(left: list[int], right: list[int]) -> None:
    a, b = intervals_of(left), intervals_of(right)

    def covered(intervals: list[tuple[float, float]]) -> set[float]:
        return {m + 0.5 for m in range(100) if any(s < m + 0.5 < e for s, e in intervals)}

    assert covered(intersect(a, b)) == covered(a) & covered(b)
    assert covered(subtract(a, reversed(b))) == covered(a) - covered(b)
    for one in a:
        for other in b:
            assert share_time(one, other) == bool(covered([one]) & covered([other]))
