"""Runs of a continuous pasteuriser."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.science.errors import InputError
from haccp.science.heat.pasteuriser import FlowRule, Run, ThermometerCheck, ValveTest, judge_run
from haccp.science.ruling import Ruling
from haccp.science.trace import Trace

START = datetime(2026, 5, 4, 6, tzinfo=UTC)
# 21 CFR 1240.61(b): 72 °C for 15 s
RULE = FlowRule(72.0, 15.0, "21 CFR 1240.61(b)")
GENERATOR = np.random.default_rng(3)
NOISE = GENERATOR.normal(0, 0.03, 1201)


def good_run() -> Run:
    """Twenty minutes: warming for two, forward to minute 10, diverted to minute 12, forward to the end."""
    t = np.arange(1201.0)
    celsius = np.where(t < 100, 50 + 0.24 * t, 74.0) + NOISE
    celsius[605:700] = 70.0 + NOISE[605:700]
    return Run(
        trace=Trace(START, t, {"recorder": celsius}),
        channel="recorder",
        forward=((120.0, 600.0), (720.0, 1200.0)),
        holding_s=16.2,
        valve_tests=(ValveTest(START, cut_in_c=73.0, cut_out_c=72.4),),
        checks=(ThermometerCheck(START + timedelta(minutes=5), indicating_c=74.1, recorded_c=74.0),),
        expanded_uncertainty_c=0.5,
    )


def changed(run: Run, where: slice, celsius: float) -> Run:
    values = run.trace.channels["recorder"].copy()
    values[where] = celsius
    return replace(run, trace=Trace(START, run.trace.t_s, {"recorder": values}))


def test_a_good_run_is_met_and_its_diversion_told() -> None:
    found = judge_run(RULE, good_run())

    assert found.verdict.ruling is Ruling.MET, found.findings
    assert found.forward_s == 960
    assert [(d.start_s, d.end_s) for d in found.diversions] == [(600, 720)]
    assert found.diversions[0].lowest_c == pytest.approx(70.0, abs=0.2)


def test_cold_milk_that_went_forward_is_a_breach() -> None:
    found = judge_run(RULE, changed(good_run(), slice(300, 305), 71.0))

    assert found.verdict.ruling is Ruling.BREACHED
    assert found.verdict.code == "flow.cold"


def test_one_cold_sample_is_enough() -> None:
    assert judge_run(RULE, changed(good_run(), slice(300, 301), 71.99)).verdict.code == "flow.cold"


@pytest.mark.parametrize("celsius", [float("nan"), 72.2])
def test_a_gap_and_readings_near_the_limit_are_unproven(celsius: float) -> None:
    found = judge_run(RULE, changed(good_run(), slice(300, 330), celsius))

    assert found.verdict.ruling is Ruling.UNPROVEN
    assert found.verdict.code == "flow.unproven"


def test_a_recorder_that_shows_the_very_same_is_unproven_unless_it_may() -> None:
    stuck = changed(good_run(), slice(725, 1201), 74.0)
    longer = replace(changed(stuck, slice(100, 601), 74.0), stuck_s=400.0)

    assert judge_run(RULE, stuck).verdict.ruling is Ruling.MET
    assert judge_run(RULE, longer).verdict.ruling is Ruling.UNPROVEN


@pytest.mark.parametrize(
    ("change", "ruling", "code"),
    [
        ({"holding_s": 14.0}, Ruling.BREACHED, "tube.short"),
        ({"holding_s": None}, Ruling.UNPROVEN, "tube.untested"),
        ({"valve_tests": ()}, Ruling.UNPROVEN, "valve.untested"),
        ({"valve_tests": (ValveTest(START, 73.0, 71.8),)}, Ruling.BREACHED, "valve.cut_out"),
        ({"valve_tests": (ValveTest(START, 72.1, 72.4),)}, Ruling.UNPROVEN, "valve.order"),
        ({"checks": ()}, Ruling.UNPROVEN, "thermometers.unchecked"),
        # Grade “A” PMO, item 16p (from memory): the recorder reads no higher than the indicating thermometer
        ({"checks": (ThermometerCheck(START, 73.8, 74.0),)}, Ruling.BREACHED, "thermometers.recorder_high"),
        (
            {"checks": (ThermometerCheck(START + timedelta(minutes=5), 71.5, 71.4),)},
            Ruling.BREACHED,
            "thermometers.cold",
        ),
        ({"unfit": "calibration ran out"}, Ruling.UNPROVEN, "flow.unfit"),
        ({"forward": ()}, Ruling.UNPROVEN, "flow.none"),
        ({"forward": ((120.0, 1300.0),)}, Ruling.BREACHED, "flow.cold"),
        ({"forward": ((720.0, 1300.0),)}, Ruling.UNPROVEN, "flow.unproven"),
    ],
)
def test_what_a_run_lacks(change: dict[str, object], ruling: Ruling, code: str) -> None:
    found = judge_run(RULE, replace(good_run(), **change))  # type: ignore[arg-type]

    assert (found.verdict.ruling, found.verdict.code) == (ruling, code)


def test_a_gap_at_the_end_of_forward_flow_is_not_called_cold() -> None:
    # The recorder stopped at second 560 and came back in diverted flow, cold
    run = changed(good_run(), slice(560, 640), float("nan"))

    assert judge_run(RULE, run).verdict.code == "flow.unproven"


@given(st.integers(0, 1200), st.integers(1, 300), st.floats(65, 80))
def test_losing_samples_never_turns_unproven_into_met(at: int, width: int, celsius: float) -> None:
    before = changed(good_run(), slice(at, at + 20), celsius)
    after = changed(before, slice(at, at + max(width, 20)), float("nan"))

    if judge_run(RULE, before).verdict.ruling is not Ruling.MET and any(
        start < at + 20 and at < end for start, end in before.forward
    ):
        assert judge_run(RULE, after).verdict.ruling is not Ruling.MET


def test_times_out_of_order_are_refused() -> None:
    with pytest.raises(InputError, match="order"):
        judge_run(RULE, replace(good_run(), forward=((720.0, 1200.0), (120.0, 600.0))))
