import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from haccp.drawing.thin import thin, unbroken

readings = arrays(np.float64, st.integers(2, 3000), elements=st.floats(-50, 200, width=32))


@settings(deadline=None)
@given(readings, st.integers(1, 60), st.integers(0, 2**32 - 1))
def test_the_lowest_and_highest_sample_of_every_pixel_column_survive(
    values: np.ndarray, columns: int, seed: int
) -> None:
    t = np.cumsum(np.random.default_rng(seed).uniform(0.1, 3.0, values.size))

    kept = thin(t, values, columns)

    width = (t[-1] - t[0]) / columns
    column_of = np.minimum(((t - t[0]) / width), columns - 1).astype(int)
    for column in np.unique(column_of):
        whole, left = values[column_of == column], values[kept][column_of[kept] == column]
        assert left.min() == whole.min()
        assert left.max() == whole.max()


@settings(deadline=None)
@given(readings, st.integers(1, 60))
def test_thinning_keeps_order_ends_and_a_bounded_number_of_points(values: np.ndarray, columns: int) -> None:
    t = np.arange(values.size, dtype=np.float64)

    kept = thin(t, values, columns)

    assert kept[0] == 0
    assert kept[-1] == values.size - 1
    assert (np.diff(kept) > 0).all()
    assert kept.size <= max(4 * columns, 2)


def test_one_low_sample_in_a_million_is_still_drawn() -> None:
    values = np.full(1_000_000, 63.5)
    values[654_321] = 62.9

    kept = thin(np.arange(1_000_000.0), values, 400)

    assert 654_321 in kept
    assert kept.size <= 1600


def test_a_missing_sample_breaks_the_line() -> None:
    values = np.array([1.0, 2.0, np.nan, np.nan, 5.0, np.nan])

    assert unbroken(np.arange(6.0), values, None) == [slice(0, 2), slice(4, 5)]


def test_silence_longer_than_allowed_breaks_the_line() -> None:
    t = np.array([0.0, 1.0, 2.0, 60.0, 61.0])

    assert unbroken(t, np.ones(5), 10.0) == [slice(0, 3), slice(3, 5)]
    assert unbroken(t, np.ones(5), None) == [slice(0, 5)]


def test_a_record_without_any_value_has_no_line() -> None:
    assert unbroken(np.arange(3.0), np.full(3, np.nan), None) == []
