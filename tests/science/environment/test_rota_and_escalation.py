"""Swabs by rota (common practice, no source), and what finds lead to.

Escalation: the steps by number of finds as published accounts of FDA's draft guidance on Listeria monocytogenes
(January 2017) tell its table; three follow-ups in a row free of Listeria spp.: the flow chart of the Canadian Food
Inspection Agency for surfaces that touch food (2011).
"""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.science.environment.escalation import CONTACT, NEGATIVES_TO_CLOSE, standing
from haccp.science.environment.rota import missing, turns
from haccp.science.errors import InputError

FIRST = date(2026, 3, 2)


@given(st.integers(1, 30), st.integers(1, 12), st.integers(1, 60))
def test_each_point_has_its_turn_and_none_comes_twice_before_the_others(
    count: int, at_once: int, every_days: int
) -> None:
    rounds = -(-count // min(at_once, count))
    found = turns(
        count, first_on=FIRST, every_days=every_days, at_once=at_once, until=FIRST + timedelta(days=rounds * every_days)
    )
    first_round = [point for turn in found[:rounds] for point in turn.points]
    assert set(first_round) == set(range(count))
    assert len(first_round) - count < min(at_once, count)
    assert all(turn.due_on == FIRST + timedelta(days=turn.number * every_days) for turn in found)


def test_a_rota_is_a_function_of_its_first_day_whenever_it_is_asked() -> None:
    whole = turns(5, first_on=FIRST, every_days=7, at_once=2, until=FIRST + timedelta(days=70))
    assert turns(5, first_on=FIRST, every_days=7, at_once=2, until=FIRST + timedelta(days=30)) == whole[:5]
    assert turns(5, first_on=FIRST, every_days=7, at_once=2, until=FIRST - timedelta(days=1)) == []
    assert turns(0, first_on=FIRST, every_days=7, at_once=2, until=FIRST) == []
    with pytest.raises(InputError, match="at least one swab"):
        turns(3, first_on=FIRST, every_days=0, at_once=1, until=FIRST)


def test_what_was_left_out_is_asked_for_until_it_is_swabbed() -> None:
    found = turns(4, first_on=FIRST, every_days=7, at_once=2, until=FIRST + timedelta(days=8))
    today = FIRST + timedelta(days=8)
    assert missing(found, [], today=today, every_days=7) == [
        (0, FIRST),
        (1, FIRST),
        (2, FIRST + timedelta(days=7)),
        (3, FIRST + timedelta(days=7)),
    ]
    swabbed = [(0, FIRST), (2, FIRST + timedelta(days=7)), (3, FIRST)]  # the last one before its turn
    assert [point for point, _ in missing(found, swabbed, today=today, every_days=7)] == [1, 3]


def test_a_find_is_followed_until_three_in_a_row_are_free() -> None:
    assert not standing(CONTACT, []).is_open
    assert not standing(CONTACT, [False, False]).is_open
    first = standing(CONTACT, [False, True])
    assert (first.is_open, first.finds, first.may_not_be_used) == (True, 1, False)
    assert "cheese tested" in " ".join(map(str, first.steps))
    second = standing(CONTACT, [True, False, True])
    assert (second.finds, second.negatives, second.may_not_be_used) == (2, 0, True)
    assert "Do not use it" in " ".join(map(str, second.steps))
    assert "Review the plan" in " ".join(map(str, standing(3, [True, True, True]).steps))
    for zone in (2, 3, 4):
        assert not standing(zone, [True, True, True]).may_not_be_used
    almost = standing(CONTACT, [True, True, *[False] * (NEGATIVES_TO_CLOSE - 1)])
    assert almost.may_not_be_used
    assert not standing(CONTACT, [True, True, *[False] * NEGATIVES_TO_CLOSE]).is_open


def test_each_step_names_what_it_rests_on() -> None:
    first, second = standing(CONTACT, [True]), standing(CONTACT, [True, True])
    assert first.steps[0].text.startswith("Take apart")
    assert second.steps[0].text.startswith("Clean and sanitise it more thoroughly")
    assert all("FDA" in step.source or "Canadian" in step.source for step in (*first.steps, *second.steps))
    assert str(first.steps[-1]) == "Swab it again after each cleaning: 3 in a row must be free."
    assert "from memory" in next(step.source for step in second.steps if str(step).startswith("Do not use it"))


@given(st.lists(st.booleans(), max_size=30), st.integers(1, 4))
def test_never_closed_while_the_last_swab_found_something(found: list[bool], zone: int) -> None:
    stands = standing(zone, found)
    if found and found[-1]:
        assert stands.is_open
    if stands.may_not_be_used:
        assert zone == CONTACT
        assert stands.finds >= 2
