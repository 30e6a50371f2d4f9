"""The ageing clock."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from haccp.science.ageing import (
    AgeingClock,
    AgeingRule,
    RoomRecord,
    Standing,
    Stay,
    ageing_clock,
    record_of_readings,
)
from haccp.science.errors import InputError
from haccp.science.evidence import Reading
from haccp.science.ruling import Ruling
from haccp.science.trace import Trace

DAY = timedelta(days=1)
HOUR = timedelta(hours=1)
BRINED = datetime(2026, 3, 2, 9, tzinfo=UTC)
# 21 CFR 133.182(a): not less than 60 days at not less than 35 °F (1.7 °C)
US = AgeingRule(60, "drained", "US", "21 CFR 133.182(a)", lowest_c=1.7)
# Food and Drug Regulations B.08.030(1): 60 days at 2 °C or more
CANADA = AgeingRule(60, "drained", "CA", "FDR B.08.030(1)", lowest_c=2.0)


def hourly(start: datetime, celsius: Sequence[float], *, doubt: float = 0.0, unfit: str | None = None) -> RoomRecord:
    t = np.arange(len(celsius)) * 3600.0
    return RoomRecord(Trace(start, t, {"air": np.array(celsius, dtype=float)}), "air", doubt, unfit)


def clock(
    record: RoomRecord, days: float, *, rule: AgeingRule = US, stays: Sequence[Stay] = (Stay("cave", BRINED),)
) -> AgeingClock:
    return ageing_clock(rule, BRINED, stays, {"cave": [record]}, as_of=BRINED + days * DAY)


def test_sixty_days_of_a_whole_record_are_met_at_their_very_end() -> None:
    found = clock(hourly(BRINED, [11.0] * (24 * 65)), 64)

    assert found.verdict.ruling is Ruling.MET
    assert found.reached_at == found.earliest_release_at == BRINED + 60 * DAY
    assert found.changes == ()


def test_before_that_it_is_awaited_with_the_date() -> None:
    found = clock(hourly(BRINED, [11.0] * (24 * 20 + 1)), 20)

    assert found.verdict.ruling is Ruling.AWAITED
    assert "40 d" in found.verdict.reason
    assert found.earliest_release_at == BRINED + 60 * DAY
    assert found.days_proven == pytest.approx(20)


def test_cold_days_never_count() -> None:
    celsius = [11.0] * (24 * 10) + [1.0] * (24 * 2) + [11.0] * (24 * 60)
    found = clock(hourly(BRINED, celsius), 70)

    # Straight lines cross 1.7 °C within the hours at both ends
    assert found.lost_s == pytest.approx(47 * 3600 + 2 * 3600 * 0.07)
    assert found.unproven_s == pytest.approx(0.0)
    assert found.reached_at is not None
    assert found.reached_at - BRINED == pytest.approx(
        60 * DAY + timedelta(seconds=found.lost_s), abs=timedelta(seconds=1)
    )


def test_the_same_room_counts_for_one_jurisdiction_and_not_for_another() -> None:
    record = hourly(BRINED, [1.8] * (24 * 61))

    assert clock(record, 60).verdict.ruling is Ruling.MET
    assert clock(record, 60, rule=CANADA).proven_s == 0


def test_a_gap_is_unproven_and_would_count_if_it_were_found() -> None:
    whole = hourly(BRINED, [11.0] * (24 * 61))
    keep = np.ones(whole.trace.t_s.size, dtype=bool)
    keep[24 * 30 : 24 * 33] = False
    holed = RoomRecord(Trace(BRINED, whole.trace.t_s[keep], {"air": whole.trace.channels["air"][keep]}), "air")

    found = clock(holed, 60)

    assert found.verdict.ruling is Ruling.UNPROVEN
    assert found.unproven_s == pytest.approx(3 * 86400 + 3600)
    assert found.if_all_proven_at == BRINED + 60 * DAY
    assert found.earliest_release_at == BRINED + 63 * DAY + HOUR
    assert any("3 d 1 h earlier" in change for change in found.changes)


def test_readings_near_the_limit_are_unproven() -> None:
    found = clock(hourly(BRINED, [1.9] * (24 * 61), doubt=0.5), 60)

    assert found.proven_s == 0
    assert found.verdict.ruling is Ruling.UNPROVEN
    assert "too near the limit" in found.stretches[0].sentence


def test_an_unfit_thermometer_proves_nothing_but_cold() -> None:
    celsius = [11.0] * (24 * 30) + [0.0] * (24 * 31)
    found = clock(hourly(BRINED, celsius, unfit="calibration ran out"), 60)

    assert found.proven_s == 0
    assert found.lost_s > 29 * 86400
    assert "calibration ran out" in found.stretches[0].sentence


def test_the_cheese_moves_with_its_time_between_rooms() -> None:
    moved, moved_in = BRINED + 20 * DAY, BRINED + 21 * DAY
    rooms = {"drying": [hourly(BRINED, [14.0] * (24 * 21))], "cave": [hourly(BRINED, [11.0] * (24 * 70))]}
    stays = [Stay("cave", moved_in), Stay("drying", BRINED, moved)]

    found = ageing_clock(US, BRINED, stays, rooms, as_of=BRINED + 62 * DAY)

    assert [(s.room, s.standing) for s in found.stretches] == [
        ("drying", Standing.PROVEN),
        ("", Standing.UNPROVEN),
        ("cave", Standing.PROVEN),
    ]
    assert found.reached_at == BRINED + 61 * DAY


def test_a_room_without_a_record_proves_nothing() -> None:
    found = ageing_clock(US, BRINED, [Stay("cellar", BRINED)], {}, as_of=BRINED + 61 * DAY)

    assert (found.proven_s, found.unproven_s) == (0, 61 * 86400)
    assert found.verdict.ruling is Ruling.UNPROVEN


def test_a_second_logger_fills_the_gaps_of_the_first_and_its_cold_outdoes_it() -> None:
    first = hourly(BRINED, [11.0] * (24 * 30))
    second = hourly(BRINED + 29 * DAY, [11.0] * (24 * 32))
    cold = hourly(BRINED + 40 * DAY, [0.5] * 25)

    both = ageing_clock(US, BRINED, [Stay("cave", BRINED)], {"cave": [first, second]}, as_of=BRINED + 60 * DAY)
    chilled = ageing_clock(US, BRINED, [Stay("cave", BRINED)], {"cave": [first, second, cold]}, as_of=BRINED + 60 * DAY)

    assert both.verdict.ruling is Ruling.MET
    assert chilled.lost_s == pytest.approx(86400)


def test_an_age_without_a_temperature_needs_no_room() -> None:
    # 21 CFR 133.149(a)(1): Gruyère, not less than 90 days old
    rule = AgeingRule(90, "drained", "US", "21 CFR 133.149(a)(1)")

    assert ageing_clock(rule, BRINED, [], {}, as_of=BRINED + 90 * DAY).verdict.ruling is Ruling.MET
    assert ageing_clock(rule, BRINED, [], {}, as_of=BRINED + 89 * DAY).verdict.ruling is Ruling.AWAITED


def test_too_warm_is_lost_where_the_rule_has_a_highest_temperature() -> None:
    rule = AgeingRule(10, "drained", "", "product's own", lowest_c=8.0, highest_c=14.0)
    found = clock(hourly(BRINED, [11.0] * 24 * 5 + [16.0] * 24 * 5 + [11.0] * 24 * 6), 15, rule=rule)

    assert found.lost_s == pytest.approx(5 * 86400, abs=3600)


def test_the_clock_waits_for_its_start_event() -> None:
    found = ageing_clock(US, None, [], {}, as_of=BRINED)

    assert found.verdict.ruling is Ruling.AWAITED
    assert found.earliest_release_at is None


def test_typed_readings_make_a_record() -> None:
    readings = [Reading(BRINED + i * 8 * HOUR, 10.5, expanded_uncertainty=0.5) for i in range(3 * 61)]

    found = clock(record_of_readings(readings), 60)

    assert found.verdict.ruling is Ruling.MET
    with pytest.raises(InputError, match="calibrated"):
        record_of_readings([Reading(BRINED, 10.5, unfit="broken")])


def test_of_two_readings_at_one_moment_the_colder_counts() -> None:
    record = record_of_readings([Reading(BRINED, 1.0), Reading(BRINED, 11.0), Reading(BRINED + HOUR, 11.0)])

    assert record.trace.channels["air"].tolist() == [1.0, 11.0]


@pytest.mark.parametrize(
    "stays",
    [
        [Stay("cave", BRINED), Stay("drying", BRINED + DAY)],
        [Stay("cave", BRINED + DAY, BRINED)],
        [Stay("cave", BRINED.replace(tzinfo=None))],
    ],
)
def test_impossible_stays_are_refused(stays: list[Stay]) -> None:
    with pytest.raises(InputError):
        ageing_clock(US, BRINED, stays, {}, as_of=BRINED + DAY)


CELSIUS = st.lists(st.floats(-1, 14), min_size=2, max_size=24 * 6)


@given(CELSIUS, st.integers(0, 24 * 6), st.integers(13, 60), st.floats(0, 1))
def test_a_longer_gap_never_brings_release_nearer(celsius: list[float], at: int, width: int, doubt: float) -> None:
    rule = AgeingRule(3, "drained", "US", "", lowest_c=1.7)
    whole = hourly(BRINED, celsius, doubt=doubt)
    keep = np.ones(len(celsius), dtype=bool)
    keep[at : at + width] = False
    holed = RoomRecord(Trace(BRINED, whole.trace.t_s[keep], {"air": whole.trace.channels["air"][keep]}), "air", doubt)

    before, after = clock(whole, 7, rule=rule), clock(holed, 7, rule=rule)

    assert after.proven_s <= before.proven_s + 1e-3
    assert before.earliest_release_at is not None
    assert after.earliest_release_at is not None
    assert after.earliest_release_at >= before.earliest_release_at - timedelta(milliseconds=1)
    if before.verdict.ruling is not Ruling.MET:
        assert after.verdict.ruling is not Ruling.MET


@given(CELSIUS, st.floats(0, 1), st.floats(1, 9))
def test_every_moment_has_one_standing_and_the_answer_is_a_function(
    celsius: list[float], doubt: float, days: float
) -> None:
    record = hourly(BRINED, celsius, doubt=doubt)

    found = clock(record, days)

    assert found == clock(record, days)
    assert found.proven_s + found.unproven_s + found.lost_s == pytest.approx(days * 86400, abs=1e-3)
    edges = [BRINED, *(edge for s in found.stretches for edge in (s.began_at, s.ended_at)), BRINED + days * DAY]
    gaps = [abs((b - a).total_seconds()) for a, b in zip(edges[::2], edges[1::2], strict=True)]
    assert max(gaps) < 1e-3


@given(CELSIUS, st.floats(0, 1), st.floats(0, 1))
def test_a_coarser_thermometer_never_proves_more(celsius: list[float], doubt: float, more: float) -> None:
    fine, coarse = (clock(hourly(BRINED, celsius, doubt=d), 6) for d in (doubt, doubt + more))

    assert coarse.proven_s <= fine.proven_s + 1e-6
    assert coarse.lost_s == pytest.approx(fine.lost_s)


def test_a_change_of_the_clock_neither_gives_nor_takes_an_hour() -> None:
    # Europe/Paris goes to summer time on 29 March 2026
    paris = ZoneInfo("Europe/Paris")
    start = BRINED.astimezone(paris)
    record = hourly(BRINED, [11.0] * (24 * 61))

    as_of = (BRINED + 60 * DAY).astimezone(paris)
    found = ageing_clock(US, start, [Stay("cave", start)], {"cave": [record]}, as_of=as_of)

    assert found.reached_at == BRINED + 60 * DAY
    typed = record_of_readings([Reading((BRINED + i * 8 * HOUR).astimezone(paris), 10.5) for i in range(3 * 61)])
    assert float(typed.trace.t_s[-1]) == (3 * 61 - 1) * 8 * 3600
