from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.drawing.scale import Scale, padded, tick_decimals, value_ticks


def test_a_scale_maps_known_values_to_known_places() -> None:
    celsius = Scale(0, 100, 300, 50)

    assert celsius(0) == 300
    assert celsius(100) == 50
    assert celsius(63) == pytest.approx(142.5)


@given(st.floats(-200, 200), st.floats(0.01, 500), st.integers(2, 12))
def test_ticks_are_round_even_and_within_the_axis(low: float, span: float, most: int) -> None:
    ticks = value_ticks(low, low + span, most)

    assert len(ticks) <= most + 1
    assert all(low - 1e-6 * span <= tick <= low + span * (1 + 1e-6) for tick in ticks)
    steps = {round((b - a) / span, 6) for a, b in pairwise(ticks)}
    assert len(steps) <= 1


def test_ticks_are_written_with_the_decimals_they_need() -> None:
    assert value_ticks(5.0, 6.0, 4) == [5.0, 5.25, 5.5, 5.75, 6.0]
    assert tick_decimals([5.0, 5.25, 5.5]) == 2
    assert tick_decimals([0.0, 20.0]) == 0


def test_a_constant_record_still_has_an_axis() -> None:
    assert padded(12.0, 12.0, 0.1) == (11.5, 12.5)
