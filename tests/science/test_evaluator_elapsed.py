"""A value reached within a time of an event."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.science.evaluators import judge
from haccp.science.evidence import Evidence, Reading
from haccp.science.limit import Comparator, Limit
from haccp.science.ruling import Ruling, Verdict
from tests.science.evidence_factory import SEVERITY, START, at_hours

ACID = Limit(
    "ph",
    "elapsed",
    Comparator.AT_MOST,
    high=5.30,
    target_high=5.20,
    parameters={"from_event": "starter_added", "within_s": 6 * 3600, "target_within_s": 5 * 3600},
)
EVENTS = {"starter_added": START}


def rule(*readings: Reading, as_of_hours: float | None = None) -> Verdict:
    as_of = None if as_of_hours is None else START + timedelta(hours=as_of_hours)
    return judge(ACID, Evidence(readings=readings, events=EVENTS, as_of=as_of))


def test_reached_in_time_is_met() -> None:
    verdict = rule(at_hours(2, 6.1), at_hours(4.5, 5.18))

    assert verdict.ruling is Ruling.MET
    assert verdict.margin == pytest.approx(0.12)
    assert verdict.reason == (
        "pH 5.18 was reached 4 h 30 min after starter added; at most pH 5.30 is needed within 6 h of starter "
        "added. 1 h 30 min to spare."
    )


def test_reached_on_the_deadline_is_in_time() -> None:
    assert rule(at_hours(6, 5.30)).ruling is Ruling.CLOSE


@pytest.mark.parametrize(
    ("hours", "value", "code"), [(5.5, 5.1, "elapsed.close_time"), (4, 5.25, "elapsed.close_value")]
)
def test_past_the_target_is_close(hours: float, value: float, code: str) -> None:
    verdict = rule(at_hours(hours, value))

    assert (verdict.ruling, verdict.code) == (Ruling.CLOSE, code)


def test_what_was_reached_in_time_stays_reached() -> None:
    assert rule(at_hours(4, 5.18), at_hours(7, 5.45)).ruling is Ruling.MET


def test_before_the_moment_nothing_is_said_but_the_time_left() -> None:
    verdict = rule(at_hours(2, 6.1))

    assert verdict.ruling is Ruling.AWAITED
    assert verdict.facts["left_s"] == 4 * 3600
    assert "4 h left" in verdict.reason


def test_a_course_that_will_arrive_is_projected() -> None:
    # By hand: 6.50 to 5.90 in 2 h is 0.30 an hour; 0.60 more take 2 h
    verdict = rule(at_hours(1, 6.5), at_hours(3, 5.9))

    assert (verdict.ruling, verdict.code) == (Ruling.AWAITED, "elapsed.awaited")
    assert verdict.facts["rate_per_h"] == pytest.approx(-0.3)
    assert verdict.facts["reached_s"] == pytest.approx(5 * 3600)
    assert verdict.reason.endswith("At this rate it is reached after 5 h.")


def test_a_slow_course_warns_early() -> None:
    # By hand: 6.50 to 6.10 in 2 h is 0.20 an hour; 0.80 more take 4 h from the third hour
    verdict = rule(at_hours(1, 6.5), at_hours(3, 6.1))

    assert (verdict.ruling, verdict.code) == (Ruling.AWAITED, "elapsed.slow")
    assert verdict.reason.endswith("3 h left. Too slow: at this rate it is reached only after 7 h.")


def test_a_course_that_stands_still_warns_too() -> None:
    verdict = rule(at_hours(1, 6.5), at_hours(3, 6.5))

    assert (verdict.ruling, verdict.code) == (Ruling.AWAITED, "elapsed.slow")


def test_the_projection_minds_the_uncertainty() -> None:
    # By hand: 0.40 an hour; 5.30 after 5 h 45 min, but 5.30 − 1.645·0.1 = 5.1355 only after 6 h 10 min
    verdict = rule(at_hours(2, 6.8, uncertainty=0.2), at_hours(4, 6.0, uncertainty=0.2))

    assert verdict.code == "elapsed.slow"
    assert verdict.facts["reached_s"] == pytest.approx((4 + (6.0 - 5.1355) / 0.4) * 3600)


@pytest.mark.parametrize("hours", [6, 7])
def test_outside_at_or_after_the_deadline_is_a_breach(hours: float) -> None:
    verdict = rule(at_hours(3, 5.8), at_hours(hours, 5.42))

    assert verdict.ruling is Ruling.BREACHED
    assert verdict.margin == pytest.approx(-0.12)
    assert "0.12 pH units too high" in verdict.reason


def test_read_only_too_late_is_unproven() -> None:
    verdict = rule(at_hours(3, 5.8), at_hours(7, 5.2))

    assert (verdict.ruling, verdict.code) == (Ruling.UNPROVEN, "elapsed.read_late")
    assert "pH 5.20 was read only after 7 h" in verdict.reason


def test_time_alone_settles_what_nobody_read() -> None:
    assert rule(at_hours(3, 5.8), as_of_hours=5.9).ruling is Ruling.AWAITED
    assert rule(at_hours(3, 5.8), as_of_hours=6.0).ruling is Ruling.AWAITED
    verdict = rule(at_hours(3, 5.8), as_of_hours=6.1)
    assert (verdict.ruling, verdict.code) == (Ruling.UNPROVEN, "elapsed.not_read")
    assert rule(as_of_hours=6.1).ruling is Ruling.UNPROVEN
    assert rule().ruling is Ruling.AWAITED


def test_a_value_within_its_uncertainty_asks_for_another_reading_and_ends_unproven() -> None:
    near = at_hours(4, 5.28, uncertainty=0.1)

    awaited, over = rule(near), rule(near, as_of_hours=6.5)

    assert awaited.ruling is Ruling.AWAITED
    assert awaited.reason.endswith("pH 5.28 is nearer to it than the instrument can tell: read again.")
    assert (over.ruling, over.code) == (Ruling.UNPROVEN, "elapsed.uncertain")


def test_an_unfit_meter_proves_nothing_but_does_not_excuse_a_breach() -> None:
    unfit = "not calibrated today"

    assert rule(at_hours(4, 5.0, unfit=unfit)).ruling is Ruling.AWAITED
    assert rule(at_hours(4, 5.0, unfit=unfit), as_of_hours=7).ruling is Ruling.UNPROVEN
    assert rule(at_hours(7, 5.6, unfit=unfit)).ruling is Ruling.BREACHED


def test_a_missing_event_is_unproven() -> None:
    verdict = judge(ACID, Evidence(readings=(at_hours(4, 5.0),)))

    assert (verdict.ruling, verdict.code) == (Ruling.UNPROVEN, "elapsed.no_event")
    assert verdict.reason == "“starter added” is not on record, so the time cannot be counted from it."


def test_readings_from_before_the_event_do_not_count() -> None:
    assert rule(at_hours(-1, 5.0)).ruling is Ruling.AWAITED


def test_readings_may_come_in_any_order() -> None:
    assert rule(at_hours(3, 6.1), at_hours(1, 6.5)) == rule(at_hours(1, 6.5), at_hours(3, 6.1))


def test_a_value_that_must_rise_is_judged_the_other_way_round() -> None:
    # Common practice, no source: washed-rind cheese is to lose its acid before it is sold
    limit = Limit(
        "ph", "elapsed", Comparator.AT_LEAST, low=6.0, parameters={"from_event": "salted", "within_s": 20 * 86400}
    )
    readings = (at_hours(24, 5.0), at_hours(48, 5.1))
    verdict = judge(limit, Evidence(readings=readings, events={"salted": START}))

    # By hand: 0.1 a day from 5.1 on the second day comes to 6.0 on the eleventh
    assert verdict.facts["reached_s"] == pytest.approx(11 * 86400)


COURSES = st.lists(st.tuples(st.floats(0, 10), st.floats(4.6, 6.8)), max_size=6)


@given(COURSES, st.floats(0, 0.5), st.floats(0, 0.5), st.floats(0, 10))
def test_less_uncertainty_never_worsens_a_ruling(
    course: list[tuple[float, float]], one: float, other: float, now: float
) -> None:
    less, more = (
        SEVERITY.index(rule(*(at_hours(h, v, uncertainty=u) for h, v in course), as_of_hours=now).ruling)
        for u in sorted((one, other))
    )

    assert less <= more


@given(COURSES, st.floats(0, 0.3), st.floats(0, 10), st.floats(0, 10))
def test_waiting_longer_without_a_reading_never_helps(
    course: list[tuple[float, float]], uncertainty: float, one: float, other: float
) -> None:
    readings = [at_hours(h, v, uncertainty=uncertainty) for h, v in course]

    sooner, later = (SEVERITY.index(rule(*readings, as_of_hours=now).ruling) for now in sorted((one, other)))

    assert sooner <= later
