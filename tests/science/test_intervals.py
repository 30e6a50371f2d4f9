"""Arithmetic on sets of time intervals."""

from hypothesis import given
from hypothesis import strategies as st

from haccp.science.heat.intervals import Interval, intersect, subtract, total_s, union

ANY = st.lists(st.tuples(st.integers(0, 40), st.integers(1, 9)).map(lambda p: (float(p[0]), float(p[0] + p[1]))))
# Half past every second lies on no edge
MOMENTS = [i + 0.5 for i in range(50)]


def holds(intervals: list[Interval], moment: float) -> bool:
    return any(start <= moment <= end for start, end in intervals)


@given(ANY, ANY)
def test_sets_agree_moment_by_moment(first: list[Interval], second: list[Interval]) -> None:
    left, right = union(first), union(second)

    for moment in MOMENTS:
        in_left, in_right = holds(first, moment), holds(second, moment)
        assert holds(left, moment) == in_left
        assert holds(intersect(left, right), moment) == (in_left and in_right)
        assert holds(subtract(left, second), moment) == (in_left and not in_right)


@given(ANY, ANY)
def test_what_is_taken_away_and_what_is_left_are_the_whole(first: list[Interval], second: list[Interval]) -> None:
    left = union(first)

    assert total_s(subtract(left, second)) + total_s(intersect(left, union(second))) == total_s(left)
