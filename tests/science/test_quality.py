"""What is wrong with a trace."""

import numpy as np
import pytest

from haccp.science.heat.quality import Flaw, default_max_gap_s, spans
from tests.science.evidence_factory import trace_of, vat_run


def test_a_clean_run_has_no_flaw() -> None:
    t, values = vat_run(1900.0)

    assert spans(trace_of(t, core=values), "core") == []


def test_missing_lines_make_a_gap() -> None:
    t, values = vat_run(1900.0)
    kept = (t <= 1000) | (t >= 1060)

    (gap,) = spans(trace_of(t[kept], core=values[kept]), "core")

    assert (gap.kind, gap.start_s, gap.end_s) == (Flaw.GAP, 1000.0, 1060.0)
    assert gap.sentence == "core has no samples for 1 min."


def test_empty_fields_make_the_same_gap_as_missing_lines() -> None:
    t, values = vat_run(1900.0)
    values[(t > 1000) & (t < 1060)] = np.nan

    (gap,) = spans(trace_of(t, core=values), "core")

    assert (gap.kind, gap.start_s, gap.end_s) == (Flaw.GAP, 1000.0, 1060.0)


def test_a_channel_that_starts_late_or_stays_empty_is_a_gap() -> None:
    t = np.arange(0.0, 101.0)
    late = np.where(t < 30, np.nan, 20.0 + t / 100)

    assert [(s.start_s, s.end_s) for s in spans(trace_of(t, core=late), "core")] == [(0.0, 30.0)]
    assert [(s.start_s, s.end_s) for s in spans(trace_of(t, core=np.full(101, np.nan)), "core")] == [(0.0, 100.0)]


def test_a_value_that_never_moves_is_doubted() -> None:
    t, values = vat_run(1900.0)
    values[(t >= 1000) & (t <= 1700)] = 63.6

    (stuck,) = spans(trace_of(t, core=values), "core")

    assert (stuck.kind, stuck.start_s, stuck.end_s) == (Flaw.STUCK, 1000.0, 1700.0)
    assert stuck.sentence == "core shows the very same value for 11 min 40 s: is the sensor stuck?"
    assert spans(trace_of(t, core=values), "core", stuck_s=800.0) == []


def test_two_equal_readings_of_a_log_by_hand_are_not_a_stuck_sensor() -> None:
    t = np.arange(0.0, 2401.0, 300.0)

    assert spans(trace_of(t, core=np.full(t.size, 63.5)), "core") == []


def test_a_jump_that_no_milk_can_make_is_told() -> None:
    t, values = vat_run(1900.0)
    values[t == 1500] = 12.0

    down, up = spans(trace_of(t, core=values), "core")

    assert (down.kind, down.start_s, down.end_s) == (Flaw.JUMP, 1495.0, 1500.0)
    assert (up.kind, up.start_s, up.end_s) == (Flaw.JUMP, 1500.0, 1505.0)
    assert "°C in 5 s" in down.sentence


@pytest.mark.parametrize(
    ("step_s", "hold_s", "expected"), [(1, None, 5), (10, None, 30), (300, None, 900), (300, 1800, 450), (1, 15, 5)]
)
def test_the_widest_step_follows_the_recorder_and_the_hold(
    step_s: float, hold_s: float | None, expected: float
) -> None:
    trace = trace_of(np.arange(0, 20) * float(step_s), core=np.zeros(20))

    assert default_max_gap_s(trace, hold_s) == expected


def test_a_gap_is_not_taken_for_the_usual_step() -> None:
    trace = trace_of(np.array([0.0, 5.0, 400.0]), core=np.array([63.1, 63.2, 63.3]))

    assert default_max_gap_s(trace, 1800.0) == 15.0


def test_an_empty_trace_has_nothing_to_flag() -> None:
    assert spans(trace_of(np.array([]), core=np.array([])), "core") == []


def test_a_long_log_by_hand_has_equal_readings_and_great_steps_in_its_nature() -> None:
    t = np.arange(0.0, 30 * 300.0, 300.0)
    values = np.where(t < 3000, 20.0 + t / 100, np.where(t < 6000, 63.5, 30.0))

    assert spans(trace_of(t, core=values), "core") == []
