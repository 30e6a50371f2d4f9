"""Held at or above a temperature on a recorder trace."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from haccp.science.evaluators import judge
from haccp.science.evidence import Evidence
from haccp.science.ruling import Ruling
from tests.science.evidence_factory import SEVERITY, recorded, vat_limit, vat_run
from tests.science.vat_log import VAT_LOG_C, VAT_LOG_MIN


def test_vat_log_fails_the_thirty_minutes() -> None:
    # 21 CFR 1240.61(b) asks for 30 min at 63 °C; by hand the longest run is 25.83 min, though F63 is 39.78 min
    verdict = judge(vat_limit(), recorded(VAT_LOG_MIN * 60, core=VAT_LOG_C))

    assert verdict.ruling is Ruling.BREACHED
    assert verdict.margin == pytest.approx((25.8333 - 30) * 60, abs=1)
    assert verdict.reason == (
        "Held at or above 63.0 °C for 25 min 50 s without a break; 30 min are required. 4 min 10 s too short."
    )


def test_a_long_enough_hold_is_met_and_says_what_is_to_spare() -> None:
    t = np.arange(0.0, 2701.0)
    core = np.interp(t, [0, 400, 2272, 2700], [63.0 - 40, 63.0, 63.0, 20.0]) + 0.0
    core[(t > 400) & (t < 2272)] += 0.3 + 0.1 * np.sin(t[(t > 400) & (t < 2272)])

    verdict = judge(vat_limit(), recorded(t, core=core))

    assert verdict.ruling is Ruling.MET
    assert verdict.code == "holding.met"
    assert verdict.margin == pytest.approx(72.0)
    assert verdict.reason == (
        "Held at or above 63.0 °C for 31 min 12 s without a break; 30 min are required. 1 min 12 s to spare."
    )
    facts = verdict.facts
    assert facts["longest_s"] == pytest.approx(1872.0)
    assert facts["needed_s"] == 1800.0
    assert facts["run_start_s"] == pytest.approx(400.0)
    assert facts["run_end_s"] == pytest.approx(2272.0)
    assert facts["come_up_s"] == pytest.approx(400.0)
    assert facts["cool_down_s"] == pytest.approx(428.0)
    assert facts["minimum_c"] == pytest.approx(63.0)
    assert facts["run_started_at"] == "2026-03-14T06:36:40+00:00"


def test_the_sentence_speaks_the_unit_of_the_limit() -> None:
    t, core = vat_run(1900.0)

    assert "145.4 °F" in judge(vat_limit(unit="°F"), recorded(t, core=core)).reason


def test_exactly_the_required_time_is_met() -> None:
    t = np.array([0.0, 600.0, 1200.0, 1800.0])

    verdict = judge(vat_limit(max_gap_s=600.0), recorded(t, core=np.full(4, 63.0)))

    assert verdict.ruling is Ruling.MET
    assert "Nothing to spare" in verdict.reason


def test_short_of_the_target_is_close() -> None:
    t, core = vat_run(1900.0)

    verdict = judge(vat_limit(target_hold_s=2100.0), recorded(t, core=core))

    assert verdict.ruling is Ruling.CLOSE
    assert verdict.reason.endswith("but shorter than the target of 35 min.")


def test_the_lowest_probe_rules() -> None:
    t, core = vat_run(1900.0)
    cold = np.where((t > 1400) & (t < 1500), 62.5, core)

    verdict = judge(vat_limit(), recorded(t, core=core, wall=cold))

    assert verdict.ruling is Ruling.BREACHED
    assert judge(vat_limit(), recorded(t, core=core)).ruling is Ruling.MET


def test_two_probes_that_dip_in_turn_never_hold_together() -> None:
    t, core = vat_run(3600.0)
    first = np.where((t > 1500) & (t < 1600), 62.5, core)
    second = np.where((t > 3000) & (t < 3100), 62.5, core)
    limit = vat_limit()

    assert judge(limit, recorded(t, a=first)).ruling is Ruling.MET
    assert judge(limit, recorded(t, b=second)).ruling is Ruling.MET
    assert judge(limit, recorded(t, a=first, b=second)).ruling is Ruling.BREACHED


def test_long_enough_only_without_the_uncertainty_is_unproven() -> None:
    t, core = vat_run(1900.0)

    verdict = judge(vat_limit(), recorded(t, core=core, uncertainty_c=0.6))

    assert verdict.ruling is Ruling.UNPROVEN
    assert verdict.code == "holding.uncertain"
    assert "the recorder may be off by 0.6 °C" in verdict.reason
    assert verdict.margin is not None
    assert verdict.margin < 0


def test_the_uncertainty_is_told_when_the_hold_is_met_in_spite_of_it() -> None:
    t, core = vat_run(1900.0, hold_c=64.5)

    verdict = judge(vat_limit(), recorded(t, core=core, uncertainty_c=0.5))

    assert verdict.ruling is Ruling.MET
    assert "(with 0.5 °C allowed for the recorder)" in verdict.reason


def test_an_unfit_recorder_proves_nothing_but_does_not_excuse_a_breach() -> None:
    t, core = vat_run(1900.0)
    short_t, short = vat_run(1200.0)
    unfit = "calibration ran out on 2026-03-01"

    kept = judge(vat_limit(), recorded(t, core=core, unfit=unfit))
    broken = judge(vat_limit(), recorded(short_t, core=short, unfit=unfit))

    assert kept.ruling is Ruling.UNPROVEN
    assert kept.reason.endswith("the recorder cannot be relied on: calibration ran out on 2026-03-01.")
    assert broken.ruling is Ruling.BREACHED


def test_a_gap_in_the_hold_leaves_it_unproven() -> None:
    t, core = vat_run(1900.0)
    kept = (t < 1500) | (t > 1560)

    verdict = judge(vat_limit(), recorded(t[kept], core=core[kept]))

    assert verdict.ruling is Ruling.UNPROVEN
    assert verdict.code == "holding.gap"
    assert verdict.margin is None
    assert "core has no samples for 1 min 10 s." in verdict.reason


def test_a_gap_outside_the_run_does_no_harm() -> None:
    t, core = vat_run(1900.0)
    kept = (t < 200) | (t > 300)

    assert judge(vat_limit(), recorded(t[kept], core=core[kept])).ruling is Ruling.MET


def test_a_gap_in_a_hold_too_short_anyway_stays_a_breach() -> None:
    t, core = vat_run(1200.0)
    kept = (t < 1000) | (t > 1060)

    assert judge(vat_limit(), recorded(t[kept], core=core[kept])).ruling is Ruling.BREACHED


def test_samples_missing_from_one_probe_leave_it_unproven() -> None:
    t, core = vat_run(1900.0)
    dropped = np.where((t > 1500) & (t < 1560), np.nan, core)

    verdict = judge(vat_limit(), recorded(t, core=core, wall=dropped))

    assert (verdict.ruling, verdict.code) == (Ruling.UNPROVEN, "holding.gap")


def test_a_stuck_sensor_leaves_it_unproven() -> None:
    t, core = vat_run(1900.0)
    stuck = np.where((t > 900) & (t < 1700), 63.6, core)

    verdict = judge(vat_limit(), recorded(t, core=stuck))

    assert (verdict.ruling, verdict.code) == (Ruling.UNPROVEN, "holding.stuck")
    assert "is the sensor stuck?" in verdict.reason


def test_two_samples_half_an_hour_apart_prove_nothing() -> None:
    verdict = judge(vat_limit(), recorded(np.array([0.0, 1900.0]), core=np.array([65.0, 65.0])))

    assert (verdict.ruling, verdict.code) == (Ruling.UNPROVEN, "holding.gap")


def test_the_air_above_must_be_warm_through_the_same_run() -> None:
    # 3 CCR 584(b): the air space at least 5 °F (3 °C) above the required minimum through heating and holding
    t, core = vat_run(1900.0)
    warm = core + 4.0
    cool = np.where((t > 1500) & (t < 1600), 65.0, warm)
    limit = vat_limit(air_space_above_c=3.0)

    assert judge(limit, recorded(t, core=core, air=warm)).ruling is Ruling.MET
    verdict = judge(limit, recorded(t, core=core, air=cool))
    assert (verdict.ruling, verdict.code) == (Ruling.BREACHED, "holding.air_space")
    assert "the air above it was at or above 66.0 °C for only" in verdict.reason
    # Without the parameter the air space is not asked about
    assert judge(vat_limit(), recorded(t, core=core, air=cool)).ruling is Ruling.MET


def test_an_air_space_that_nobody_recorded_is_unproven() -> None:
    t, core = vat_run(1900.0)

    verdict = judge(vat_limit(air_space_above_c=3.0), recorded(t, core=core))

    assert (verdict.ruling, verdict.code) == (Ruling.UNPROVEN, "holding.no_air_space")


def test_no_trace_or_no_product_channel_is_unproven() -> None:
    t, core = vat_run(1900.0)

    assert judge(vat_limit(), Evidence()).code == "holding.no_trace"
    assert judge(vat_limit(), recorded(np.array([]), core=np.array([]))).code == "holding.no_trace"
    assert judge(vat_limit(), replace(recorded(t, core=core), roles={})).code == "holding.no_product"


def test_never_warm_enough_tells_how_warm_it_was() -> None:
    t, core = vat_run(1900.0, hold_c=60.0)

    verdict = judge(vat_limit(), recorded(t, core=core))

    assert verdict.ruling is Ruling.BREACHED
    assert verdict.reason == "Never held at or above 63.0 °C; 30 min are required. The coldest probe reached 60.2 °C."


def test_a_probe_without_any_sample_never_counts_as_warm() -> None:
    t, core = vat_run(1900.0)

    verdict = judge(vat_limit(), recorded(t, core=core, wall=np.full(t.size, np.nan)))

    assert not verdict.ruling.is_satisfied


def test_a_recording_that_ends_too_soon_says_so() -> None:
    t, core = vat_run(1900.0)
    kept = t < 2000

    verdict = judge(vat_limit(), recorded(t[kept], core=core[kept]))

    assert verdict.ruling is Ruling.BREACHED
    assert verdict.reason.endswith("The recording ends while it is still held.")


TEMPERATURES = st.lists(st.integers(615, 650), min_size=40, max_size=60)


@settings(max_examples=200)
@given(st.data(), st.integers(620, 640))
def test_a_longer_gap_never_turns_into_met(data: st.DataObject, low: int) -> None:
    tenths = data.draw(TEMPERATURES)
    t, core = np.arange(len(tenths)) * 10.0, np.array(tenths) / 10.0
    # Wider than the 30 s that three usual steps make
    first = data.draw(st.integers(1, len(tenths) - 8))
    last = data.draw(st.integers(first + 3, len(tenths) - 3))
    earlier = data.draw(st.integers(1, first))
    later = data.draw(st.integers(last, len(tenths) - 3))
    limit = vat_limit(low / 10.0, hold_s=120.0)

    def ruled(a: int, b: int) -> Ruling:
        kept = np.ones(len(tenths), bool)
        kept[a:b] = False
        return judge(limit, recorded(t[kept], core=core[kept])).ruling

    if not ruled(first, last).is_satisfied:
        assert not ruled(earlier, later).is_satisfied


@settings(max_examples=200)
@given(TEMPERATURES, st.floats(0, 2), st.floats(0, 2))
def test_less_uncertainty_never_worsens_a_ruling(tenths: list[int], one: float, other: float) -> None:
    t, core = np.arange(len(tenths)) * 10.0, np.array(tenths) / 10.0
    limit = vat_limit(62.5, hold_s=60.0, target_hold_s=120.0)

    less, more = (
        SEVERITY.index(judge(limit, recorded(t, core=core, uncertainty_c=u)).ruling) for u in sorted((one, other))
    )

    assert less <= more


@settings(max_examples=200)
@given(TEMPERATURES, st.data())
def test_a_warmer_trace_never_worsens_a_ruling(tenths: list[int], data: st.DataObject) -> None:
    rises = data.draw(st.lists(st.integers(0, 20), min_size=len(tenths), max_size=len(tenths)))
    t = np.arange(len(tenths)) * 10.0
    limit = vat_limit(63.0, hold_s=60.0)

    cooler, warmer = (
        SEVERITY.index(judge(limit, recorded(t, core=np.array(values) / 10.0)).ruling)
        for values in (tenths, [a + b for a, b in zip(tenths, rises, strict=True)])
    )

    assert warmer <= cooler


@given(TEMPERATURES)
def test_the_same_evidence_is_always_ruled_the_same(tenths: list[int]) -> None:
    evidence = recorded(np.arange(len(tenths)) * 10.0, core=np.array(tenths) / 10.0)

    assert judge(vat_limit(63.0, hold_s=60.0), evidence) == judge(vat_limit(63.0, hold_s=60.0), evidence)


def test_the_uncertainty_counts_for_the_air_too() -> None:
    t, core = vat_run(1900.0, hold_c=64.5)
    limit = vat_limit(air_space_above_c=3.0)

    # 66.3 °C is above 63 + 3 °C, but 66.3 − 0.5 °C is not
    verdict = judge(
        limit, recorded(t, core=core, air=np.minimum(core + 9.0, 66.3 + 0.01 * np.sin(t)), uncertainty_c=0.5)
    )

    assert (verdict.ruling, verdict.code) == (Ruling.UNPROVEN, "holding.uncertain")


def test_a_gap_in_the_record_of_the_air_leaves_it_unproven() -> None:
    t, core = vat_run(1900.0)
    air = np.where((t > 1500) & (t < 1560), np.nan, core + 4.0)

    assert judge(vat_limit(air_space_above_c=3.0), recorded(t, core=core, air=air)).code == "holding.gap"
    assert judge(vat_limit(), recorded(t, core=core, air=air)).ruling is Ruling.MET


def test_the_noise_of_a_unit_conversion_is_not_a_breach() -> None:
    t, low_c = np.arange(0.0, 1801.0, 10.0), 62.777_777_777_8
    core = np.full(t.size, low_c - 1e-11)

    assert judge(vat_limit(low_c, stuck_s=3600.0), recorded(t, core=core)).ruling is Ruling.MET


def test_the_noise_of_a_clock_is_not_a_second_lost() -> None:
    t = np.linspace(0.0, 1800.0 - 1e-9, 181)

    assert judge(vat_limit(), recorded(t, core=63.5 + 0.1 * np.sin(t))).ruling is Ruling.MET
